/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_manual.c - checks that docs/scenario.md has a row for every key that the
 * reader knows, in the section of its map, and for no other. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/catalogue.h"
#include "tests/common/suite.h"
#include "tests/story/story.h"

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

/* The text from a heading to the next one; freed by the caller. */
static char *section_of(const char *manual, const char *heading) {
    char mark[NAME_BYTES + 8];
    snprintf(mark, sizeof mark, "\n## %s\n", heading);
    const char *begin = strstr(manual, mark);
    ck_assert_msg(begin != NULL, "docs/scenario.md has no section `%s`", heading);
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

static void add_tests(struct TCase *tests) {
    tcase_add_loop_test(tests, manual_tells_of_every_key_and_no_other, 0, CATALOGUE_KINDS);
}

int main(void) { return suite_main("manual", add_tests); }
