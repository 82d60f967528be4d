/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_yaml_tree.c - where a fault stands and what is shown of its line, in texts of
 * long and short lines and all lengths of characters, against counting from the beginning. */
#include "model/reader/yaml_tree.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tests/common/dice.h"
#include "tests/common/suite.h"

/* As docs/commands.md has it of long lines, in characters. */
enum { SHOWN = 160, SHOWN_BEFORE = 60 };
enum { TEXT_BYTES = 20000, LINES = 12 };

/* Lines of random lengths, of characters of one to four bytes; some end with CR LF. */
static size_t random_text(char text[TEXT_BYTES], uint64_t *dice) {
    static const char *const character[] = {
        "a", "b", " ", "\303\266", "\342\206\222", "\360\237\216\265"};
    size_t length = 0;
    for (int line = 0; line < LINES; line++) {
        uint64_t characters = dice_below(dice, dice_below(dice, 3) == 0 ? 1200 : 170);
        uint64_t kinds = 1 + dice_below(dice, 6);
        for (uint64_t i = 0; i < characters && length < TEXT_BYTES - 10; i++) {
            const char *next = character[dice_below(dice, kinds)];
            memcpy(text + length, next, strlen(next));
            length += strlen(next);
        }
        if (line + 1 < LINES && dice_below(dice, 3) == 0)
            text[length++] = '\r';
        if (line + 1 < LINES)
            text[length++] = '\n';
    }
    text[length] = '\0';
    return length;
}

static bool begins(const char *at) { return ((unsigned char)*at & 0xC0) != 0x80; }

/* Line number `line`, from 1, and its length without its end. */
static const char *line_of(const char *text, uint32_t line, size_t *length) {
    for (; line > 1; line--)
        text = strchr(text, '\n') + 1;
    *length = strcspn(text, "\n");
    if (*length > 0 && text[*length] == '\n' && text[*length - 1] == '\r')
        --*length;
    return text;
}

/* The byte at which character number `count`, from 0, of a line begins; its end beyond that. */
static size_t byte_of(const char *line, size_t length, uint32_t count) {
    size_t at = 0;
    for (; at < length; at++)
        if (begins(line + at) && count-- == 0)
            break;
    return at;
}

static void check_place(struct yaml_tree *tree, const char *text, uint32_t line_number,
                        uint32_t column) {
    struct node node = {.line = line_number, .column = column, .width = column % 3};
    struct fault fault = {0};
    size_t length;
    const char *line = line_of(text, line_number, &length);
    uint32_t left_out = column > SHOWN ? column - SHOWN_BEFORE : 0;
    size_t from = byte_of(line, length, left_out), to = byte_of(line, length, left_out + SHOWN);
    yaml_tree_place_fault(tree, &node, &fault);
    ck_assert_str_eq(fault.source, "text");
    ck_assert_uint_eq(fault.line, line_number);
    ck_assert_uint_eq(fault.column, column);
    ck_assert_uint_eq(fault.width, column % 3 > 0 ? column % 3 : 1);
    ck_assert_uint_eq(fault.excerpt_column, left_out + 1);
    ck_assert_msg(strlen(fault.excerpt) == to - from &&
                      memcmp(fault.excerpt, line + from, to - from) == 0,
                  "%u:%u", line_number, column);
    free(fault.source);
    free(fault.excerpt);
}

START_TEST(a_fault_is_shown_where_it_stands) {
    for (uint64_t dice = 1, tries = 0; tries < 30; tries++) {
        char *text = require_memory(TEXT_BYTES, 1);
        size_t length = random_text(text, &dice);
        struct yaml_tree tree = {0};
        yaml_tree_add_source(&tree, "text", text, length, true);
        for (uint32_t line = 1; line <= LINES; line++) {
            size_t bytes, characters = 0;
            const char *start = line_of(text, line, &bytes);
            for (size_t i = 0; i < bytes; i++)
                characters += begins(start + i);
            for (uint32_t column = 1; column <= characters + 1; column += 1 + column / 100)
                check_place(&tree, text, line, column);
        }
        yaml_tree_free(&tree);
        free(text);
    }
}
END_TEST

/* What the parser puts on a line of its own is missing at the end of the last one. */
START_TEST(what_is_missing_is_missed_at_the_end) {
    static const char text[] = "ab: [\nc\303\266d";
    struct yaml_tree tree = {0};
    struct fault fault = {0};
    yaml_tree_add_source(&tree, "text", text, strlen(text), true);
    yaml_tree_place_fault(&tree, &(struct node){.line = 3, .column = 1}, &fault);
    ck_assert_uint_eq(fault.line, 2);
    ck_assert_uint_eq(fault.column, 4);
    ck_assert_str_eq(fault.excerpt, "c\303\266d");
    free(fault.source);
    free(fault.excerpt);
    yaml_tree_free(&tree);
}
END_TEST

/* A change of the command line has no lines. */
START_TEST(a_change_has_no_line_number) {
    static const char text[] = "chests.bin.capacity=many";
    struct yaml_tree tree = {0};
    struct fault fault = {0};
    yaml_tree_add_source(&tree, "--set", text, strlen(text), false);
    yaml_tree_place_fault(&tree, &(struct node){.line = 1, .column = 21, .width = 4}, &fault);
    ck_assert_uint_eq(fault.line, 0);
    ck_assert_uint_eq(fault.column, 21);
    ck_assert_str_eq(fault.excerpt, text);
    free(fault.source);
    free(fault.excerpt);
    yaml_tree_free(&tree);
}
END_TEST

/* ---- changing ---- */

START_TEST(members_and_pairs_are_added_and_taken_out) {
    static const char text[] = "{b: 1, c: 2}";
    struct yaml_tree tree = {0};
    struct faults faults = {0};
    bool readable;
    uint32_t source = yaml_tree_add_source(&tree, "text", text, strlen(text), true);
    struct node *map = yaml_tree_parse(&tree, source, 0, &faults, &readable);
    struct node *list = yaml_tree_new_list(&tree, map);
    for (char word[] = "x0"; word[1] <= '9'; word[1]++) /* more than first have room */
        yaml_tree_append(&tree, list, yaml_tree_new_text(&tree, map, word));
    yaml_tree_remove(list, 9);
    yaml_tree_remove(list, 0);
    yaml_tree_remove(list, 3);
    yaml_tree_append_pair(&tree, map, yaml_tree_new_text(&tree, map, "d"), list);
    yaml_tree_insert_pair(&tree, map, yaml_tree_new_text(&tree, map, "a"),
                          yaml_tree_new_map(&tree, map));
    yaml_tree_remove(map, 1);
    char *written = yaml_tree_write_flow(map);
    ck_assert_str_eq(written, "{a: {}, c: 2, d: [x1, x2, x3, x5, x6, x7, x8]}");
    ck_assert_ptr_null(yaml_tree_find(map, "b"));
    ck_assert_ptr_eq(yaml_tree_find(map, "d"), list);
    free(written);
    yaml_tree_free(&tree);
    faults_free(&faults);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, a_fault_is_shown_where_it_stands);
    tcase_add_test(tests, what_is_missing_is_missed_at_the_end);
    tcase_add_test(tests, a_change_has_no_line_number);
    tcase_add_test(tests, members_and_pairs_are_added_and_taken_out);
}

int main(void) { return suite_main("yaml_tree", add_tests); }
