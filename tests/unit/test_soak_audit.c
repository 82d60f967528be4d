/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_soak_audit.c - the invariants at the head of tools/soak/soak_journal.h hold after
 * every run of soaks of thrown scenarios; and each of them, once broken, is found. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tools/soak/soak_journal.h"
#include "tools/soak/soak_run.h"

/* Seeds 1 .. THROWN, all with chance, every second one up to its first jam. */
enum { THROWN = 60, RUNS = 6, KEEP = 2 };

static void begin(struct soak_plan *plan, uint64_t seed) {
    struct faults faults = {0};
    char *text = scatter_scenario(seed, true);
    *plan = (struct soak_plan){
        .variant_count = 1, .run_count = RUNS, .keep = KEEP, .until_jam = seed % 2 == 0};
    plan->name[0] = require_text("random");
    plan->scenario[0] = read_scenario(text, strlen(text), "random", NULL, 0, &faults);
    ck_assert_ptr_nonnull(plan->scenario[0]);
    faults_free(&faults);
    soak_plan_write(plan);
    free(text);
}

/* Does the runs in an order of its own, as threads might. */
static void do_runs(struct soak_journal *book, uint64_t count) {
    static const uint64_t order[RUNS] = {3, 0, 5, 1, 4, 2};
    _Atomic int64_t simulated = 0;
    for (uint64_t i = 0; i < count; i++) {
        struct soak_result result;
        ck_assert(soak_run(book->plan, &book->measures[0], 0, order[i], &simulated, &result));
        ck_assert_int_eq(soak_journal_add(book, order[i], &result), 0);
        soak_journal_audit(book);
    }
}

START_TEST(invariants_hold_after_every_run) {
    uint64_t jams = 0;
    for (uint64_t seed = 1; seed <= THROWN; seed++) {
        struct soak_plan plan;
        struct soak_journal book;
        begin(&plan, seed);
        soak_journal_init(&book, &plan);
        soak_journal_audit(&book);
        do_runs(&book, RUNS);
        jams += book.jammed_count;
        soak_journal_free(&book);
        soak_plan_free(&plan);
    }
    ck_assert_uint_gt(jams, THROWN / 4); /* there was something to look at */
}
END_TEST

/* ---- each invariant broken once: the program ends with status 5 ---- */

/* A soak of which some runs jam, and one run is not done. */
static void begin_with_jams(struct soak_plan *plan, struct soak_journal *book) {
    for (uint64_t seed = 1;; seed++) {
        begin(plan, seed);
        soak_journal_init(book, plan);
        do_runs(book, RUNS - 1);
        if (book->jammed_count == KEEP)
            return;
        soak_journal_free(book);
        soak_plan_free(plan);
    }
}

static void keep_another(struct soak_journal *book) { book->jammed[0] = RUNS - 1; }
static void keep_less(struct soak_journal *book) { book->jammed_count--; }
static void lose_value(struct soak_journal *book) {
    free(book->result[0].value);
    book->result[0].value = NULL;
}
static void widen(struct soak_journal *book) { book->result[0].series_width = UINT32_MAX; }
static void lengthen(struct soak_journal *book) {
    book->result[0].window_count = SOAK_WINDOWS_MAX + 1;
}
static void jam_too_long(struct soak_journal *book) {
    book->result[0].jammed_ticks = book->result[0].ticks + 1;
}
static void lose_time(struct soak_journal *book) {
    book->result[book->jammed[0]].first_jam_tick = NOT_GIVEN;
}
static void own_early(struct soak_journal *book) { book->result[2].value = book->result[0].value; }

static void (*const breaks[])(struct soak_journal *book) = {
    keep_another, keep_less, lose_value, widen, lengthen, jam_too_long, lose_time, own_early};

START_TEST(broken_invariant_ends_the_program) {
    struct soak_plan plan;
    struct soak_journal book;
    begin_with_jams(&plan, &book);
    breaks[_i](&book);
    soak_journal_audit(&book);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("soak_audit");
    TCase *runs = tcase_create("runs"), *broken = tcase_create("broken");
    tcase_add_test(runs, invariants_hold_after_every_run);
    tcase_add_loop_exit_test(broken, broken_invariant_ends_the_program, REQUIRE_EXIT_STATUS, 0,
                             sizeof breaks / sizeof *breaks);
    suite_add_tcase(suite, runs);
    suite_add_tcase(suite, broken);
    return suite_end(suite);
}
