/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_suggest.c - the suggestion for an unknown word, or none when that is not
 * clear. */
#include "model/reader/suggest.h"

#include <check.h>
#include <string.h>

#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static const char *const words[] = {"cells", "rate", "lanes", "name", "breaks", "exponential"};

static const char *meant_by(const char *wanted, const char *const *word, size_t count) {
    struct suggestion nearest = suggest_start(wanted);
    for (size_t i = 0; i < count; i++)
        suggest_look(&nearest, word[i]);
    return suggest_word(&nearest);
}

static const struct {
    const char *wanted, *meant;
} meant_table[] = {
    {"celz", NULL},                 /* two edits of four letters: one is allowed */
    {"cels", "cells"},              /* insertion */
    {"ccells", "cells"},            /* deletion */
    {"cexls", "cells"},             /* substitution */
    {"clels", "cells"},             /* a swap of neighbours is one edit */
    {"CELLS", "cells"},             /* case does not count */
    {"clesl", NULL},                /* two swaps in five letters */
    {"exponetnail", "exponential"}, /* two swaps in eleven */
    {"expnntl", NULL},              /* too far */
    {"", NULL},
    {"rat", "rate"},
    {"x", NULL},
};

START_TEST(the_nearest_word_is_meant) {
    const char *found = meant_by(meant_table[_i].wanted, words, LENGTH(words));
    ck_assert_msg((found == NULL) == (meant_table[_i].meant == NULL) &&
                      (found == NULL || strcmp(found, meant_table[_i].meant) == 0),
                  "%s: %s", meant_table[_i].wanted, found != NULL ? found : "(none)");
}
END_TEST

/* Optimal string alignment does not edit a substring twice: CA to ABC takes 3 edits, not 2 (a swap
 * and an insertion between the swapped letters). So of a word of 6 letters, of which 2 edits are
 * allowed, that difference is too much. */
START_TEST(swapped_letters_are_not_edited_again) {
    static const char *const word[] = {"abcwxyz"};
    ck_assert_ptr_null(meant_by("cawxyz", word, 1));
}
END_TEST

START_TEST(of_the_shortest_words_one_letter_may_differ) {
    static const char *const word[] = {"in"};
    ck_assert_str_eq(meant_by("i", word, 1), "in");
    ck_assert_str_eq(meant_by("im", word, 1), "in");
    ck_assert_ptr_null(meant_by("x", word, 1));
}
END_TEST

START_TEST(of_two_equally_near_none_is_meant) {
    static const char *const word[] = {"comb", "bomb", "tomb"};
    ck_assert_ptr_null(meant_by("romb", word, 3));
    ck_assert_str_eq(meant_by("combs", word, 3), "comb");
    static const char *const nearer_last[] = {"bombx", "bombs", "bomb"};
    ck_assert_str_eq(meant_by("bomb", nearer_last, 3), "bomb");
}
END_TEST

START_TEST(long_words_are_not_looked_at) {
    char lengthy[200];
    memset(lengthy, 'a', sizeof lengthy - 1);
    lengthy[sizeof lengthy - 1] = '\0';
    const char *word[] = {lengthy, "cells"};
    ck_assert_ptr_null(meant_by(lengthy, word, 2));
    ck_assert_str_eq(meant_by("cels", word, 2), "cells");
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("nearest");
    TCase *tests = tcase_create("nearest");
    tcase_add_loop_test(tests, the_nearest_word_is_meant, 0, LENGTH(meant_table));
    tcase_add_test(tests, swapped_letters_are_not_edited_again);
    tcase_add_test(tests, of_the_shortest_words_one_letter_may_differ);
    tcase_add_test(tests, of_two_equally_near_none_is_meant);
    tcase_add_test(tests, long_words_are_not_looked_at);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
