/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_needed_changes.c - of many changes those are left without any of which what was
 * asked for is not had, and that takes fewer trials than there are changes. What a trial is worth
 * is said here by the changes that it has. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tools/cause/needed_changes.h"

static const char text[] = "run: {for: 1 s}\n"
                           "items: [comb]\n"
                           "loops: [{name: ring, cells: 10, rate: 1}]\n"
                           "chests: [{name: bin}, {name: tray}]\n"
                           "arms: [{name: feeder, from: bin, to: ring@0, swing: 1 s}]\n";

/* A chest that is added, the arm that fills it and who empties it. */
static const char box[] = "chests.box={}\n"
                          "arms.clearer={from: ring@5, to: box, swing: 1 s}\n"
                          "demands.carrier={chest: box, item: comb, every: 1 s, outlet: true}";

/* What is wanted: changes of the bin's limit are told apart by their numbers. */
struct wish {
    const struct trial_book *book;
    const char *needed[4];       /* all of these */
    const char *needs, *another; /* and, where the one is there, another one; NULL: no such */
    bool keeps_emptiers;
};

static bool has(const struct trial *trial, const char *set) {
    for (uint32_t i = 0; i < trial->set_count; i++)
        if (strstr(trial->set[i], set) == trial->set[i])
            return true;
    return false;
}

static bool is_as_good(void *self, uint32_t index) {
    struct wish *wish = self;
    const struct trial *trial = &wish->book->trial[index];
    for (size_t i = 0; i < 4 && wish->needed[i] != NULL; i++)
        if (!has(trial, wish->needed[i]))
            return false;
    return wish->needs == NULL || !has(trial, wish->needs) || has(trial, wish->another);
}

/* The changes that are needed, one a line; freed by the caller. */
static char *needed_of(const char *changes, struct wish *wish, uint32_t *trials) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "text", NULL, 0, &faults);
    struct trial_book book;
    ck_assert_ptr_nonnull(scenario);
    trial_book_init(&book, scenario, 0, false);
    wish->book = &book;
    uint32_t all = trial_book_add(&book, changes);
    ck_assert(trial_book_run(&book, &all, 1));
    uint32_t index = needed_changes(&book, all, wish->keeps_emptiers, is_as_good, wish);
    char *found = require_memory(10000, 1);
    for (uint32_t i = 0; i < book.trial[index].set_count; i++)
        strcat(strcat(found, book.trial[index].set[i]), "\n");
    *trials = book.count - 1;
    trial_book_free(&book);
    scenario_free(scenario);
    faults_free(&faults);
    return found;
}

/* `count` changes that have nothing to do with each other. */
static void write_changes(char *changes, int count) {
    changes[0] = '\0';
    for (int i = 0; i < count; i++)
        sprintf(changes + strlen(changes), "%schests.bin.limits.comb=%d", i > 0 ? "\n" : "",
                100 + i);
}

/* 2 of 16: halves take at most 2 * 2 * log2(16) trials and each of the two alone at last; one after
 * the other would take 16 and more. */
START_TEST(few_of_many_are_found_by_halves) {
    char changes[1000];
    uint32_t trials;
    struct wish wish = {.needed = {"chests.bin.limits.comb=103", "chests.bin.limits.comb=112"}};
    write_changes(changes, 16);
    char *found = needed_of(changes, &wish, &trials);
    ck_assert_str_eq(found, "chests.bin.limits.comb=103\nchests.bin.limits.comb=112\n");
    ck_assert_uint_lt(trials, 16);
    free(found);
}
END_TEST

START_TEST(all_are_kept_where_all_are_needed) {
    char changes[1000];
    uint32_t trials;
    struct wish wish = {.needed = {"chests.bin.limits.comb=100", "chests.bin.limits.comb=101",
                                   "chests.bin.limits.comb=102", "chests.bin.limits.comb=103"}};
    write_changes(changes, 4);
    char *found = needed_of(changes, &wish, &trials);
    ck_assert_str_eq(found, "chests.bin.limits.comb=100\nchests.bin.limits.comb=101\n"
                            "chests.bin.limits.comb=102\nchests.bin.limits.comb=103\n");
    free(found);
}
END_TEST

/* One is needed only as long as another one is there: it is left out once that is gone. */
START_TEST(what_is_no_longer_needed_is_left_out_too) {
    char changes[1000];
    uint32_t trials;
    struct wish wish = {.needed = {"chests.bin.limits.comb=100"},
                        .needs = "chests.bin.limits.comb=101",
                        .another = "chests.bin.limits.comb=105"};
    write_changes(changes, 6);
    char *found = needed_of(changes, &wish, &trials);
    ck_assert_str_eq(found, "chests.bin.limits.comb=100\n");
    free(found);
}
END_TEST

/* A chest and its arm stay together, though who empties it is not needed. */
START_TEST(a_chest_stays_with_its_arm) {
    char changes[1000];
    uint32_t trials;
    struct wish wish = {.needed = {"chests.box"}};
    write_changes(changes, 5);
    strcat(strcat(changes, "\n"), box);
    char *found = needed_of(changes, &wish, &trials);
    ck_assert_str_eq(found, "chests.box={}\narms.clearer={from: ring@5, to: box, swing: 1 s}\n");
    free(found);
}
END_TEST

/* Where it is asked for, who empties it stays with it; not so where the chest is not needed. */
START_TEST(who_empties_a_chest_stays_as_long_as_the_chest) {
    char changes[1000];
    uint32_t trials;
    struct wish wish = {.needed = {"chests.box"}, .keeps_emptiers = true};
    write_changes(changes, 5);
    strcat(strcat(changes, "\n"), box);
    char *found = needed_of(changes, &wish, &trials);
    ck_assert_int_eq(strncmp(found, box, strlen(box)), 0);
    ck_assert_uint_eq(strlen(found), strlen(box) + 1);
    free(found);
    wish.needed[0] = "chests.bin.limits.comb=102";
    found = needed_of(changes, &wish, &trials);
    ck_assert_str_eq(found, "chests.bin.limits.comb=102\n");
    free(found);
}
END_TEST

/* Where a part has been tried and is as good, nothing of what is beyond it is tried. */
START_TEST(a_part_that_is_known_to_do_is_the_beginning) {
    char changes[1000];
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "text", NULL, 0, &faults);
    struct trial_book book;
    struct wish wish = {.book = &book, .needed = {"chests.bin.limits.comb=103"}};
    trial_book_init(&book, scenario, 0, false);
    write_changes(changes, 16);
    uint32_t index[] = {trial_book_add(&book, "chests.bin.limits.comb=103"),
                        trial_book_add(&book, changes)};
    ck_assert(trial_book_run(&book, index, 2));
    ck_assert_uint_eq(needed_changes(&book, index[1], false, is_as_good, &wish), index[0]);
    ck_assert_uint_eq(book.count, 2);
    trial_book_free(&book);
    scenario_free(scenario);
    faults_free(&faults);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, few_of_many_are_found_by_halves);
    tcase_add_test(tests, all_are_kept_where_all_are_needed);
    tcase_add_test(tests, what_is_no_longer_needed_is_left_out_too);
    tcase_add_test(tests, a_chest_stays_with_its_arm);
    tcase_add_test(tests, who_empties_a_chest_stays_as_long_as_the_chest);
    tcase_add_test(tests, a_part_that_is_known_to_do_is_the_beginning);
}

int main(void) { return suite_main("needed changes", add_tests); }
