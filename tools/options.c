/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/options.c - says what an option needs in the words of its row. */
#include "tools/options.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "model/limits.h"
#include "model/nearest.h"
#include "model/read.h"
#include "sim/require.h"

static const struct option_row {
    const char *name;
    const char *value; /* what its value is called; NULL: it takes none */
    const char *needs; /* what is said when there is none, or a wrong one */
    const char *help;  /* lines behind the first are set in by the printer */
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
                    "takes a key or part away; may be given many times"},
    [OPTION_MOVES] = {"--moves", NULL, NULL,
                      "with --out: also write moves.csv, a row for each pick\n"
                      "and place"},
    [OPTION_QUIET] = {"--quiet", NULL, NULL, "no summary and no progress"},
    [OPTION_JSON] = {"--json", NULL, NULL, "print summary.json in place of the summary"},
    [OPTION_HELP] = {"--help", NULL, NULL, "say how the command is used, and do nothing else"},
    [OPTION_VERSION] = {"--version", NULL, NULL, "say which version this is, and do nothing else"},
};

static bool is_allowed(uint32_t allowed, int option) {
    return (allowed & OPTION_BIT(option)) != 0;
}

static bool complain(const char *command, const char *format, const char *word) {
    fprintf(stderr, "loopwright %s: ", command);
    fprintf(stderr, format, word);
    fprintf(stderr, "\n    help: loopwright %s --help\n", command);
    return false;
}

/* ---- reading ---- */

/* The option that a word names, up to its `=`; OPTIONS: none that is allowed. */
static int option_named(uint32_t allowed, const char *word) {
    size_t length = strcspn(word, "=");
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed, option) && strlen(option_row[option].name) == length &&
            strncmp(option_row[option].name, word, length) == 0)
            return option;
    return OPTIONS;
}

static bool unknown_option(const char *command, uint32_t allowed, const char *word) {
    char *name = require_text(word);
    name[strcspn(name, "=")] = '\0';
    struct nearest nearest = nearest_start(name);
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed, option))
            nearest_look(&nearest, option_row[option].name);
    fprintf(stderr, "loopwright %s: unknown option `%s`\n", command, name);
    if (nearest_word(&nearest) != NULL)
        fprintf(stderr, "    help: did you mean `%s`?\n", nearest_word(&nearest));
    else
        fprintf(stderr, "    help: loopwright %s --help\n", command);
    free(name);
    return false;
}

/* Reads the option at word[*at]; *at moves on to its last word. */
static bool read_option(struct options *options, const char *command, uint32_t allowed, int count,
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
                       uint32_t allowed, int count, char *const *word) {
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

static bool asks_only(const struct options *options) {
    return options->given[OPTION_HELP] || options->given[OPTION_VERSION];
}

bool options_read(struct options *options, const char *command, const char *operand,
                  uint32_t allowed, int count, char *const *word) {
    *options = (struct options){.set = require_memory((size_t)count, sizeof *options->set)};
    bool read = read_words(options, command, operand, allowed | OPTIONS_ALWAYS, count, word);
    if (read && options->operand == NULL && !asks_only(options))
        read = complain(command, "a %s is missing", operand);
    if (!read)
        options_free(options);
    return read;
}

void options_free(struct options *options) {
    free(options->set);
    *options = (struct options){0};
}

/* ---- overrides ---- */

static bool wrong_value(const char *command, const struct options *options, enum option option) {
    fprintf(stderr, "loopwright %s: `%s` needs %s; `%s` is none\n", command,
            option_row[option].name, option_row[option].needs, options->value[option]);
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

void options_print(uint32_t allowed, FILE *out) {
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed | OPTIONS_ALWAYS, option))
            print_option(&option_row[option], out);
}
