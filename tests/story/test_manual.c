/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_manual.c - checks that the pages in docs/ are complete: docs/scenario.md has
 * a row for every key that the reader knows, in the section of its map, and for no other; every
 * kind of event, every kind of root, every column of a run's tables and every command with its
 * options is explained. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/catalogue.h"
#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"
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

/* The options that the file `out` lists, each at the begin of a line. */
static void assert_options(const char *page, const char *help) {
    for (const char *at = help; (at = strstr(at, "\n  --")) != NULL; at += 5) {
        char option[NAME_BYTES];
        ck_assert_int_eq(sscanf(at, " %63[a-z-]", option), 1);
        char alone[NAME_BYTES + 4], with_value[NAME_BYTES + 4];
        snprintf(alone, sizeof alone, "`%s`", option);
        snprintf(with_value, sizeof with_value, "`%s ", option);
        ck_assert_msg(strstr(page, alone) != NULL || strstr(page, with_value) != NULL,
                      "docs/commands.md does not explain `%s`", option);
    }
}

START_TEST(every_command_and_option_is_explained) {
    char *page = story_text("docs/commands.md");
    errand_begin();
    ck_assert_int_eq(errand_run("--help"), 0);
    char *commands = story_text("out");
    const char *at = strstr(commands, "\nCommands:");
    ck_assert_ptr_nonnull(at);
    char name[NAME_BYTES];
    int count = 0;
    for (at += strlen("\nCommands:"); strncmp(at, "\n\n", 2) != 0;
         at += strcspn(at + 1, "\n") + 1) {
        ck_assert_int_eq(sscanf(at, " %63[a-z]", name), 1);
        assert_says("docs/commands.md", page, "\n## loopwright %s ", name);
        ck_assert_int_eq(errand_run("%s --help=all", name), 0);
        char *help = story_text("out");
        assert_options(page, help);
        free(help);
        count++;
    }
    ck_assert_int_ge(count, 7);
    free(commands);
    errand_end();
    free(page);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_loop_test(tests, manual_tells_of_every_key_and_no_other, 0, CATALOGUE_KINDS);
    tcase_add_loop_test(tests, every_kind_of_event_is_explained, 0, EVENT_KINDS);
    tcase_add_loop_test(tests, every_kind_of_root_is_explained, 0, ROOT_KINDS);
    tcase_add_test(tests, every_column_of_a_run_is_explained);
    tcase_add_test(tests, every_command_and_option_is_explained);
}

int main(void) { return suite_main("manual", add_tests); }
