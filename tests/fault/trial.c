/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _DEFAULT_SOURCE /* P_tmpdir */
#include "tests/fault/trial.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/status.h"

enum { WORDS_MOST = 32, PATH_BYTES = 512, ENDLESS_S = 600 };

static const char scenario_path[] = "tests/fault/ring.yaml";

/* Several mistakes, so that each way of telling them is taken. */
static const char wrong_scenario[] = "items: [comb, comb]\n"
                                     "loops: [{name: ring, cells: -1, rate: 4}]\n"
                                     "chests: [{name: bin, capacity: 4, start: {spring: 2}}]\n"
                                     "arms: [{name: arm, form: bin, to: rnig@2, swing: 1 s}]\n";

static _Noreturn void give_up(const char *what) {
    fprintf(stderr, "%s: %s\n", what, strerror(errno));
    exit(EXIT_FAILURE);
}

/* ---- running the program ---- */

static const struct blow no_blow;

static void end_free(struct trial_end *end) {
    free(end->out);
    free(end->err);
    *end = (struct trial_end){0};
}

static void redirect(const char *path, int flags, int file) {
    int opened = open(path, flags, 0666);
    if (opened < 0 || dup2(opened, file) < 0)
        _exit(EXIT_FAILURE);
    close(opened);
}

/* In the child. A program that waits for ever is ended by the alarm. */
static _Noreturn void become(const struct trial *trial, char *line) {
    char preload[PATH_BYTES], *word[WORDS_MOST + 2] = {(char *)trial->program};
    char *environment[] = {"LC_ALL=C", preload, NULL};
    int words = 1;
    for (char *at = strtok(line, " "); at != NULL && words < WORDS_MOST; at = strtok(NULL, " "))
        word[words++] = at;
    snprintf(preload, sizeof preload, "LD_PRELOAD=%s", trial->shim);
    if (chdir(trial->place_path) != 0 || dup2(trial->page_file, SHIM_PAGE_FILE) < 0)
        _exit(EXIT_FAILURE);
    redirect("ring.yaml", O_RDONLY, STDIN_FILENO);
    redirect("../out", O_WRONLY | O_CREAT | O_TRUNC, STDOUT_FILENO);
    redirect("../err", O_WRONLY | O_CREAT | O_TRUNC, STDERR_FILENO);
    alarm(ENDLESS_S);
    execve(trial->program, word, environment);
    _exit(EXIT_FAILURE);
}

static char *text_of(const struct trial *trial, const char *name) {
    char path[PATH_BYTES];
    snprintf(path, sizeof path, "%s/%s", trial->root, name);
    return place_text(path, NULL);
}

/* Runs a command line in the place while a blow falls. */
static struct trial_end run(struct trial *trial, const char *line, struct blow blow) {
    char *words = require_text(line);
    memset(trial->page, 0, sizeof *trial->page);
    if (blow.failure != NULL) {
        trial->page->kind = (int32_t)blow.failure->kind;
        trial->page->how = blow.failure->how;
        trial->page->lasting = blow.failure->lasting;
        trial->page->at = blow.at;
    }
    pid_t child = fork();
    if (child == 0)
        become(trial, words);
    free(words);
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child)
        give_up("fork");
    return (struct trial_end){.status = WIFEXITED(status) ? WEXITSTATUS(status)
                                                          : STATUS_SIGNAL + WTERMSIG(status),
                              .out = text_of(trial, "out"),
                              .err = text_of(trial, "err")};
}

/* ---- what a command needs ---- */

static char *path_in(const char *directory, const char *name) {
    size_t room = strlen(directory) + strlen(name) + 2;
    char *path = require_memory(room, 1);
    snprintf(path, room, "%s/%s", directory, name);
    return path;
}

static void put_text(const char *directory, const char *name, const char *text) {
    char *path = path_in(directory, name);
    FILE *file = fopen(path, "w");
    if (file == NULL || fputs(text, file) < 0 || fclose(file) != 0)
        give_up(path);
    free(path);
}

static void make_page(struct trial *trial) {
    char *path = path_in(trial->root, "page");
    trial->page_file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (trial->page_file < 0 || ftruncate(trial->page_file, sizeof *trial->page) != 0)
        give_up(path);
    void *page =
        mmap(NULL, sizeof *trial->page, PROT_READ | PROT_WRITE, MAP_SHARED, trial->page_file, 0);
    if (page == MAP_FAILED)
        give_up(path);
    trial->page = page;
    free(path);
}

/* In memory where that can be: the program syncs each of its files. */
static void make_root(struct trial *trial) {
    char root[PATH_BYTES];
    snprintf(root, sizeof root, "%s/loopwright.XXXXXX",
             access("/dev/shm", W_OK) == 0 ? "/dev/shm" : P_tmpdir);
    if (mkdtemp(root) == NULL)
        give_up(root);
    trial->root = require_text(root);
    trial->before_path = path_in(root, "before");
    trial->place_path = path_in(root, "place");
    if (mkdir(trial->before_path, 0777) != 0 || mkdir(trial->place_path, 0777) != 0)
        give_up(root);
    make_page(trial);
}

static void start_again(const struct trial *trial) {
    place_clear(trial->place_path);
    place_copy(trial->before_path, trial->place_path);
}

static void keep_as_start(const struct trial *trial) {
    place_clear(trial->before_path);
    place_copy(trial->place_path, trial->before_path);
}

/* What a program leaves that is killed after two thirds of its calls. */
static void run_half(struct trial *trial, const char *line) {
    static const struct failure killed = {.kind = SHIM_FILE, .how = SHIM_KILL};
    struct trial_end end = run(trial, line, no_blow);
    end_free(&end);
    int64_t calls = trial->page->count[SHIM_FILE];
    start_again(trial);
    end = run(trial, line, (struct blow){&killed, calls * 2 / 3});
    end_free(&end);
}

static void prepare(struct trial *trial) {
    for (const char *const *line = trial->command->before; *line != NULL; line++) {
        if (**line == '~') {
            run_half(trial, *line + 1);
        } else {
            struct trial_end end = run(trial, *line, no_blow);
            if (end.status > STATUS_FAILS)
                fprintf(stderr, "loopwright %s: status %d\n%s", *line, end.status, end.err);
            require(end.status <= STATUS_FAILS);
            end_free(&end);
        }
        keep_as_start(trial);
    }
}

const char *trial_begin(struct trial *trial, const char *program, const char *shim,
                        const struct command_case *command) {
    *trial = (struct trial){.program = program, .shim = shim, .command = command};
    make_root(trial);
    char *scenario = place_text(scenario_path, NULL);
    put_text(trial->place_path, "ring.yaml", scenario);
    put_text(trial->place_path, "wrong.yaml", wrong_scenario);
    free(scenario);
    keep_as_start(trial);
    prepare(trial);
    trial->before = place_read(trial->place_path);
    trial->whole = run(trial, command->line, no_blow);
    trial->after = place_read(trial->place_path);
    for (int kind = 0; kind < SHIM_KINDS; kind++)
        trial->count[kind] = trial->page->count[kind];
    return trial->page->loaded ? NULL : "calls to the system cannot be caught here";
}

void trial_finish(struct trial *trial) {
    place_clear(trial->root);
    rmdir(trial->root);
    munmap(trial->page, sizeof *trial->page);
    close(trial->page_file);
    place_free(&trial->before);
    place_free(&trial->after);
    end_free(&trial->whole);
    free(trial->root);
    free(trial->before_path);
    free(trial->place_path);
    free(trial->healed);
    *trial = (struct trial){0};
}

/* ---- what is in the place ---- */

static bool same_entry(const struct place_entry *one, const struct place_entry *other) {
    if (one == NULL || other == NULL)
        return one == other;
    return one->directory == other->directory && one->bytes == other->bytes;
}

/* Whether `path` is `top` or below it. */
static bool is_below(const char *path, const char *top, size_t length) {
    return strncmp(path, top, length) == 0 && (path[length] == '\0' || path[length] == '/');
}

/* Hidden names, files that were being written, and the journal of a soak are no results. */
static bool is_passing(const char *path) {
    const char *name = strrchr(path, '/');
    return path[0] == '.' || strstr(path, "/.") != NULL || place_is_partial(path) ||
           (name != NULL && strcmp(name, "/soak.journal") == 0);
}

/* Whether all of `one` below a name of the place is in `other`, too. */
static bool is_within(const struct place *one, const struct place *other, const char *top,
                      size_t length) {
    for (uint32_t i = 0; i < one->count; i++)
        if (is_below(one->entry[i].path, top, length) && !is_passing(one->entry[i].path) &&
            !same_entry(&one->entry[i], place_find(other, one->entry[i].path)))
            return false;
    return true;
}

static bool same_below(const struct place *one, const struct place *other, const char *top,
                       size_t length) {
    return is_within(one, other, top, length) && is_within(other, one, top, length);
}

static bool same_place(const struct place *one, const struct place *other) {
    return place_checksum(one) == place_checksum(other);
}

/* The first result in `now` that is neither as before nor as after; NULL: none. */
static const char *half_written(const struct trial *trial, const struct place *now,
                                const struct place *listed) {
    for (uint32_t i = 0; i < listed->count; i++) {
        const char *path = listed->entry[i].path;
        size_t length = trial->command->by_file ? strlen(path) : strcspn(path, "/");
        const struct place_entry *found = place_find(now, path);
        bool whole = trial->command->by_file
                         ? same_entry(found, place_find(&trial->before, path)) ||
                               same_entry(found, place_find(&trial->after, path))
                         : same_below(now, &trial->before, path, length) ||
                               same_below(now, &trial->after, path, length);
        if (!whole && !is_passing(path))
            return path;
    }
    return NULL;
}

/* The first file of `after` that is missing or different in `now`; NULL: none. */
static const char *missing(const struct trial *trial, const struct place *now) {
    for (uint32_t i = 0; i < trial->after.count; i++)
        if (!same_entry(&trial->after.entry[i], place_find(now, trial->after.entry[i].path)))
            return trial->after.entry[i].path;
    return NULL;
}

/* The first name in `now` that is not there after an undisturbed run, but of no file that is left
 * out of place_checksum; NULL: none. */
static const char *needless(const struct trial *trial, const struct place *now) {
    for (uint32_t i = 0; i < now->count && !same_place(now, &trial->after); i++)
        if (place_find(&trial->after, now->entry[i].path) == NULL &&
            !place_is_partial(now->entry[i].path))
            return now->entry[i].path;
    return NULL;
}

/* ---- judging ---- */

/* What was done, for a message. */
struct attempt {
    const struct trial *trial;
    struct blow first, second;
};

static bool tell(const struct attempt *attempt, const struct trial_end *end, const char *what,
                 const char *which) {
    printf("%s, %s %lld", attempt->trial->command->name, attempt->first.failure->name,
           (long long)attempt->first.at);
    if (attempt->second.failure != NULL)
        printf(", then %s %lld", attempt->second.failure->name, (long long)attempt->second.at);
    printf(": %s%s%s (status %d)\n", what, which != NULL ? " " : "", which != NULL ? which : "",
           end->status);
    for (char *err = end->err, *line = strtok(err, "\n"); line != NULL; line = strtok(NULL, "\n"))
        printf("    | %s\n", line);
    return false;
}

/* It succeeded: all is there, and if anything else is, that was said. */
static bool holds_whole(const struct attempt *attempt, const struct failure *failure,
                        const struct trial_end *end, const struct place *now) {
    const struct trial *trial = attempt->trial;
    const char *path = missing(trial, now);
    if (path != NULL)
        return tell(attempt, end, "a good status without", path);
    if (strcmp(end->out, trial->whole.out) != 0)
        return tell(attempt, end, "a good status with another output", NULL);
    bool silent = strcmp(end->err, trial->whole.err) == 0;
    if (failure->answer == FAILURE_TOLD && silent && trial->page->failed > 0)
        return tell(attempt, end, "it passed in silence", NULL);
    path = needless(trial, now);
    if (path != NULL && silent)
        return tell(attempt, end, "not a word about", path);
    return true;
}

static bool holds_broken(const struct attempt *attempt, const struct failure *failure,
                         const struct trial_end *end) {
    if (failure->answer == FAILURE_PASSES)
        return tell(attempt, end, "this can be managed", NULL);
    if (end->status != STATUS_FILE)
        return tell(attempt, end, "neither the status of success nor 4", NULL);
    if (end->err[0] == '\0')
        return tell(attempt, end, "status 4 without a word", NULL);
    return true;
}

/* Whether a failure is meant to end the program in this way. */
static bool is_meant(const struct failure *failure, const struct trial_end *end) {
    bool kills = failure->how == SHIM_KILL || failure->how == SHIM_TORN;
    return (kills && end->status == STATUS_SIGNAL + SIGKILL) ||
           (failure->how == SHIM_STOP && end->status == STATUS_SIGNAL + SIGTERM);
}

/* What `failure` left of the last attempt. */
static bool holds_end(const struct attempt *attempt, const struct failure *failure,
                      const struct trial_end *end, const struct place *now) {
    const struct trial *trial = attempt->trial;
    if (strstr(end->err, "this is a bug") != NULL)
        return tell(attempt, end, "a bug", NULL);
    const char *path = half_written(trial, now, now);
    if (path == NULL)
        path = half_written(trial, now, &trial->before);
    if (path == NULL)
        path = half_written(trial, now, &trial->after);
    if (path != NULL)
        return tell(attempt, end, "neither as before nor as after:", path);
    if (is_meant(failure, end))
        return true;
    return end->status == trial->whole.status ? holds_whole(attempt, failure, end, now)
                                              : holds_broken(attempt, failure, end);
}

/* ---- once more ---- */

static bool is_healed(const struct trial *trial, uint64_t checksum) {
    for (uint32_t i = 0; i < trial->healed_count; i++)
        if (trial->healed[i] == checksum)
            return true;
    return false;
}

static void note_healed(struct trial *trial, uint64_t checksum) {
    trial->healed = array_with_room(trial->healed, trial->healed_count, &trial->healed_capacity,
                                    sizeof *trial->healed);
    trial->healed[trial->healed_count++] = checksum;
}

static bool judge_again(const struct attempt *attempt, const struct trial_end *end,
                        const struct place *now) {
    const struct trial *trial = attempt->trial;
    const char *path = missing(trial, now);
    if (end->status != trial->whole.status)
        return tell(attempt, end, "once more gives another status", NULL);
    if (strcmp(end->out, trial->whole.out) != 0)
        return tell(attempt, end, "once more gives another output", NULL);
    if (path != NULL)
        return tell(attempt, end, "once more gives another", path);
    path = needless(trial, now);
    return path == NULL || tell(attempt, end, "once more leaves", path);
}

/* Undisturbed, from what the failure left: the same line, or the one that takes up unfinished work;
 * where that one is refused, the other. Which comes first changes from call to call. */
static bool heals(struct trial *trial, const struct attempt *attempt) {
    const struct command_case *command = trial->command;
    const char *again = command->again != NULL ? command->again : command->line;
    bool takes_up = attempt->first.at % 2 == 0;
    struct trial_end end = run(trial, takes_up ? again : command->line, no_blow);
    if (end.status == STATUS_FILE) {
        end_free(&end);
        end = run(trial, takes_up ? command->line : again, no_blow);
    }
    struct place now = place_read(trial->place_path);
    bool holds = judge_again(attempt, &end, &now);
    place_free(&now);
    end_free(&end);
    return holds;
}

static bool run_again(struct trial *trial, const struct attempt *attempt) {
    struct trial_end end = {0};
    struct place now = {0};
    bool holds = true;
    if (attempt->second.failure != NULL) {
        const struct command_case *command = trial->command;
        end = run(trial, command->again != NULL ? command->again : command->line, attempt->second);
        now = place_read(trial->place_path);
        holds = holds_end(attempt, attempt->second.failure, &end, &now);
        end_free(&end);
    } else {
        now = place_read(trial->place_path);
    }
    uint64_t checksum = place_checksum(&now);
    bool over = trial->command->once && same_place(&now, &trial->after);
    place_free(&now);
    if (!holds || over || is_healed(trial, checksum))
        return holds;
    holds = heals(trial, attempt);
    if (holds)
        note_healed(trial, checksum);
    return holds;
}

bool trial_holds(struct trial *trial, struct blow first, struct blow second) {
    struct attempt attempt = {trial, first, second};
    start_again(trial);
    struct trial_end end = run(trial, trial->command->line, first);
    struct place now = place_read(trial->place_path);
    bool holds = holds_end(&attempt, first.failure, &end, &now);
    bool kept = same_place(&now, &trial->before); /* all is as if it had not been tried */
    end_free(&end);
    place_free(&now);
    return holds && (kept || run_again(trial, &attempt));
}
