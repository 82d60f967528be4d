/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/new/new.c - `loopwright new`: writes a scenario to start from, and never over another. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "model/reader/suggest.h"
#include "sim/require.h"
#include "tools/base/command.h"
#include "tools/base/interrupt.h"
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
    return STATUS_FILE;
}

static bool write_all(int file, const char *text) {
    size_t left = strlen(text);
    while (left > 0) {
        ssize_t written = write(file, text, left);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return false;
        text += written;
        left -= (size_t)written;
    }
    return true;
}

/* A file that could not be written whole is taken away again. */
static int write_new(const char *path, const char *text) {
    int file = open(path, O_WRONLY | O_CREAT | O_EXCL, 0666);
    if (file < 0)
        return fail(path, errno);
    bool written = write_all(file, text);
    int error = errno;
    if (close(file) != 0 && written) {
        written = false;
        error = errno;
    }
    if (written)
        return STATUS_HOLDS;
    unlink(path);
    return fail(path, error);
}

static void tell(const char *path, bool is_brief) {
    const char *next = is_brief ? "design" : "run";
    printf("%s is written. Next: loopwright %s %s\n", path, next, path);
}

int new_command(const struct options *options) {
    const char *name = options->value[OPTION_FROM_KIND];
    interrupt_leave();
    if (name != NULL && options->given[OPTION_BRIEF]) {
        fputs("loopwright new: `--brief` and `--from` exclude each other\n", stderr);
        return STATUS_USAGE;
    }
    if (name == NULL)
        name = options->given[OPTION_BRIEF] ? brief_kind : loop_kind;
    const struct kind *kind = kind_named(name);
    if (kind == NULL)
        return unknown_kind(name);
    int status = write_new(options->operand, kind->text);
    if (status == STATUS_HOLDS && !options->given[OPTION_QUIET])
        tell(options->operand, strcmp(name, brief_kind) == 0);
    return status;
}
