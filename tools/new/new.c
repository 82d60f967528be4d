/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/new/new.c - `loopwright new`: writes a scenario to start from, and never over another. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "model/reader/suggest.h"
#include "sim/sealed_file.h"
#include "tools/base/command.h"
#include "tools/base/file.h"
#include "tools/base/interrupt.h"
#include "tools/base/output.h"
#include "tools/base/status.h"
#include "tools/new/kinds.h"

/* The two that are no example of the directory `scenarios`. */
static const char loop_kind[] = "loop", brief_kind[] = "brief";

static const struct kind *kind_named(const char *name) {
    for (unsigned i = 0; i < kinds_count; i++)
        if (strcmp(kinds_table[i].name, name) == 0)
            return &kinds_table[i];
    return NULL;
}

static int unknown_kind(const char *name) {
    struct suggestion nearest = suggest_start(name);
    fprintf(stderr, "loopwright new: there is no kind `%s`\n    note: kinds:", name);
    for (unsigned i = 0; i < kinds_count; i++) {
        fprintf(stderr, "%s %s", i > 0 ? "," : "", kinds_table[i].name);
        suggest_look(&nearest, kinds_table[i].name);
    }
    fputc('\n', stderr);
    if (suggest_word(&nearest) != NULL)
        fprintf(stderr, "    help: did you mean `%s`?\n", suggest_word(&nearest));
    return STATUS_USAGE;
}

static int fail(const char *path, int error) {
    fprintf(stderr, "loopwright new: %s: %s\n", path, strerror(error));
    if (error == EEXIST)
        fputs("    help: it is left as it is; give another NAME\n", stderr);
    if (error == ENOENT)
        fputs(*path == '\0' ? "    help: give a NAME\n" : "    help: make its directory first\n",
              stderr);
    return STATUS_FILE;
}

/* Writes a file beside `path` that gets this name when it is whole. Returns 0, or an errno. */
static int write_beside(const char *path, const char *text) {
    char *partial;
    int file = sealed_partial_open(path, &partial);
    if (file < 0)
        return errno;
    int error = file_write(file, text, strlen(text));
    int close_error = file_close(file);
    error = error != 0 ? error : close_error;
    if (error == 0)
        error = file_move_to_free_name(partial, path);
    if (unlink(partial) != 0 && errno != ENOENT)
        fail(partial, errno);
    free(partial);
    return error;
}

static int write_new(const char *path, const char *text) {
    struct stat there;
    int error = lstat(path, &there) == 0 ? EEXIST : write_beside(path, text);
    if (error != 0)
        return fail(path, error);
    if (sealed_sync_directory(path))
        return STATUS_HOLDS;
    fprintf(stderr, "loopwright new: %s: is written, but its name may not last: %s\n", path,
            strerror(errno));
    return STATUS_FILE;
}

/* The schema belongs beside the scenario, whose first line names it. */
static void tell(const char *path, bool is_brief) {
    const char *next = is_brief ? "design" : "run", *slash = strrchr(path, '/');
    int directory = slash != NULL ? (int)(slash + 1 - path) : 0;
    printf("%s is written. Next: loopwright %s %s\n", path, next, path);
    printf("For an editor that completes and checks keys: loopwright schema "
           ">%.*sscenario.schema.json\n",
           directory, path);
}

int new_command(const struct options *options) {
    const char *name = options->value[OPTION_FROM_KIND];
    interrupt_leave();
    if (name != NULL && options->given[OPTION_BRIEF]) {
        fputs("loopwright new: `--brief` and `--from` exclude each other\n"
              "    help: keep one of them\n",
              stderr);
        return STATUS_USAGE;
    }
    if (name == NULL)
        name = options->given[OPTION_BRIEF] ? brief_kind : loop_kind;
    const struct kind *kind = kind_named(name);
    if (kind == NULL)
        return unknown_kind(name);
    if (output_is_standard(options->operand)) {
        fputs(kind->text, stdout);
        return STATUS_HOLDS;
    }
    int status = write_new(options->operand, kind->text);
    if (status == STATUS_HOLDS && !options->given[OPTION_QUIET])
        tell(options->operand, strcmp(name, brief_kind) == 0);
    return status;
}
