/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_certificate.c - no lane that is proven never to fill ever fills, jams, or holds
 * more than its proof allows. The outside that the proofs are held against is the engine itself.
 *
 * CERTIFICATE_RUNS says how many random scenarios of each kind are tried (default below). */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/engine/world.h"
#include "model/reader/read.h"
#include "tests/common/sanitized.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tests/unit/certain.h"

/* Eighteen thousand in all; a tenth of that with sanitizers. */
enum { RUNS_DEFAULT = SANITIZED ? 600 : 6000 };

struct trial {
    const struct scenario *scenario;
    const struct budget *budget;
    uint32_t lanes; /* certified, and not just empty */
    uint32_t jams;  /* on certified lanes */
};

static uint64_t runs_wanted(void) {
    const char *text = getenv("CERTIFICATE_RUNS");
    return text != NULL ? strtoull(text, NULL, 10) : RUNS_DEFAULT;
}

static void heard(void *self, const struct event *event) {
    struct trial *trial = self;
    bool jam = event->kind == EVENT_JAM || event->kind == EVENT_DEADLOCK;
    trial->jams += jam && trial->budget->certificate[event->track.index].certified;
}

static bool names_item(const char *list, const char *name) {
    size_t length = strlen(name);
    for (const char *at = list; (at = strstr(at, name)) != NULL; at++)
        if ((at == list || at[-1] == ' ') && (at[length] == ' ' || at[length] == '\0'))
            return true;
    return false;
}

static int64_t counted(const struct trial *trial, const struct world *world, uint32_t lane,
                       const struct budget_bound *bound) {
    int64_t all = 0;
    for (uint32_t i = 0; i < trial->scenario->item_count; i++)
        if (names_item(bound->items, trial->scenario->item[i].name))
            all += world_track_count(world, (struct place){PLACE_LANE, lane, 0}, i);
    return all;
}

static bool keeps_bounds(const struct trial *trial, const struct world *world, uint32_t lane) {
    const struct budget_certificate *certificate = &trial->budget->certificate[lane];
    struct place track = {PLACE_LANE, lane, 0};
    for (uint32_t i = 0; i < certificate->bound_count; i++)
        if (counted(trial, world, lane, &certificate->bound[i]) > certificate->bound[i].at_most)
            return false;
    return world_track_count(world, track, NO_INDEX) <= certificate->at_most &&
           world_track_totals(world, track).cells_most < trial->budget->track[lane].cells;
}

static bool run_trial(struct trial *trial) {
    struct world *world = world_new(trial->scenario);
    struct listener listener = {.self = trial, .began = heard};
    bool kept = true;
    world_listen(world, &listener);
    bool more = true;
    while (more && kept) {
        more = world_step(world, trial->scenario->run_ticks);
        for (uint32_t lane = 0; lane < trial->scenario->lane_count; lane++)
            if (trial->budget->certificate[lane].certified)
                kept = kept && keeps_bounds(trial, world, lane);
    }
    world_free(world);
    return kept && trial->jams == 0;
}

/* Returns how many lanes were certified on which something may lie. */
static uint32_t try_text(const char *text, uint64_t seed, const char *kind) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), kind, NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s %llu: %s\n%s", kind, (unsigned long long)seed,
                  faults.count > 0 ? faults.fault[0].what : "", text);
    faults_free(&faults);
    struct budget *budget = budget_new(scenario);
    struct trial trial = {.scenario = scenario, .budget = budget};
    for (uint32_t lane = 0; lane < scenario->lane_count; lane++)
        trial.lanes += budget->certificate[lane].certified && budget->certificate[lane].at_most > 0;
    ck_assert_msg(trial.lanes == 0 || run_trial(&trial), "%s %llu breaks its proof:\n%s", kind,
                  (unsigned long long)seed, text);
    budget_free(budget);
    scenario_free(scenario);
    return trial.lanes;
}

static void try_many(const char *kind, char *(*scenario)(uint64_t seed), uint64_t at_least) {
    uint64_t certified = 0, runs = runs_wanted();
    for (uint64_t seed = 1; seed <= runs; seed++) {
        char *text = scenario(seed);
        certified += try_text(text, seed, kind);
        free(text);
    }
    printf("%s: %llu scenarios, %llu certified lanes\n", kind, (unsigned long long)runs,
           (unsigned long long)certified);
    ck_assert_uint_ge(certified * 1000, at_least * runs);
}

static char *scattered(uint64_t seed) { return scatter_scenario(seed, seed % 2 == 0); }

/* At least so many certified lanes in a thousand scenarios: else the test would test nothing. */
START_TEST(no_certified_lane_of_likely_loops_fills) { try_many("likely", certain_scenario, 300); }
END_TEST

START_TEST(no_certified_lane_of_one_cell_fills) { try_many("one cell", one_cell_scenario, 100); }
END_TEST

START_TEST(no_certified_lane_of_any_scenario_fills) { try_many("any", scattered, 20); }
END_TEST

/* ---- one lane by hand ---- */

static struct budget *shop_of(const char *box, struct scenario **scenario) {
    char text[600];
    struct faults faults = {0};
    snprintf(text, sizeof text,
             "items: [spring]\nloops: [{name: ring, cells: 50, rate: 5}]\n"
             "chests: [{name: bin, start: {spring: 4000}}, {name: box%s}]\n"
             "arms:\n"
             "  - {name: feeder, from: bin, to: ring@0, swing: 2,\n"
             "     gate: {chest: box, below: 20}}\n"
             "  - {name: taker, from: ring@20, to: box, swing: 1}\n",
             box);
    *scenario = read_scenario(text, strlen(text), "shop", NULL, 0, &faults);
    ck_assert_ptr_nonnull(*scenario);
    faults_free(&faults);
    return budget_new(*scenario);
}

static void forget_shop(struct budget *budget, struct scenario *scenario) {
    budget_free(budget);
    scenario_free(scenario);
}

/* A taker keeps its pace as long as its box has room: for the 19 at which the feeder still works,
 * an item in each of both hands, and what lies on the lane at most. One less, and it may stop. */
START_TEST(a_box_needs_room_for_what_is_under_way) {
    struct scenario *scenario;
    char box[40];
    struct budget *budget = shop_of("", &scenario);
    int64_t on_lane = budget->certificate[0].at_most;
    ck_assert(budget->certificate[0].certified);
    forget_shop(budget, scenario);
    for (int64_t more = -1; more <= 0; more++) {
        snprintf(box, sizeof box, ", capacity: %lld", (long long)(19 + 2 + on_lane + more));
        budget = shop_of(box, &scenario);
        ck_assert_int_eq(budget->certificate[0].certified, more == 0);
        forget_shop(budget, scenario);
    }
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("certificate");
    TCase *tests = tcase_create("certificate");
    tcase_add_test(tests, a_box_needs_room_for_what_is_under_way);
    tcase_add_test(tests, no_certified_lane_of_likely_loops_fills);
    tcase_add_test(tests, no_certified_lane_of_one_cell_fills);
    tcase_add_test(tests, no_certified_lane_of_any_scenario_fills);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
