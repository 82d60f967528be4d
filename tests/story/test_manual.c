/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_manual.c - holds all that explains the program against its tables: every option
 * stands in docs/commands.md, --help, the manual page and the completion, and the program takes it;
 * every key stands in docs/scenario.md, the schema and loopwright-scenario(5); every kind of event,
 * every kind of root and every column of a run's tables is explained. With --write it puts the
 * tables of keys into docs/scenario.md. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/catalogue.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"
#include "tools/base/command_table.h"
#include "tools/cause/wait_words.h"
#include "tools/record/event_kinds.h"

enum { NAME_BYTES = 64 };

/* The heading of a map: its name without the marks. */
static void heading_of(const struct catalogue_map *map, char heading[NAME_BYTES]) {
    size_t length = 0;
    for (const char *at = map->name; *at != '\0' && length + 1 < NAME_BYTES; at++) {
        if (*at != '`')
            heading[length++] = *at;
    }
    heading[length] = '\0';
    if (strcmp(heading, "a scenario") == 0)
        snprintf(heading, NAME_BYTES, "The file");
    if (strcmp(heading, "a distribution") == 0)
        snprintf(heading, NAME_BYTES, "How things are written");
}

/* The text from a heading of a page, or from one that begins so, to the next one; freed by the
 * caller. */
static char *section_of(const char *page, const char *heading) {
    char mark[NAME_BYTES + 8];
    snprintf(mark, sizeof mark, "\n## %s", heading);
    const char *begin = strstr(page, mark);
    ck_assert_msg(begin != NULL, "no section `%s`", heading);
    begin += strlen(mark);
    const char *end = strstr(begin, "\n## ");
    size_t bytes = end != NULL ? (size_t)(end - begin) : strlen(begin);
    char *section = malloc(bytes + 1);
    ck_assert_ptr_nonnull(section);
    memcpy(section, begin, bytes);
    section[bytes] = '\0';
    return section;
}

static size_t rows_of(const char *section) {
    size_t rows = 0;
    for (const char *at = section; (at = strstr(at, "\n| `")) != NULL; at++)
        rows++;
    return rows;
}

START_TEST(manual_tells_of_every_key_and_no_other) {
    char *manual = story_text("docs/scenario.md");
    const struct catalogue_map *map = catalogue_map((enum catalogue_kind)_i);
    char heading[NAME_BYTES];
    heading_of(map, heading);
    strcat(heading, "\n"); /* "an item" and no more */
    char *section = section_of(manual, heading);
    for (uint32_t i = 0; i < map->key_count; i++) {
        char row[NAME_BYTES];
        snprintf(row, sizeof row, "\n| `%s` |", map->key[i].name);
        ck_assert_msg(strstr(section, row) != NULL, "%s: no row for `%s`", heading,
                      map->key[i].name);
    }
    ck_assert_msg(rows_of(section) == map->key_count, "%s: %zu rows for %u keys", heading,
                  rows_of(section), map->key_count);
    free(section);
    free(manual);
}
END_TEST

/* ---- what the code lists elsewhere ---- */

static void assert_says(const char *page, const char *text, const char *format, const char *name) {
    char wanted[2 * NAME_BYTES];
    snprintf(wanted, sizeof wanted, format, name);
    ck_assert_msg(strstr(text, wanted) != NULL, "%s does not explain `%s`", page, name);
}

START_TEST(every_kind_of_event_is_explained) {
    enum event_kind kind = (enum event_kind)_i;
    char *rules = story_text("docs/rules.md"), *files = story_text("docs/files.md");
    if (event_kind_is_watched(kind))
        assert_says("docs/rules.md", rules, "\n| `%s` |", event_kind_name(kind));
    char *events = section_of(files, "events.csv");
    assert_says("docs/files.md", events, "`%s`", event_kind_name(kind));
    free(events);
    free(files);
    free(rules);
}
END_TEST

START_TEST(every_kind_of_root_is_explained) {
    char *commands = story_text("docs/commands.md");
    char *cause = section_of(commands, "loopwright cause ");
    assert_says("docs/commands.md", cause, "\n| `%s` |", wait_words_root_word((enum root_kind)_i));
    free(cause);
    free(commands);
}
END_TEST

static const char *const table[] = {"occupancy.csv", "lanes.csv",  "levels.csv", "stations.csv",
                                    "arms.csv",      "events.csv", "moves.csv"};
enum { TABLES = sizeof table / sizeof *table };

/* The columns of a table, by its first line, which this changes. */
static void assert_columns(const char *section, char *header) {
    header[strcspn(header, "\n")] = '\0';
    for (char *rest = header, *column; (column = strtok_r(rest, ",", &rest)) != NULL;)
        assert_says("docs/files.md", section, "`%s`", column);
}

START_TEST(every_column_of_a_run_is_explained) {
    char *files = story_text("docs/files.md"), *scenario = story_text("scenarios/first.yaml");
    errand_begin();
    errand_write("first.yaml", scenario);
    ck_assert_int_eq(errand_run("run first.yaml --out run --moves"), 0);
    for (int i = 0; i < TABLES; i++) {
        char path[NAME_BYTES];
        snprintf(path, sizeof path, "run/%s", table[i]);
        char *section = section_of(files, table[i]), *rows = story_text(path);
        assert_columns(section, rows);
        free(rows);
        free(section);
    }
    errand_end();
    free(scenario);
    free(files);
}
END_TEST

/* ---- options: the page, --help, the manual, the completion, and the program itself ---- */

/* The text that a command line of the program prints; freed by the caller. */
static char *printed(const char *format, const char *word) {
    ck_assert_int_eq(errand_run(format, word), 0);
    return story_text("out");
}

static void assert_stands(const char *text, const char *where, const char *format,
                          const char *first, const char *second) {
    char wanted[2 * NAME_BYTES];
    snprintf(wanted, sizeof wanted, format, first, second);
    ck_assert_msg(strstr(text, wanted) != NULL, "%s has no `%s`", where, wanted);
}

/* The part of the script for zsh in which a command's options stand. */
static char *zsh_part(const char *script, const char *command) {
    char mark[NAME_BYTES];
    snprintf(mark, sizeof mark, "\n    %s)\n", command);
    const char *begin = strstr(script, mark);
    ck_assert_msg(begin != NULL, "zsh: no `%s`", command);
    return strndup(begin, (size_t)(strstr(begin, ";;") - begin));
}

/* The line of the script for bash in which they stand. */
static char *bash_part(const char *script, const char *command) {
    char mark[NAME_BYTES];
    snprintf(mark, sizeof mark, "\n    %s)\n        options='", command);
    const char *begin = strstr(script, mark);
    ck_assert_msg(begin != NULL, "bash: no `%s`", command);
    begin += strlen(mark);
    return strndup(begin, strcspn(begin, "\n"));
}

/* The program knows the option: with --help it does nothing else. */
static void assert_accepted(const struct command *command, const struct option_row *row) {
    bool needs_value = row->kind != WORD_NONE && row->kind != WORD_ALL;
    ck_assert_int_eq(
        errand_run("%s %s%s --help", command->name, row->name, needs_value ? " 1" : ""), 0);
    if (row->letter != '\0')
        ck_assert_int_eq(
            errand_run("%s -%c%s --help", command->name, row->letter, needs_value ? " 1" : ""), 0);
}

static void check_command(const struct command *command, const char *page) {
    char *help = printed("%s --help=all", command->name),
         *man = printed("manual %s", command->name);
    char *script = printed("completion %s", "bash"), *zsh_script = printed("completion %s", "zsh");
    char *bash = bash_part(script, command->name), *zsh = zsh_part(zsh_script, command->name);
    for (int option = 0; option < OPTIONS; option++) {
        const struct option_row *row = option_table_row((enum option)option);
        if (((command->options | OPTIONS_ALWAYS) & OPTION_BIT(option)) == 0)
            continue;
        char alone[NAME_BYTES], with_value[NAME_BYTES];
        snprintf(alone, sizeof alone, "`%s`", row->name);
        snprintf(with_value, sizeof with_value, "`%s ", row->name);
        ck_assert_msg(strstr(page, alone) != NULL || strstr(page, with_value) != NULL,
                      "docs/commands.md does not explain `%s`", row->name);
        assert_stands(help, "--help=all", "\n  %s%s", row->name, "");
        assert_stands(man, "the manual page", "Fl \\-%s%s", row->name + 2, "");
        assert_stands(bash, "the completion of bash", "%s%s", row->name, "");
        assert_stands(zsh, "the completion of zsh", "%s%s", row->name, "");
        assert_accepted(command, row);
    }
    free(zsh), free(bash), free(zsh_script), free(script), free(man), free(help);
}

START_TEST(every_option_stands_everywhere_and_is_accepted) {
    const struct command *command = command_table_row(_i);
    char *page = story_text("docs/commands.md");
    errand_begin();
    assert_stands(page, "docs/commands.md", "\n## loopwright %s%s", command->name, "");
    check_command(command, page);
    errand_end();
    free(page);
}
END_TEST

START_TEST(help_is_a_screen) {
    enum { LINES = 24, COLUMNS = 80 };
    errand_begin();
    char *help = _i < command_table_count() ? printed("%s --help", command_table_row(_i)->name)
                                            : printed("%s", "--help");
    size_t lines = 0;
    for (const char *at = help; *at != '\0'; at += strcspn(at, "\n") + 1, lines++)
        ck_assert_msg(strcspn(at, "\n") <= COLUMNS, "too long: %.*s", (int)strcspn(at, "\n"), at);
    ck_assert_msg(lines <= LINES, "%zu lines:\n%s", lines, help);
    ck_assert_ptr_nonnull(strstr(help, "\nExamples:\n  "));
    errand_end();
    free(help);
}
END_TEST

/* ---- keys: the tables of docs/scenario.md, the schema, the manual page ---- */

/* The table of a map, as the page has it; of distributions the page has one of its own. */
static void print_rows(FILE *out, const struct catalogue_map *map) {
    fputs("| key | wants | if left out | it says |\n|---|---|---|---|\n", out);
    for (uint32_t i = 0; i < map->key_count; i++) {
        const struct catalogue_key *key = &map->key[i];
        char wants[CATALOGUE_WANTS_SIZE];
        const char *absent = key->absent != NULL ? key->absent : key->preset;
        fprintf(out, "| `%s` | %s | %s | %s |\n", key->name, catalogue_wants(key, wants),
                key->required    ? "needed"
                : absent != NULL ? absent
                                 : "",
                key->says);
    }
}

static char *rows_of_map(const struct catalogue_map *map) {
    char *text = NULL;
    size_t bytes;
    FILE *out = open_memstream(&text, &bytes);
    require(out != NULL);
    print_rows(out, map);
    fclose(out);
    return text;
}

START_TEST(every_key_stands_in_the_page_the_schema_and_the_manual) {
    const struct catalogue_map *map = catalogue_map((enum catalogue_kind)_i);
    char *page = story_text("docs/scenario.md"), *rows = rows_of_map(map);
    if (_i != CATALOGUE_SPAN)
        ck_assert_msg(strstr(page, rows) != NULL,
                      "docs/scenario.md lacks this (test_manual --write puts it there):\n%s", rows);
    char *kept = story_text("docs/scenario.schema.json");
    errand_begin();
    char *schema = printed("%s", "schema"), *man = printed("%s", "manual scenario");
    ck_assert_msg(strcmp(schema, kept) == 0,
                  "docs/scenario.schema.json is not what loopwright schema prints");
    for (uint32_t i = 0; i < map->key_count; i++) {
        assert_stands(man, "loopwright-scenario(5)", "\n.It Cm %s\n%s", map->key[i].name, "");
        assert_stands(schema, "the schema", "\"%s\": {%s", map->key[i].name, "");
    }
    errand_end();
    free(man), free(schema), free(kept), free(rows), free(page);
}
END_TEST

/* Puts the tables of the catalogue into the page, each in place of the one in its section. */
static int write_page(void) {
    enum { PAGE_BYTES = 1 << 20 };
    char *page = require_memory(PAGE_BYTES, 1);
    FILE *file = fopen("docs/scenario.md", "r");
    require(file != NULL && fread(page, 1, PAGE_BYTES - 1, file) > 0 && feof(file));
    fclose(file);
    for (int kind = 0; kind < CATALOGUE_KINDS; kind++) {
        char heading[NAME_BYTES + 8] = "\n## ";
        heading_of(catalogue_map((enum catalogue_kind)kind), heading + strlen(heading));
        strcat(heading, "\n");
        char *begin = strstr(strstr(page, heading), "\n| key |"), *end = begin + 1, *rows, *whole;
        if (kind == CATALOGUE_SPAN)
            continue;
        while (*end == '|')
            end += strcspn(end, "\n") + 1;
        rows = rows_of_map(catalogue_map((enum catalogue_kind)kind));
        size_t room = strlen(page) + strlen(rows) + 1;
        whole = require_memory(room, 1);
        snprintf(whole, room, "%.*s\n%s%s", (int)(begin - page), page, rows, end);
        free(page), free(rows);
        page = whole;
    }
    file = fopen("docs/scenario.md", "w");
    bool good = file != NULL && fputs(page, file) >= 0;
    good = file != NULL && fclose(file) == 0 && good;
    free(page);
    return good ? EXIT_SUCCESS : EXIT_FAILURE;
}

static void add_tests(struct TCase *tests) {
    tcase_add_loop_test(tests, manual_tells_of_every_key_and_no_other, 0, CATALOGUE_KINDS);
    tcase_add_loop_test(tests, every_kind_of_event_is_explained, 0, EVENT_KINDS);
    tcase_add_loop_test(tests, every_kind_of_root_is_explained, 0, ROOT_KINDS);
    tcase_add_test(tests, every_column_of_a_run_is_explained);
    tcase_add_loop_test(tests, every_option_stands_everywhere_and_is_accepted, 0,
                        command_table_count());
    tcase_add_loop_test(tests, help_is_a_screen, 0, command_table_count() + 1);
    tcase_add_loop_test(tests, every_key_stands_in_the_page_the_schema_and_the_manual, 0,
                        CATALOGUE_KINDS);
}

int main(int count, char **word) {
    if (count > 1 && strcmp(word[1], "--write") == 0)
        return write_page();
    return suite_main("manual", add_tests);
}
