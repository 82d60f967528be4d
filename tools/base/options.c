/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/options.c - says what is wrong in the words of the option's row. */
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

static bool is_allowed(uint64_t allowed, int option) { return (allowed & OPTION_BIT(option)) != 0; }

static bool complain(const char *command, const char *format, const char *word) {
    fprintf(stderr, "loopwright %s: ", command);
    fprintf(stderr, format, word);
    fprintf(stderr, "\n    help: loopwright %s --help\n", command);
    return false;
}

/* "a whole number from 1 to 1024, as in --jobs 4" */
static void print_need(const struct option_row *row) {
    char wants[OPTION_TABLE_WANTS_SIZE];
    fprintf(stderr, "%s, as in %s %s", option_table_wants(row, wants), row->name, row->examples);
}

/* ---- reading ---- */

/* The option that a word names, up to its `=`; OPTIONS: none that is allowed. */
static int option_named(uint64_t allowed, const char *word) {
    size_t length = strcspn(word, "=");
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed, option) &&
            strlen(option_table_row((enum option)option)->name) == length &&
            strncmp(option_table_row((enum option)option)->name, word, length) == 0)
            return option;
    return OPTIONS;
}

static bool unknown_option(const char *command, uint64_t allowed, const char *word) {
    char *name = require_text(word);
    name[strcspn(name, "=")] = '\0';
    struct suggestion nearest = suggest_start(name);
    for (int option = 0; option < OPTIONS; option++)
        if (is_allowed(allowed, option))
            suggest_look(&nearest, option_table_row((enum option)option)->name);
    fprintf(stderr, "loopwright %s: unknown option `%s`\n", command, name);
    if (suggest_word(&nearest) != NULL)
        fprintf(stderr, "    help: did you mean `%s`?\n", suggest_word(&nearest));
    else
        fprintf(stderr, "    help: loopwright %s --help=all lists all that it takes\n", command);
    free(name);
    return false;
}

static bool needs_value(const struct option_row *row) {
    return row->kind != WORD_NONE && row->kind != WORD_ALL;
}

/* Takes the value of an option that needs one; NULL: it is missing. */
static bool take_value(struct options *options, const char *command, enum option option,
                       const char *value) {
    if (value == NULL || value[0] == '\0') {
        const struct option_row *row = option_table_row(option);
        fprintf(stderr, "loopwright %s: `%s` needs ", command, row->name);
        print_need(row);
        fputc('\n', stderr);
        return false;
    }
    options->value[option] = value;
    if (option == OPTION_SET)
        options->set[options->set_count++] = value;
    if (option == OPTION_AGAINST_SET)
        options->against_set[options->against_set_count++] = value;
    if (option == OPTION_OVER)
        options->over[options->over_count++] = value;
    return true;
}

/* The word after word[*at], to which *at moves on; NULL: there is none. */
static const char *next_word(int count, char *const *word, int *at) {
    return *at + 1 < count ? word[++*at] : NULL;
}

/* Reads the long option at word[*at]; *at moves on to its last word. */
static bool read_option(struct options *options, const char *command, uint64_t allowed, int count,
                        char *const *word, int *at) {
    int option = option_named(allowed, word[*at]);
    if (option == OPTIONS)
        return unknown_option(command, allowed, word[*at]);
    const struct option_row *row = option_table_row((enum option)option);
    const char *value = strchr(word[*at], '=');
    options->given[option] = true;
    if (needs_value(row))
        return take_value(options, command, (enum option)option,
                          value != NULL ? value + 1 : next_word(count, word, at));
    if (row->kind == WORD_ALL && value != NULL && strcmp(value, "=all") == 0)
        options->value[option] = value + 1;
    else if (value != NULL)
        return complain(command, "`%s` takes no value", row->name);
    return true;
}

/* The option of a letter; OPTIONS: none that is allowed. */
static int option_lettered(uint64_t allowed, char letter) {
    int option = 0;
    while (option < OPTIONS && (!is_allowed(allowed, option) ||
                                option_table_row((enum option)option)->letter != letter))
        option++;
    return option;
}

/* Reads the letters at word[*at], as in -q, -o DIR, -oDIR or -qo DIR; *at moves on likewise. */
static bool read_letters(struct options *options, const char *command, uint64_t allowed, int count,
                         char *const *word, int *at) {
    for (const char *letter = word[*at] + 1; *letter != '\0'; letter++) {
        int option = option_lettered(allowed, *letter);
        if (option == OPTIONS)
            return unknown_option(command, allowed, word[*at]);
        options->given[option] = true;
        if (needs_value(option_table_row((enum option)option)))
            return take_value(options, command, (enum option)option,
                              letter[1] != '\0' ? letter + 1 : next_word(count, word, at));
    }
    return true;
}

static bool read_operand(struct options *options, const char *command, const char *operand,
                         const char *word) {
    if (operand == NULL)
        return complain(command, "it takes no `%s`", word);
    if (options->operand != NULL) {
        fprintf(stderr,
                "loopwright %s: one %s is enough, but both `%s` and `%s` were given\n"
                "    help: loopwright %s --help\n",
                command, operand, options->operand, word, command);
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
        else if (is_option && !(word[i][1] == '-' ? read_option : read_letters)(
                                  options, command, allowed, count, word, &i))
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
                         .over = require_memory((size_t)count, sizeof *options->over),
                         .word = word,
                         .word_count = count};
    bool read = read_words(options, command, operand, allowed | OPTIONS_ALWAYS, count, word);
    bool asked = operand != NULL && operand[0] != '[';
    if (read && options->operand == NULL && asked && !may_lack_operand(options))
        read = complain(command, "a %s is missing", operand);
    if (!read)
        options_free(options);
    return read;
}

void options_free(struct options *options) {
    free(options->set);
    free(options->against_set);
    free(options->over);
    *options = (struct options){0};
}

/* ---- overrides ---- */

static bool wrong_value(const char *command, const struct options *options, enum option option) {
    const struct option_row *row = option_table_row(option);
    fprintf(stderr, "loopwright %s: `%s` needs ", command, row->name);
    print_need(row);
    fprintf(stderr, ", not `%s`\n", options->value[option]);
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
                    int64_t *number) {
    const struct option_row *row = option_table_row(option);
    const char *text = options->value[option];
    struct decimal decimal;
    int64_t read = 0;
    if (text == NULL)
        return true;
    if (quantity_decimal(text, &decimal) != QUANTITY_FITS || !quantity_integer(&decimal, &read) ||
        read < row->least || read > row->most)
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
