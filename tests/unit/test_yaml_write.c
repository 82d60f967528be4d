/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_yaml_write.c - trees that are written as YAML: they read back equal, whatever
 * their texts hold, and look as a person would have written them. */
#include <check.h>
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/yaml_tree.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tests/common/dice.h"
#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

/* The tree of a text that must be in order. */
static struct yaml_tree tree_of(const char *text) {
    struct yaml_tree tree = {0};
    struct faults faults = {0};
    bool readable = true;
    uint32_t source = yaml_tree_add_source(&tree, "test", text, strlen(text), true);
    tree.root = yaml_tree_parse(&tree, source, 0, &faults, &readable);
    ck_assert_msg(readable && faults.error_count == 0 && tree.root != NULL, "%s\n%s",
                  faults.count > 0 ? faults.fault[0].what : "nothing", text);
    faults_free(&faults);
    return tree;
}

/* What is a number, a truth value or nothing when it is plain, and a text when it is quoted. */
static const char *const no_text[] = {"5",    "-5", "1.5",  "-0.25",   "1e3",     "2.5e-3",
                                      "true", "no", "null", "1:02:03", "0:00:30", "250 ms"};

static bool is_no_text(const struct node *node) {
    for (size_t i = 0; i < LENGTH(no_text); i++)
        if (strcmp(node->text, no_text[i]) == 0)
            return true;
    return false;
}

static void assert_same_tree(const struct node *a, const struct node *b, const char *text) {
    ck_assert_msg(a->kind == b->kind, "another kind of node:\n%s", text);
    ck_assert_msg(yaml_tree_is_null(a) == yaml_tree_is_null(b), "null:\n%s", text);
    if (yaml_tree_is_null(a))
        return;
    ck_assert_msg(a->count == b->count, "another count, %u, %u:\n%s", a->count, b->count, text);
    if (a->kind == NODE_SCALAR) {
        ck_assert_msg(memcmp(a->text, b->text, a->count) == 0, "`%s` is `%s`:\n%s", a->text,
                      b->text, text);
        ck_assert_msg(a->plain == b->plain || !is_no_text(a), "`%s` in quotes:\n%s", a->text, text);
        return;
    }
    uint32_t children = a->kind == NODE_MAP ? 2 * a->count : a->count;
    for (uint32_t i = 0; i < children; i++)
        assert_same_tree(a->child[i], b->child[i], text);
}

/* Written, read again and written again. */
static void assert_reads_back(const char *text) {
    struct yaml_tree tree = tree_of(text);
    char *written = yaml_tree_write(tree.root);
    struct yaml_tree again = tree_of(written);
    char *twice = yaml_tree_write(again.root);
    assert_same_tree(tree.root, again.root, written);
    ck_assert_str_eq(twice, written);
    free(written);
    free(twice);
    yaml_tree_free(&tree);
    yaml_tree_free(&again);
}

/* ---- what reads back ---- */

/* The first and the last of each kind of character that has to be escaped, and what stands just
 * outside of them. */
static const unsigned odd_character[] = {
    0x01,   0x09,   0x0A,   0x0D,   0x1F,   ' ',     '!',     '"',     '#',    '%',    '&',
    '\'',   '*',    ',',    '-',    '.',    '/',     '0',     '9',     ':',    '<',    '>',
    '?',    '@',    'A',    '[',    '\\',   ']',     '`',     'z',     '{',    '|',    '}',
    '~',    0x7F,   0x80,   0x85,   0x9F,   0xA0,    0xBF,    0xC0,    0x7FF,  0x800,  0x1FFF,
    0x2027, 0x2028, 0x2029, 0x202A, 0x2068, 0x20A8,  0xD7FF,  0xE000,  0xFEBF, 0xFEFE, 0xFEFF,
    0xFF00, 0xFFBE, 0xFFFD, 0xFFFE, 0xFFFF, 0x10000, 0x1F3B5, 0x10FFFF};

/* A scalar in double quotes in which each character is escaped by its number. */
static void put_odd_scalar(FILE *out, uint64_t *dice) {
    uint64_t length = dice_below(dice, 5);
    fputc('"', out);
    for (uint64_t i = 0; i < length; i++)
        fprintf(out, "\\U%08X", odd_character[dice_below(dice, LENGTH(odd_character))]);
    fputc('"', out);
}

static void put_scalar(FILE *out, uint64_t *dice) {
    static const char *const plain[] = {
        "comb",  "ring/outer@4",        "a:b",  "a?b",     "x - y", "-x", "1:b", "b:1",
        "1.5.2", "Gr\303\266\303\237e", "it's", "(a) b_c", "a+b",   "=x"};
    switch (dice_below(dice, 4)) {
    case 0: fputs(plain[dice_below(dice, LENGTH(plain))], out); break;
    case 1: fputs(no_text[dice_below(dice, LENGTH(no_text))], out); break;
    case 2: fprintf(out, "'%s'", no_text[dice_below(dice, LENGTH(no_text))]); break;
    default: put_odd_scalar(out, dice); break;
    }
}

/* Members of a map have numbers in their keys, so that none is there twice. */
static void put_node(FILE *out, uint64_t *dice, int depth) {
    uint64_t kind = dice_below(dice, 4), members = dice_below(dice, 6);
    if (kind < 2 || depth == 0) {
        put_scalar(out, dice);
        return;
    }
    fputc(kind == 2 ? '[' : '{', out);
    for (uint64_t i = 0; i < members; i++) {
        fputs(i > 0 ? ", " : "", out);
        if (kind == 3)
            fprintf(out, "\"key %d\\n:\\\"\": ", (int)i);
        put_node(out, dice, depth - 1);
    }
    fputc(kind == 2 ? ']' : '}', out);
}

START_TEST(random_trees_read_back) {
    for (uint64_t seed = 1; seed <= 3000; seed++) {
        uint64_t dice = seed, sections = 1 + dice_below(&dice, 3);
        struct text_stream stream;
        FILE *out = text_stream_begin(&stream);
        for (uint64_t i = 0; i < sections; i++) {
            fprintf(out, "section-%d: ", (int)i);
            put_node(out, &dice, 3);
            fputc('\n', out);
        }
        char *text = text_stream_end(&stream);
        assert_reads_back(text);
        free(text);
    }
}
END_TEST

START_TEST(each_odd_character_reads_back) {
    for (size_t i = 0; i < LENGTH(odd_character); i++) {
        char text[80];
        snprintf(text, sizeof text, "title: \"\\U%08X\"\n\"a\\U%08Xb\": x\n", odd_character[i],
                 odd_character[i]);
        assert_reads_back(text);
    }
}
END_TEST

START_TEST(all_scenarios_and_briefs_read_back) {
    static const char *const pattern[] = {"scenarios/*.yaml", "tests/exact/*.yaml",
                                          "tests/design/*.brief"};
    for (size_t i = 0; i < LENGTH(pattern); i++) {
        glob_t found;
        ck_assert_int_eq(glob(pattern[i], 0, NULL, &found), 0);
        for (size_t k = 0; k < found.gl_pathc; k++) {
            enum { MOST = 200000 };
            char *text = require_memory(MOST, 1);
            FILE *file = fopen(found.gl_pathv[k], "r");
            ck_assert_ptr_nonnull(file);
            ck_assert_uint_lt(fread(text, 1, MOST - 1, file), MOST - 1);
            fclose(file);
            assert_reads_back(text);
            free(text);
        }
        globfree(&found);
    }
}
END_TEST

/* ---- what it looks like ---- */

/* What is plain and can be read stays plain; what would be taken for more than a text in the middle
 * of a line gets quotes. */
static const struct {
    const char *was, *is;
} shown[] = {
    {"5", "5"},
    {"-1.5", "-1.5"},
    {"1e+3", "1e+3"},
    {"0:30", "0:30"},
    {"1:02:03", "1:02:03"},
    {"9:09", "9:09"},
    {"true", "true"},
    {"~", "~"},
    {"null", "null"},
    {"", "null"},
    {"2.5 min", "2.5 min"},
    {"ring/outer@4", "ring/outer@4"},
    {"Aa_Zz (a-b)", "Aa_Zz (a-b)"},
    {"'5'", "\"5\""},
    {"'comb'", "\"comb\""},
    {"''", "\"\""},
    {"a:b", "\"a:b\""},
    {"1:b", "\"1:b\""},
    {"b:1", "\"b:1\""},
    {"1::2", "\"1::2\""},
    {"1:9", "1:9"},
    {"1:-5", "\"1:-5\""},
    {"=x", "\"=x\""},
    {"/:0", "\"/:0\""},
    {"1, 2", "\"1, 2\""},
    {"1,2", "\"1,2\""},
    {"1?2", "\"1?2\""},
    {"a=b", "\"a=b\""},
    {"it's", "\"it's\""},
    {"'a \"b\" \\ c'", "\"a \\\"b\\\" \\\\ c\""},
    {"\"a\\tb\"", "\"a\\u0009b\""},
    {"\"\\x7F\\x80\\x9F\\xA0\"", "\"\\u007F\\u0080\\u009F\302\240\""},
    {"\"\\u2027\\u2028\\u2029\\u202A\"", "\"\342\200\247\\u2028\\u2029\342\200\252\""},
    {"\"\\uFEFE\\uFEFF\\uFFFD\\uFFFE\\uFFFF\"",
     "\"\357\273\276\\uFEFF\357\277\275\\uFFFE\\uFFFF\""},
};

START_TEST(scalars_look_as_they_did) {
    for (size_t i = 0; i < LENGTH(shown); i++) {
        char text[80], wanted[80];
        snprintf(text, sizeof text, "title: %s\n", shown[i].was);
        snprintf(wanted, sizeof wanted, "title: %s\n", shown[i].is);
        struct yaml_tree tree = tree_of(text);
        char *written = yaml_tree_write(tree.root);
        ck_assert_str_eq(written, wanted);
        free(written);
        yaml_tree_free(&tree);
    }
}
END_TEST

/* A section has a line for each of its parts when all of them are maps. */
START_TEST(sections_of_parts_have_a_line_for_each) {
    static const char text[] = "a: [{x: 1}, {x: 2, y: [3, {z: 4}]}]\n"
                               "b: {comb: {}, spring: {length: 2}}\n"
                               "c: {comb: {}, spring: 2}\n"
                               "d: {comb: 2, spring: {}}\n"
                               "e: [{x: 1}, 2]\n"
                               "f: [2, {x: 1}]\n"
                               "g: []\nh: {}\ni: [[1], [2]]\nj: {x: 1}\nk: 5\n";
    static const char wanted[] = "a:\n  - {x: 1}\n  - {x: 2, y: [3, {z: 4}]}\n"
                                 "b:\n  comb: {}\n  spring: {length: 2}\n"
                                 "c: {comb: {}, spring: 2}\n"
                                 "d: {comb: 2, spring: {}}\n"
                                 "e: [{x: 1}, 2]\n"
                                 "f: [2, {x: 1}]\n"
                                 "g: []\nh: {}\ni: [[1], [2]]\nj: {x: 1}\nk: 5\n";
    struct yaml_tree tree = tree_of(text), empty = tree_of("{}");
    char *written = yaml_tree_write(tree.root), *nothing = yaml_tree_write(empty.root);
    char *flow = yaml_tree_write_flow(tree.root->child[1]);
    ck_assert_str_eq(written, wanted);
    ck_assert_str_eq(nothing, "{}\n");
    ck_assert_str_eq(flow, "[{x: 1}, {x: 2, y: [3, {z: 4}]}]");
    free(written);
    free(nothing);
    free(flow);
    yaml_tree_free(&tree);
    yaml_tree_free(&empty);
}
END_TEST

/* Keys of one letter and values of so many letters each, as a part or as a section. */
static char *entries_written(const size_t *letters, size_t count, bool part) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    fprintf(out, part ? "arms: [{" : "watch: {");
    for (size_t i = 0; i < count; i++) {
        fprintf(out, "%s%c: ", i > 0 ? ", " : "", (int)('a' + i));
        for (size_t k = 0; k < letters[i]; k++)
            fputc('x', out);
    }
    fprintf(out, part ? "}]\n" : "}\n");
    char *text = text_stream_end(&stream);
    struct yaml_tree tree = tree_of(text);
    char *written = yaml_tree_write(tree.root);
    yaml_tree_free(&tree);
    free(text);
    return written;
}

static size_t line_length(const char *line) { return strcspn(line, "\n"); }

/* The columns up to the end of the last entry, without the comma or brace that follows it. */
static size_t filled(const char *line) {
    size_t length = line_length(line);
    while (length > 0 && strchr(",}]", line[length - 1]) != NULL)
        length--;
    return length;
}

static bool has_one_entry(const char *line) {
    const char *comma = strstr(line, ", ");
    return comma == NULL || comma > line + line_length(line);
}

/* Every line but the last has as many entries as go into 100 columns, and at least one. */
static void check_lines(const char *line, size_t indent) {
    for (; line[line_length(line)] == '\n' && line[line_length(line) + 1] != '\0';) {
        const char *next = line + line_length(line) + 1;
        ck_assert_uint_eq(strspn(next, " "), indent);
        size_t entry = strcspn(next + indent, ",}\n");
        ck_assert_msg(filled(line) + strlen(", ") + entry > 100, "too short: %s", line);
        ck_assert_msg(filled(next) <= 100 || has_one_entry(next), "too long: %s", next);
        ck_assert_int_ne(line[line_length(line) - 1], ' ');
        line = next;
    }
}

START_TEST(full_lines_go_on_in_the_next) {
    for (uint64_t dice = 1, tries = 0; tries < 500; tries++) {
        size_t letters[12], count = 1 + dice_below(&dice, LENGTH(letters));
        for (size_t i = 0; i < count; i++)
            letters[i] = 1 + dice_below(&dice, dice_below(&dice, 8) == 0 ? 140 : 40);
        char *part = entries_written(letters, count, true);
        char *section = entries_written(letters, count, false);
        ck_assert_int_eq(strncmp(part, "arms:\n  - {a: x", 15), 0);
        check_lines(strchr(part, '\n') + 1, 5);
        check_lines(section, 2);
        free(part);
        free(section);
    }
}
END_TEST

/* 100 columns are not too many: of "  - {a: ", 40 letters, ", b: " and the rest. */
START_TEST(a_line_has_a_hundred_columns) {
    for (size_t more = 0; more <= 1; more++) {
        char *text = entries_written((size_t[]){40, 100 - 8 - 40 - 5 + more}, 2, true);
        const char *line = strchr(text, '\n') + 1;
        ck_assert_uint_eq(filled(line), more == 0 ? 100 : 48);
        free(text);
    }
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, random_trees_read_back);
    tcase_add_test(tests, each_odd_character_reads_back);
    tcase_add_test(tests, all_scenarios_and_briefs_read_back);
    tcase_add_test(tests, scalars_look_as_they_did);
    tcase_add_test(tests, sections_of_parts_have_a_line_for_each);
    tcase_add_test(tests, full_lines_go_on_in_the_next);
    tcase_add_test(tests, a_line_has_a_hundred_columns);
}

int main(void) { return suite_main("yaml_write", add_tests); }
