/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* realpath */
#include "tests/fault/sweep.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

enum { STATUS_SKIPPED = 77, FAILED_MOST = 500 };

struct asked {
    char *program, *shim; /* absolute */
    int64_t most, at, part, parts;
    const char *command, *failure;
};

struct progress {
    const struct sweep *sweep;
    const struct asked *asked;
    int64_t tried[SHIM_KINDS], points, failed;
};

static const char *const kind_name[SHIM_KINDS] = {
    [SHIM_MEMORY] = "memory", [SHIM_THREAD] = "threads", [SHIM_OPEN] = "open",
    [SHIM_READ] = "read",     [SHIM_WRITE] = "write",    [SHIM_SEEK] = "seek",
    [SHIM_SYNC] = "sync",     [SHIM_RENAME] = "rename",  [SHIM_UNLINK] = "unlink",
    [SHIM_MKDIR] = "mkdir",   [SHIM_CLOSE] = "close",    [SHIM_TRUNCATE] = "truncate",
    [SHIM_LOOK] = "stat",     [SHIM_LIST] = "list",      [SHIM_LOCK] = "lock",
    [SHIM_CHANCE] = "chance", [SHIM_FILE] = "any call"};

/* ---- the command line ---- */

static char *absolute(const char *path) {
    char *plain = realpath(path, NULL);
    if (plain != NULL)
        return plain;
    perror(path);
    exit(EXIT_FAILURE);
}

static void take_option(struct asked *asked, const char *option, const char *value) {
    if (strcmp(option, "--most") == 0)
        asked->most = atoll(value);
    else if (strcmp(option, "--at") == 0)
        asked->at = atoll(value);
    else if (strcmp(option, "--case") == 0)
        asked->command = value;
    else if (strcmp(option, "--failure") == 0)
        asked->failure = value;
    else if (strcmp(option, "--part") == 0 && strchr(value, '/') != NULL) {
        asked->part = atoll(value);
        asked->parts = atoll(strchr(value, '/') + 1);
    } else {
        fprintf(stderr, "unknown option %s\n", option);
        exit(EXIT_FAILURE);
    }
}

static struct asked asked_of(int count, char **word) {
    struct asked asked = {.most = INT64_MAX, .parts = 1};
    if (count < 3 || count % 2 == 0) {
        fprintf(stderr, "usage: %s LOOPWRIGHT SHIM [OPTION VALUE ...]\n", word[0]);
        exit(EXIT_FAILURE);
    }
    for (int i = 3; i < count; i += 2)
        take_option(&asked, word[i], word[i + 1]);
    asked.program = absolute(word[1]);
    asked.shim = absolute(word[2]);
    require(asked.parts > 0);
    return asked;
}

/* ---- the points ---- */

static void try_point(struct progress *progress, struct trial *trial, struct blow first,
                      struct blow second) {
    const struct asked *asked = progress->asked;
    if (progress->points++ % asked->parts != asked->part)
        return;
    progress->tried[first.failure->kind]++;
    if (!trial_holds(trial, first, second))
        progress->failed++;
    if (progress->failed < FAILED_MOST)
        return;
    printf("... that is enough\n");
    trial_finish(trial);
    exit(EXIT_FAILURE);
}

/* The command is undisturbed after the first blow, and then once with each of the second ones: at
 * a call that lies elsewhere, spread over all of them. The second attempt may have fewer. */
static void try_call(struct progress *progress, struct trial *trial, struct blow first) {
    enum { STRIDE = 7 };
    const struct sweep *sweep = progress->sweep;
    try_point(progress, trial, first, (struct blow){NULL, 0});
    for (uint32_t i = 0; i < sweep->then_count; i++) {
        int64_t calls = trial->count[sweep->then[i].kind];
        if (calls > 0)
            try_point(progress, trial, first,
                      (struct blow){&sweep->then[i], first.at * STRIDE % calls + 1});
    }
}

static void try_failure(struct progress *progress, struct trial *trial,
                        const struct failure *failure) {
    const struct asked *asked = progress->asked;
    int64_t calls = trial->count[failure->kind];
    int64_t points = calls < asked->most ? calls : asked->most;
    if (asked->failure != NULL &&
        strncmp(asked->failure, failure->name, strlen(asked->failure)) != 0)
        return;
    for (int64_t i = 0; i < points; i++) {
        int64_t at = points == calls ? i + 1 : 1 + i * (calls - 1) / (points > 1 ? points - 1 : 1);
        if (asked->at == 0 || asked->at == at)
            try_call(progress, trial, (struct blow){failure, at});
    }
}

static void try_command(struct progress *progress, const struct command_case *command) {
    const struct asked *asked = progress->asked;
    struct trial trial;
    if (asked->command != NULL && strcmp(asked->command, command->name) != 0)
        return;
    const char *reason = trial_begin(&trial, asked->program, asked->shim, command);
    if (reason != NULL) {
        trial_finish(&trial);
        printf("%s\n", reason);
        exit(STATUS_SKIPPED);
    }
    for (uint32_t i = 0; i < progress->sweep->failure_count; i++)
        try_failure(progress, &trial, &progress->sweep->failure[i]);
    trial_finish(&trial);
}

int sweep_main(const struct sweep *sweep, int count, char **word) {
    struct asked asked = asked_of(count, word);
    struct progress progress = {.sweep = sweep, .asked = &asked};
    setvbuf(stdout, NULL, _IOLBF, 0);
    for (uint32_t i = 0; i < command_case_count; i++)
        try_command(&progress, &command_case_row[i]);
    int64_t tried = 0;
    for (int kind = 0; kind < SHIM_KINDS; kind++) {
        tried += progress.tried[kind];
        if (progress.tried[kind] > 0)
            printf("%8lld  %s\n", (long long)progress.tried[kind], kind_name[kind]);
    }
    printf("%lld points tried, %lld do not hold\n", (long long)tried, (long long)progress.failed);
    free(asked.program);
    free(asked.shim);
    return tried > 0 && progress.failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
