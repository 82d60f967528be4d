/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/options.c - says what an option needs in the words of its row. */
#include "tools/base/options.h"

#include <ctype.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/reader/suggest.h"
#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"

static const struct option_row {
    const char *name;
    const char *value; /* what its value is called; NULL: it takes none */
    const char *needs; /* what is said when there is none, or a wrong one */
    const char *help;  /* lines after the first are indented by the printer */
} option_row[OPTIONS] = {
    [OPTION_OUT] = {"--out", "DIR", "a directory, as in --out run-1",
                    "write the files of the run into DIR, which must be new,\n"
                    "empty, or an earlier run, which it then replaces"},
    [OPTION_SEED] = {"--seed", "N", "a whole number from 0 to 9007199254740991, as in --seed 7",
                     "seed of all that is random (the scenario's, else 1)"},
    [OPTION_FOR] = {"--for", "DURATION", "a duration, as in --for 30min or --for 1:30:00",
                    "how long to simulate: 90, 500ms, 90s, 30min, 12h, 2d,\n"
                    "or H:MM:SS"},
    [OPTION_SET] = {"--set", "PATH=VALUE", "a change, as in --set chests.shelf.capacity=30",
                    "change the scenario in one place, for this run; null\n"
                    "removes a key or part; may be given many times"},
    [OPTION_MOVES] = {"--moves", NULL, NULL,
                      "with --out: also write moves.csv, a row for each pick\n"
                      "and place"},
    [OPTION_KEEP_EVERY] = {"--keep-every", "DURATION", "a duration, as in --keep-every 10min",
                           "with --out: how much simulated time lies between two\n"
                           "capsules (10 min), as long as they are not too many"},
    [OPTION_AUDIT] = {"--audit", NULL, NULL,
                      "check the program's own state after each tick, which\n"
                      "takes long; where it is wrong the run ends with status 5"},
    [OPTION_FROM_TIME] = {"--from", "TIME", "a time of the run, as in --from 1:30:00",
                          "where to begin (at the capsule; for a directory, at\n"
                          "the one before its first jam)"},
    [OPTION_UNTIL] = {"--until", "TIME", "a time of the run, as in --until 2h",
                      "where to end (at the end of the run)"},
    [OPTION_SHOW] = {"--show", NULL, NULL,
                     "print what happens, and how the loops look, in place of\n"
                     "the summary"},
    [OPTION_AFTER] = {"--after", "DURATION", "a duration, as in --after 12min",
                      "when the demands stop (10 min after the warm-up)"},
    [OPTION_WITHIN] = {"--within", "DURATION", "a duration, as in --within 1h",
                       "how long after that the loops may take (1 h)"},
    [OPTION_SUPPLIES_TOO] = {"--supplies-too", NULL, NULL, "stop the supplies as well"},
    [OPTION_RESTART] = {"--restart", NULL, NULL,
                        "then start the demands again, and say when the products\n"
                        "are made as fast as before"},
    [OPTION_FLOOD] = {"--flood", "HEAP",
                      "ITEM=N or a share, as in --flood spring=40, --flood 0.5 or\n"
                      "--flood ring/outer:0.8",
                      "begin with a heap on every lane where it can lie: ITEM=N,\n"
                      "so many of an item, or a share of the lane's cells (0.5),\n"
                      "of all kinds that arms place there; LANE: before it says\n"
                      "on which lane alone"},
    [OPTION_FLOOD_UNTIL_IT_FAILS] = {"--flood-until-it-fails", NULL, NULL,
                                     "look for the heap up to which the loop recovers, with 20\n"
                                     "seeds"},
    [OPTION_RUNS] = {"--runs", "N", "a whole number from 1 to 500000, as in --runs 200",
                     "how many runs, each with a seed of its own"},
    [OPTION_JOBS] = {"--jobs", "N", "a whole number from 1 to 1024, as in --jobs 4",
                     "how many runs at once (as many as there are processors);\n"
                     "results do not depend on it"},
    [OPTION_UNTIL_JAM] = {"--until-jam", NULL, NULL, "end each run with its first jam"},
    [OPTION_DISTURB] = {"--disturb", NULL, NULL,
                        "add random disturbances: takers that stop, supplies\n"
                        "that fail and come back with a rush, heaps, pauses of all\n"
                        "demands"},
    [OPTION_KEEP] = {"--keep", "N", "a whole number from 0 to 1000, as in --keep 50",
                     "of how many jammed runs to keep a capsule and events (20)"},
    [OPTION_RESUME] = {"--resume", NULL, NULL, "continue where the same command line was stopped"},
    [OPTION_AGAINST] = {"--against", "SCENARIO", "a scenario, as in --against b.yaml",
                        "run this one with the same seeds too, and report the\n"
                        "differences"},
    [OPTION_AGAINST_SET] = {"--against-set", "PATH=VALUE",
                            "a change, as in --against-set chests.shelf.capacity=30",
                            "run the same scenario with this change against it; may be\n"
                            "given many times"},
    [OPTION_PLAN] = {"--plan", "DIR", "a directory, as in --plan night",
                     "run nothing, but write a plan into DIR, to be run in\n"
                     "shards; needs --shards"},
    [OPTION_SHARDS] = {"--shards", "N", "a whole number from 1 to 100000, as in --shards 16",
                       "into how many shards the plan is divided"},
    [OPTION_FROM_PLAN] = {"--from", "DIR", "the directory of a plan, as in --from night",
                          "run a shard of the plan in DIR; no SCENARIO then"},
    [OPTION_SHARD] = {"--shard", "K", "a whole number from 0 on, as in --shard 3",
                      "which shard, from 0 (else SLURM_ARRAY_TASK_ID says it)"},
    [OPTION_AT] = {"--at", "TIME", "a time, as in --at 41min or --at 0:41:00",
                   "explain what was going on at that time"},
    [OPTION_EVENT] = {"--event", "N", "the number of a row of events.csv, from 1, as in --event 12",
                      "explain that row of events.csv"},
    [OPTION_DOT] = {"--dot", "FILE", "a file, as in --dot waits.dot",
                    "write who waits for whom, for the first trouble that is\n"
                    "explained, into FILE, as a graph for Graphviz"},
    [OPTION_WRITE] = {"--write", "FILE", "a file, as in --write mended.yaml",
                      "write the scenario with the best change into FILE"},
    [OPTION_PROVE] = {"--prove", "DURATION", "a duration, as in --prove 24h",
                      "run what helps on so far before it is called a cure\n"
                      "(12 h or ten times the run; 0: the run alone)"},
    [OPTION_QUIET] = {"--quiet", NULL, NULL, "print no text and no progress; --json still prints"},
    [OPTION_JSON] = {"--json", NULL, NULL, "print the same as data, JSON, in place of text"},
    [OPTION_HELP] = {"--help", NULL, NULL, "say how the command is used, and do nothing else"},
    [OPTION_VERSION] = {"--version", NULL, NULL, "say which version this is, and do nothing else"},
};

static bool is_allowed(uint64_t allowed, int option) { return (allowed & OPTION_BIT(option)) != 0; }

static bool complain(const char *command, const char *format, const char *word) {
    fprintf(stderr, "loopwright %s: ", command);
    fprintf(stderr, format, word);
    fprintf(stderr, "\n    help: loopwright %s --help\n", command);
    return false;
}

/* ---- reading ---- */

/* The option that a word names, up to its `=`; OPTIONS: none that is allowed. */
static int option_named(uint64_t allowed, const char *word) {
    size_t length = strcspn(word, "=");
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed, option) && strlen(option_row[option].name) == length &&
            strncmp(option_row[option].name, word, length) == 0)
            return option;
    return OPTIONS;
}

static bool unknown_option(const char *command, uint64_t allowed, const char *word) {
    char *name = require_text(word);
    name[strcspn(name, "=")] = '\0';
    struct suggestion nearest = suggest_start(name);
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed, option))
            suggest_look(&nearest, option_row[option].name);
    fprintf(stderr, "loopwright %s: unknown option `%s`\n", command, name);
    if (suggest_word(&nearest) != NULL)
        fprintf(stderr, "    help: did you mean `%s`?\n", suggest_word(&nearest));
    else
        fprintf(stderr, "    help: loopwright %s --help\n", command);
    free(name);
    return false;
}

/* Reads the option at word[*at]; *at moves on to its last word. */
static bool read_option(struct options *options, const char *command, uint64_t allowed, int count,
                        char *const *word, int *at) {
    int option = option_named(allowed, word[*at]);
    if (option == OPTIONS)
        return unknown_option(command, allowed, word[*at]);
    const struct option_row *row = &option_row[option];
    const char *value = strchr(word[*at], '=');
    options->given[option] = true;
    if (row->value == NULL && value != NULL)
        return complain(command, "`%s` takes no value", row->name);
    if (row->value == NULL)
        return true;
    if (value != NULL)
        value++;
    else if (*at + 1 < count)
        value = word[++*at];
    if (value == NULL || value[0] == '\0') {
        fprintf(stderr, "loopwright %s: `%s` needs %s\n", command, row->name, row->needs);
        return false;
    }
    options->value[option] = value;
    if (option == OPTION_SET)
        options->set[options->set_count++] = value;
    if (option == OPTION_AGAINST_SET)
        options->against_set[options->against_set_count++] = value;
    return true;
}

static bool read_operand(struct options *options, const char *command, const char *operand,
                         const char *word) {
    if (options->operand != NULL) {
        fprintf(stderr, "loopwright %s: one %s is enough, but both `%s` and `%s` were given\n",
                command, operand, options->operand, word);
        return false;
    }
    options->operand = word;
    return true;
}

static bool read_words(struct options *options, const char *command, const char *operand,
                       uint64_t allowed, int count, char *const *word) {
    bool options_over = false;
    for (int i = 0; i < count; i++) {
        bool is_option = !options_over && word[i][0] == '-' && word[i][1] != '\0';
        if (is_option && strcmp(word[i], "--") == 0)
            options_over = true;
        else if (is_option && !read_option(options, command, allowed, count, word, &i))
            return false;
        else if (!is_option && !read_operand(options, command, operand, word[i]))
            return false;
    }
    return true;
}

static bool may_lack_operand(const struct options *options) {
    return options->given[OPTION_HELP] || options->given[OPTION_VERSION] ||
           options->given[OPTION_FROM_PLAN];
}

bool options_read(struct options *options, const char *command, const char *operand,
                  uint64_t allowed, int count, char *const *word) {
    *options =
        (struct options){.set = require_memory((size_t)count, sizeof *options->set),
                         .against_set = require_memory((size_t)count, sizeof *options->against_set),
                         .word = word,
                         .word_count = count};
    bool read = read_words(options, command, operand, allowed | OPTIONS_ALWAYS, count, word);
    if (read && options->operand == NULL && !may_lack_operand(options))
        read = complain(command, "a %s is missing", operand);
    if (!read)
        options_free(options);
    return read;
}

void options_free(struct options *options) {
    free(options->set);
    free(options->against_set);
    *options = (struct options){0};
}

/* ---- overrides ---- */

static bool wrong_value(const char *command, const struct options *options, enum option option) {
    fprintf(stderr, "loopwright %s: `%s` needs %s, not `%s`\n", command, option_row[option].name,
            option_row[option].needs, options->value[option]);
    return false;
}

static char *override_text(const char *path, const char *value) {
    size_t room = strlen(path) + strlen(value) + 1;
    char *text = require_memory(room, 1);
    snprintf(text, room, "%s%s", path, value);
    return text;
}

static bool is_seed(const char *text) {
    char *end;
    errno = 0;
    unsigned long long seed = strtoull(text, &end, 10);
    return strspn(text, "0123456789") == strlen(text) && (text[0] != '0' || text[1] == '\0') &&
           *end == '\0' && errno == 0 && seed <= LIMIT_SEED;
}

static bool is_duration(const char *text) {
    struct faults faults = {0};
    bool duration = read_duration(text, 1, &faults) != NOT_GIVEN;
    faults_free(&faults);
    return duration;
}

int options_overrides(const struct options *options, const char *command, const char **override,
                      char *made[2]) {
    int count = 0;
    for (size_t i = 0; i < options->set_count; i++)
        override[count++] = options->set[i];
    const char *seed = options->value[OPTION_SEED], *duration = options->value[OPTION_FOR];
    if (seed != NULL && !is_seed(seed)) {
        wrong_value(command, options, OPTION_SEED);
        return -1;
    }
    if (duration != NULL && !is_duration(duration)) {
        wrong_value(command, options, OPTION_FOR);
        return -1;
    }
    if (seed != NULL)
        override[count++] = made[0] = override_text("run.seed=", seed);
    if (duration != NULL)
        override[count++] = made[1] = override_text("run.for=", duration);
    return count;
}

/* ---- numbers and durations ---- */

bool options_number(const struct options *options, const char *command, enum option option,
                    int64_t least, int64_t most, int64_t *number) {
    const char *text = options->value[option];
    struct decimal decimal;
    int64_t read = 0;
    if (text == NULL)
        return true;
    if (quantity_decimal(text, &decimal) != QUANTITY_FITS || !quantity_integer(&decimal, &read) ||
        read < least || read > most)
        return wrong_value(command, options, option);
    *number = read;
    return true;
}

bool options_ticks(const struct options *options, const char *command, enum option option,
                   int64_t ticks_per_second, int64_t *ticks) {
    if (options->value[option] == NULL)
        return true;
    if (!is_duration(options->value[option]))
        return wrong_value(command, options, option);
    struct faults faults = {0};
    *ticks = read_duration(options->value[option], ticks_per_second, &faults);
    faults_free(&faults);
    return *ticks != NOT_GIVEN || wrong_value(command, options, option);
}

void options_print_word(const char *word, FILE *out) {
    bool plain = word[0] != '\0';
    for (const char *at = word; *at != '\0'; at++)
        plain = plain && (isalnum((unsigned char)*at) || strchr("-_=./:,+@%", *at) != NULL);
    fputs(plain ? "" : "'", out);
    for (const char *at = word; *at != '\0'; at++)
        fputs(*at == '\'' ? "'\\''" : (char[]){*at, '\0'}, out);
    fputs(plain ? "" : "'", out);
}

void options_print_words(const struct options *options, const char *command, FILE *out) {
    fprintf(out, "loopwright %s", command);
    for (int i = 0; i < options->word_count; i++) {
        fputc(' ', out);
        options_print_word(options->word[i], out);
    }
}

void options_print_scenario(const struct options *options, FILE *out) {
    options_print_word(options->operand, out);
    for (size_t i = 0; i < options->set_count; i++) {
        fputs(" --set ", out);
        options_print_word(options->set[i], out);
    }
    if (options->value[OPTION_FOR] != NULL) {
        fputs(" --for ", out);
        options_print_word(options->value[OPTION_FOR], out);
    }
}

/* ---- help ---- */

enum { HELP_COLUMN = 22 };

static void print_option(const struct option_row *row, FILE *out) {
    int used = fprintf(out, "  %s", row->name);
    if (row->value != NULL)
        used += fprintf(out, " %s", row->value);
    fprintf(out, "%*s", HELP_COLUMN - used, "");
    for (const char *at = row->help; *at != '\0'; at++) {
        fputc(*at, out);
        if (*at == '\n')
            fprintf(out, "%*s", HELP_COLUMN, "");
    }
    fputc('\n', out);
}

void options_print(uint64_t allowed, FILE *out) {
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed | OPTIONS_ALWAYS, option))
            print_option(&option_row[option], out);
}
