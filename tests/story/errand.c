/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/errand.c - runs the program through a shell, so that what is tested is what a user
 * would type. */
#define _DEFAULT_SOURCE /* P_tmpdir */
#include "tests/story/errand.h"

#include <check.h>
#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "tests/story/story.h"

enum { PATH_BYTES = 512, COMMAND_BYTES = 20000, FIELD_BYTES = 256 };

/* Of this process, as its working directory is. */
static char place[PATH_BYTES], program[2 * PATH_BYTES];

void errand_begin(void) {
    const char *named = getenv("LOOPWRIGHT");
    char here[PATH_BYTES] = "";
    ck_assert_msg(named != NULL, "the variable LOOPWRIGHT names no program");
    ck_assert_ptr_nonnull(getcwd(here, sizeof here));
    snprintf(program, sizeof program, "%s%s%s", named[0] == '/' ? "" : here,
             named[0] == '/' ? "" : "/", named);
    snprintf(place, sizeof place, "%s/errand.XXXXXX", P_tmpdir);
    ck_assert_ptr_nonnull(mkdtemp(place));
    ck_assert_int_eq(chdir(place), 0);
}

const char *errand_program(void) { return program; }

void errand_end(void) {
    char command[COMMAND_BYTES];
    ck_assert_int_eq(chdir("/"), 0);
    snprintf(command, sizeof command, "rm -rf '%s'", place);
    ck_assert_int_eq(system(command), 0);
}

void errand_write(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

/* ---- running ---- */

static pid_t start(const char *before, const char *format, va_list values) {
    char words[COMMAND_BYTES / 2], command[COMMAND_BYTES];
    vsnprintf(words, sizeof words, format, values);
    int length = snprintf(command, sizeof command, "%s exec '%s' %s >out 2>err </dev/null", before,
                          program, words);
    ck_assert_int_lt(length, COMMAND_BYTES);
    fflush(NULL);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child > 0)
        return child;
    execl("/bin/sh", "sh", "-c", command, (char *)NULL);
    _exit(127);
}

int errand_wait(pid_t child) {
    int status = 0;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

int errand_run(const char *format, ...) {
    va_list values;
    va_start(values, format);
    pid_t child = start("", format, values);
    va_end(values);
    return errand_wait(child);
}

int errand_run_after(const char *before, const char *format, ...) {
    va_list values;
    va_start(values, format);
    pid_t child = start(before, format, values);
    va_end(values);
    return errand_wait(child);
}

pid_t errand_start(const char *format, ...) {
    va_list values;
    va_start(values, format);
    pid_t child = start("", format, values);
    va_end(values);
    return child;
}

/* ---- progress ---- */

long errand_bytes(const char *file) {
    struct stat status;
    return stat(file, &status) == 0 ? (long)status.st_size : 0;
}

static bool has_ended(pid_t child) {
    siginfo_t info = {0};
    ck_assert_int_eq(waitid(P_PID, (id_t)child, &info, WEXITED | WNOHANG | WNOWAIT), 0);
    return info.si_pid == child;
}

void errand_await_bytes(pid_t child, const char *file, long bytes) {
    while (errand_bytes(file) < bytes && !has_ended(child))
        nanosleep(&(struct timespec){.tv_nsec = 500000}, NULL);
}

long errand_memory_kib(void) {
    struct rusage usage;
    ck_assert_int_eq(getrusage(RUSAGE_CHILDREN, &usage), 0);
    return usage.ru_maxrss;
}

/* ---- files ---- */

bool errand_exists(const char *path) { return access(path, F_OK) == 0; }

bool errand_says(const char *file, const char *words) {
    char *text = story_text(file);
    bool found = strstr(text, words) != NULL;
    free(text);
    return found;
}

bool errand_same(const char *first, const char *second) {
    char command[COMMAND_BYTES];
    snprintf(command, sizeof command, "cmp -s '%s' '%s'", first, second);
    return system(command) == 0;
}

bool errand_same_directory(const char *first, const char *second) {
    char command[COMMAND_BYTES];
    snprintf(command, sizeof command, "diff -r '%s' '%s' >differences 2>&1", first, second);
    return system(command) == 0;
}

/* ---- JSON ---- */

struct json_t *errand_json(const char *file) {
    json_error_t error;
    json_t *json = json_load_file(file, 0, &error);
    ck_assert_msg(json != NULL, "%s: %s", file, error.text);
    return json;
}

double errand_number(const struct json_t *json, ...) {
    const json_t *at = json;
    va_list keys;
    va_start(keys, json);
    for (const char *key = va_arg(keys, const char *); key != NULL;
         key = va_arg(keys, const char *)) {
        at = json_object_get(at, key);
        ck_assert_msg(at != NULL, "there is no key %s", key);
    }
    va_end(keys);
    if (json_is_boolean(at))
        return json_is_true(at);
    return json_is_null(at) ? (double)NAN : json_number_value(at);
}

/* ---- CSV ---- */

/* The start of line `number` of a text, NULL when there are fewer. */
static const char *line_of(const char *text, size_t number) {
    for (; number > 0; number--) {
        text = strchr(text, '\n');
        if (text == NULL)
            return NULL;
        text++;
    }
    return *text != '\0' ? text : NULL;
}

static const char *field_of(const char *line, size_t number) {
    for (; number > 0; number--)
        line += strcspn(line, ",\n") + 1;
    return line;
}

static size_t column_named(const char *header, const char *name) {
    size_t column = 0;
    for (const char *at = header;; column++) {
        size_t length = strcspn(at, ",\n");
        if (strlen(name) == length && strncmp(at, name, length) == 0)
            return column;
        ck_assert_msg(at[length] == ',', "there is no column %s", name);
        at += length + 1;
    }
}

const char *errand_field(const char *file, size_t row, const char *column) {
    static char field[2][FIELD_BYTES];
    static int turn;
    char *text = story_text(file), *kept = field[turn++ % 2];
    const char *line = line_of(text, row + 1);
    kept[0] = '\0';
    if (line != NULL) {
        const char *at = field_of(line, column_named(text, column));
        snprintf(kept, FIELD_BYTES, "%.*s", (int)strcspn(at, ",\n"), at);
    }
    free(text);
    return kept;
}
