/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_explanation.c - what it costs to find out why a run went wrong, counted in picks
 * and places, so that it is the same on every machine. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/text_stream.h"
#include "tests/bench/ring.h"
#include "tests/common/suite.h"
#include "tools/cause/explanation.h"
#include "tools/cause/remedy_words.h"

/* A goal of ours: all looks and trials, without proofs, cost so many runs at most. A run is counted
 * as one that goes through: the dearest of all that were made, as a jam cuts its run short. */
enum { RUNS_MOST = 15, CHANGES_MOST = 3 };

/* Rings of equal sectors with a fault in the first one. */
static const struct {
    int64_t sectors;
    bool restless; /* feeders wait for cells now and then, and sectors are not in step */
    const char *run_for;
    const char *change[CHANGES_MOST];
} rings[] = {
    {1, false, "1 h", {"incidents=[{at: 20 min, stop: taker-x0}]"}},
    {1, false, "1 h", {"incidents=[{at: 20 min, stop: clearer-a0}, {at: 20 min, stop: taker-x0}]"}},
    /* jams within minutes */
    {1, false, "1 h", {"incidents=[{at: 2 min, stop: clearer-a0}, {at: 2 min, stop: taker-x0}]"}},
    {1, false, "1 h", {"arms.clearer-a0=null", "arms.taker-x0.swing=4 s"}},
    {1, true, "1 h", {"arms.clearer-a0=null", "arms.taker-x0.swing=4 s"}},
    {1, true, "1 h", {"incidents=[{at: 5 min, stop: clearer-a0}]", "stations.bench-x0.time=9 s"}},
    {2, true, "1 h", {"incidents=[{at: 5 min, stop: clearer-a0}]", "stations.bench-x0.time=12 s"}},
    {8, false, "1 h", {"incidents=[{at: 2 min, stop: clearer-a0}, {at: 2 min, stop: taker-x0}]"}},
    {8, false, "1 h", {"incidents=[{at: 20 min, stop: clearer-a0}, {at: 20 min, stop: taker-x0}]"}},
    {8, true, "1 h", {"arms.clearer-a0=null", "arms.taker-x0.swing=4 s"}},
    /* no jam in the run: too little is made */
    {64, false, "20 min", {"arms.clearer-a0=null", "arms.taker-x0.swing=4 s"}},
};
enum { RINGS = sizeof rings / sizeof *rings };

static struct scenario *read_ring(int which) {
    struct ring ring = ring_default();
    struct faults faults = {0};
    size_t changes = 0;
    ring.sectors = rings[which].sectors;
    ring.run_for = rings[which].run_for;
    ring.stagger = rings[which].restless;
    ring.feeder_swing = rings[which].restless ? 1.25 : ring.feeder_swing;
    while (changes < CHANGES_MOST && rings[which].change[changes] != NULL)
        changes++;
    char *text = ring_text(&ring);
    struct scenario *scenario =
        read_scenario(text, strlen(text), "ring", rings[which].change, changes, &faults);
    ck_assert_msg(scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "?");
    faults_free(&faults);
    free(text);
    return scenario;
}

static void explain(struct explanation *explanation, const struct scenario *scenario,
                    int64_t prove_ticks) {
    ck_assert(explanation_begin(explanation, scenario, NULL, prove_ticks, false));
    cause_cases_keep_lasting(&explanation->cases);
    ck_assert(explanation_work_out(explanation));
}

START_TEST(an_explanation_costs_a_few_runs) {
    struct scenario *scenario = read_ring(_i);
    struct explanation explanation;
    const int64_t no_proofs = 0;
    explain(&explanation, scenario, no_proofs);
    /* something was found and tried */
    ck_assert_uint_gt(explanation.cases.count + explanation.shorts.count, 0);
    ck_assert_uint_gt(explanation.book.count, 1);
    ck_assert_uint_gt(explanation.spent, explanation.book.dearest);
    ck_assert_msg(explanation.spent <= RUNS_MOST * explanation.book.dearest, "%llu of %llu",
                  (unsigned long long)explanation.spent,
                  (unsigned long long)explanation.book.dearest);
    explanation_free(&explanation);
    scenario_free(scenario);
}
END_TEST

/* Seven feeders are held by products of which there are not enough: their lane fills with what is
 * not used. Held at the benches as well, they keep the lane open; it takes some of the seven gates,
 * and another change beside them. */
START_TEST(what_holds_many_feeders_is_part_of_a_cure) {
    struct scenario *scenario = read_ring(5);
    struct explanation explanation;
    uint32_t jams = 0;
    explain(&explanation, scenario, NOT_GIVEN);
    for (uint32_t i = 0; i < explanation.cases.count; i++) {
        const struct remedy_list *list = &explanation.remedies.list[i];
        if (explanation.cases.jam_case[i].kind != EVENT_JAM)
            continue;
        jams++;
        ck_assert_uint_gt(list->count, 0);
        ck_assert_int_eq(list->remedy[0].worth.class, REMEDY_CURES);
        const struct trial *trial = &explanation.book.trial[list->remedy[0].trial];
        ck_assert_uint_lt(trial->set_count, 7);
        ck_assert_ptr_nonnull(strstr(trial->set[0], "arms.feeder-a0.gate={all: "));
    }
    ck_assert_uint_eq(jams, 1);
    explanation_free(&explanation);
    scenario_free(scenario);
}
END_TEST

/* A jam and the deadlock that comes of it are searched for by themselves, and what helps against
 * the one is taken over for the other. */
START_TEST(no_change_is_shown_twice) {
    struct scenario *scenario = read_ring(6);
    struct explanation explanation;
    explain(&explanation, scenario, NOT_GIVEN);
    ck_assert_uint_gt(explanation.remedies.count, 1);
    for (uint32_t k = 0; k < explanation.remedies.count; k++) {
        const struct remedy_list *list = &explanation.remedies.list[k];
        for (uint32_t i = 0; i < list->count; i++)
            for (uint32_t j = 0; j < i; j++)
                ck_assert_uint_ne(list->remedy[i].trial, list->remedy[j].trial);
    }
    explanation_free(&explanation);
    scenario_free(scenario);
}
END_TEST

/* What a run may cost is bounded: it ends before its time, and so it is said. */
START_TEST(a_run_that_costs_too_much_ends_early) {
    struct scenario *scenario = read_ring(0);
    struct course course;
    const uint64_t acts_most = 1000;
    course_run(&course, scenario, NULL, acts_most);
    ck_assert(course.whole);
    ck_assert_int_gt(course.end_tick, 0);
    ck_assert_int_lt(course.end_tick, scenario->run_ticks);
    ck_assert_uint_le(course.moves, acts_most);
    course_free(&course);
    scenario_free(scenario);
}
END_TEST

static char *proof_words(const struct scenario *scenario, int64_t proved_ticks) {
    struct trial_book book = {.scenario = scenario,
                              .prove_ticks = 12 * 3600 * scenario->ticks_per_second};
    struct trial trial = {.proved = true, .seeds = 1, .proved_ticks = proved_ticks};
    struct text_stream stream;
    remedy_words_proof(&book, &trial, text_stream_begin(&stream));
    return text_stream_end(&stream);
}

START_TEST(a_proof_that_was_cut_short_says_so) {
    struct scenario *scenario = read_ring(0);
    int64_t hour = 3600 * scenario->ticks_per_second;
    char *cut = proof_words(scenario, 5 * hour), *whole = proof_words(scenario, 12 * hour);
    ck_assert_str_eq(cut, " in 5 h (no further: too much happens)");
    ck_assert_str_eq(whole, " in 12 h");
    free(cut);
    free(whole);
    scenario_free(scenario);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, what_holds_many_feeders_is_part_of_a_cure);
    tcase_add_test(tests, no_change_is_shown_twice);
    tcase_add_test(tests, a_run_that_costs_too_much_ends_early);
    tcase_add_test(tests, a_proof_that_was_cut_short_says_so);
    tcase_add_loop_test(tests, an_explanation_costs_a_few_runs, 0, RINGS);
}

int main(void) { return suite_main("explanation", add_tests); }
