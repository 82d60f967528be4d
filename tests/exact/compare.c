/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/compare.c - compares the engine with the literal one, move by move.
 *
 *   compare FILE...                   compares on written scenarios
 *   compare --random COUNT [--seed S] [--chance-every K]
 *                                     compares on random scenarios; scenario S + i for each i, with
 *                                     chance where K divides its number (0: never)
 *   compare --print S [--chance-every K]
 *                                     writes scenario S and compares nothing
 *
 * Status 0: they agree on all. 1: they do not; the first difference is printed, then the
 * scenario is made smaller and printed with its first difference. 2: the command line is wrong,
 * or a file cannot be read. Each comparison runs in a process of its own, so that one that
 * crashes or hangs counts as a difference. */
#include <errno.h>
#include <inttypes.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/common/processor.h"
#include "tests/exact/duel.h"
#include "tests/exact/scatter.h"
#include "tests/exact/shrink.h"
#include "tools/record/event_kinds.h"

/* Of processor time. */
enum { SECONDS_MAX = 120, SHRINK_SECONDS_MAX = 10, SHRINK_TRIES = 1500 };

enum verdict { AGREES, DIFFERS, INVALID };

struct options {
    bool random, print;
    uint64_t count, seed, chance_every;
    char **file;
    int file_count;
};

/* What was compared so far. */
struct summary {
    uint64_t scenarios, with_chance, with_moves;
    struct duel_tally tally;
    uint64_t with_event[EVENT_KINDS];
};

/* ---- one comparison, in a process of its own ---- */

static enum verdict compare_text(const char *text, FILE *report, struct duel_tally *tally) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "scenario", NULL, 0, &faults);
    for (uint32_t i = 0; i < faults.count && scenario == NULL; i++)
        if (faults.fault[i].grade == FAULT_ERROR)
            fprintf(report, "%" PRIu32 ":%" PRIu32 ": %s (%s)\n", faults.fault[i].line,
                    faults.fault[i].column, faults.fault[i].what,
                    faults.fault[i].note == NULL ? "" : faults.fault[i].note);
    faults_free(&faults);
    if (scenario == NULL)
        return INVALID;
    bool agrees = duel_agrees(scenario, scenario->seed, report, tally);
    scenario_free(scenario);
    return agrees ? AGREES : DIFFERS;
}

/* In the child: the tally, then the report, go through the pipe; the verdict is the status. */
static _Noreturn void be_child(const char *text, int pipe_end, unsigned seconds) {
    struct duel_tally tally = {0};
    char *report = NULL;
    size_t length = 0;
    FILE *out = fdopen(pipe_end, "w"), *memory = open_memstream(&report, &length);
    require(out != NULL && memory != NULL);
    processor_limit(seconds);
    enum verdict verdict = compare_text(text, memory, &tally);
    fclose(memory);
    fwrite(&tally, sizeof tally, 1, out);
    fwrite(report, 1, length, out);
    free(report);
    fclose(out);
    _exit((int)verdict);
}

static void describe_death(FILE *report, int status) {
    if (WIFSIGNALED(status))
        fprintf(report, "the comparison died of signal %d%s\n", WTERMSIG(status),
                WTERMSIG(status) == SIGXCPU ? " (it took too long)" : "");
    else
        fprintf(report, "the comparison ended with status %d\n", WEXITSTATUS(status));
}

static void copy_rest(FILE *from, FILE *to) {
    char buffer[4096];
    size_t length;
    while ((length = fread(buffer, 1, sizeof buffer, from)) > 0)
        fwrite(buffer, 1, length, to);
}

/* Compares on a scenario; NULL tally or report: not wanted (then it has less time, too). */
static enum verdict try_scenario(const char *text, FILE *report, struct duel_tally *tally) {
    int ends[2], status = 0;
    struct duel_tally unwanted = {0};
    require(pipe(ends) == 0);
    fflush(NULL);
    pid_t child = fork();
    require(child >= 0);
    if (child == 0) {
        close(ends[0]);
        if (report == NULL)
            freopen("/dev/null", "w", stderr);
        be_child(text, ends[1], report == NULL ? SHRINK_SECONDS_MAX : SECONDS_MAX);
    }
    close(ends[1]);
    FILE *in = fdopen(ends[0], "r");
    require(in != NULL);
    bool whole = fread(tally == NULL ? &unwanted : tally, sizeof unwanted, 1, in) == 1;
    if (report != NULL)
        copy_rest(in, report);
    fclose(in);
    while (waitpid(child, &status, 0) < 0)
        require(errno == EINTR);
    if (whole && WIFEXITED(status) && WEXITSTATUS(status) <= INVALID)
        return (enum verdict)WEXITSTATUS(status);
    if (report != NULL)
        describe_death(report, status);
    return DIFFERS;
}

/* ---- a difference ---- */

static bool still_differs(const char *text, void *self) {
    (void)self;
    return try_scenario(text, NULL, NULL) == DIFFERS;
}

static void show_smaller(const char *text) {
    char *smaller = shrink_scenario(text, still_differs, NULL, SHRINK_TRIES);
    printf("---- made smaller:\n%s---- there:\n", smaller);
    try_scenario(smaller, stdout, NULL);
    free(smaller);
}

/* False when the engines differ on it, or it is not valid; says so. */
static bool compare_one(const char *text, const char *name, struct summary *summary) {
    struct duel_tally tally = {0};
    char *report = NULL;
    size_t length = 0;
    FILE *memory = open_memstream(&report, &length);
    require(memory != NULL);
    enum verdict verdict = try_scenario(text, memory, &tally);
    fclose(memory);
    if (verdict != AGREES)
        printf("%s: %s\n%s", name, verdict == DIFFERS ? "the engines differ" : "not valid", report);
    free(report);
    if (verdict == DIFFERS)
        show_smaller(text);
    summary->scenarios++;
    summary->with_moves += tally.moves > 0;
    summary->with_chance += tally.streams > 0;
    summary->tally.moves += tally.moves;
    for (int kind = 0; kind < EVENT_KINDS; kind++) {
        summary->tally.events[kind] += tally.events[kind];
        summary->with_event[kind] += tally.events[kind] > 0;
    }
    return verdict == AGREES;
}

static void print_summary(const struct summary *summary) {
    printf("compared %" PRIu64 " scenarios (%" PRIu64 " with chance): %" PRIu64 " moves in %" PRIu64
           " of them",
           summary->scenarios, summary->with_chance, summary->tally.moves, summary->with_moves);
    for (int kind = 0; kind < EVENT_KINDS; kind++)
        printf("; %s %" PRIu64 " in %" PRIu64, event_kind_name((enum event_kind)kind),
               summary->tally.events[kind], summary->with_event[kind]);
    putchar('\n');
}

/* ---- the program ---- */

static char *read_file(const char *path) {
    char *text = NULL;
    size_t length = 0;
    FILE *in = fopen(path, "r");
    if (in == NULL)
        return NULL;
    FILE *memory = open_memstream(&text, &length);
    require(memory != NULL);
    copy_rest(in, memory);
    fclose(in);
    fclose(memory);
    return text;
}

static int compare_files(const struct options *options) {
    struct summary summary = {0};
    bool agree = true;
    for (int i = 0; i < options->file_count && agree; i++) {
        char *text = read_file(options->file[i]);
        if (text == NULL) {
            fprintf(stderr, "compare: can't read %s: %s\n", options->file[i], strerror(errno));
            return 2;
        }
        agree = compare_one(text, options->file[i], &summary);
        free(text);
    }
    print_summary(&summary);
    return agree ? 0 : 1;
}

static bool has_chance(const struct options *options, uint64_t number) {
    return options->chance_every > 0 && number % options->chance_every == 0;
}

static int compare_random(const struct options *options) {
    struct summary summary = {0};
    bool agree = true;
    for (uint64_t i = 0; i < options->count && agree; i++) {
        char name[64];
        uint64_t number = options->seed + i;
        char *text = scatter_scenario(number, has_chance(options, number));
        snprintf(name, sizeof name, "scenario %" PRIu64 "%s", number,
                 has_chance(options, number) ? " with chance" : "");
        agree = compare_one(text, name, &summary);
        free(text);
    }
    print_summary(&summary);
    return agree ? 0 : 1;
}

static int print_scenario(const struct options *options) {
    char *text = scatter_scenario(options->seed, has_chance(options, options->seed));
    fputs(text, stdout);
    free(text);
    return 0;
}

static bool read_number(const char *text, uint64_t *number) {
    char *end = NULL;
    errno = 0;
    *number = strtoull(text, &end, 10);
    return errno == 0 && end != text && *end == '\0';
}

static bool read_options(struct options *options, int count, char **word) {
    int i = 1;
    for (; i < count && strncmp(word[i], "--", 2) == 0; i += 2) {
        uint64_t *number = NULL;
        if (strcmp(word[i], "--random") == 0) {
            options->random = true;
            number = &options->count;
        } else if (strcmp(word[i], "--print") == 0) {
            options->print = true;
            number = &options->seed;
        } else if (strcmp(word[i], "--seed") == 0) {
            number = &options->seed;
        } else if (strcmp(word[i], "--chance-every") == 0) {
            number = &options->chance_every;
        }
        if (number == NULL || i + 1 >= count || !read_number(word[i + 1], number))
            return false;
    }
    options->file = word + i;
    options->file_count = count - i;
    return (options->random || options->print) == (options->file_count == 0);
}

int main(int count, char **word) {
    struct options options = {.seed = 1, .chance_every = 4};
    if (!read_options(&options, count, word)) {
        fputs("usage: compare FILE... | --random COUNT [--seed S] [--chance-every K] | --print S\n",
              stderr);
        return 2;
    }
    if (options.print)
        return print_scenario(&options);
    return options.random ? compare_random(&options) : compare_files(&options);
}
