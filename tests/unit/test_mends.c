/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_mends.c - what is proposed to mend a broken rule, on workshops whose numbers are
 * worked out by hand; that the rule then holds is tried before it is shown. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/budget/budget_mends.h"
#include "model/reader/read.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tools/budget/mend_search.h"

struct judged {
    struct scenario *scenario;
    struct budget *budget;
};

static struct judged judge(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "shop", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    faults_free(&faults);
    return (struct judged){scenario, budget_judge(scenario)};
}

static void forget(struct judged *judged) {
    budget_free(judged->budget);
    scenario_free(judged->scenario);
}

/* Whether it is among the changes that may mend the findings of a rule. */
static bool proposes(const struct judged *judged, enum budget_rule_kind kind, const char *change) {
    const struct budget_rule *rule = &judged->budget->rule[kind];
    struct budget_texts changes = {0};
    bool found = false;
    for (uint32_t i = 0; i < rule->finding_count; i++)
        budget_mends(judged->budget, kind, &rule->finding[i], &changes);
    for (uint32_t i = 0; i < changes.count; i++)
        found |= strcmp(changes.text[i], change) == 0;
    budget_texts_free(&changes);
    return found;
}

/* Springs and combs are fed by one arm each onto a ring of five cells a second, three of each a
 * second: a share of 2.5 for each is 0.4 s, 2 % more, and a tick so that it is not less. */
START_TEST(feeders_are_slowed_to_an_equal_share) {
    struct judged judged =
        judge("clock: {ticks_per_second: 1000}\n"
              "items: [spring, comb]\n"
              "loops: [{name: ring, cells: 50, rate: 5}]\n"
              "chests: [{name: bin, start: {spring: 4000, comb: 4000}}, {name: box}]\n"
              "arms:\n"
              "  - {name: a, from: bin, to: ring@0, items: [spring], swing: 0.33}\n"
              "  - {name: b, from: bin, to: ring@5, items: [comb], swing: 0.33}\n"
              "  - {name: c, from: ring@20, to: box, items: [spring], swing: 0.2}\n"
              "  - {name: d, from: ring@40, to: box, items: [comb], swing: 0.2}\n");
    ck_assert(
        proposes(&judged, RULE_FEEDERS_WITHIN_LANE, "arms.a.swing=0.409 s\narms.b.swing=0.409 s"));
    forget(&judged);
}
END_TEST

/* One bench takes springs, the other combs: each feeder may watch the bench that uses what it
 * feeds. */
START_TEST(a_gate_reads_the_station_that_takes_the_item) {
    struct judged judged =
        judge("items: [spring, comb, movement]\n"
              "loops: [{name: ring, cells: 50, rate: 5}]\n"
              "chests: [{name: bin, start: {spring: 4000, comb: 4000}}, {name: shelf}]\n"
              "stations:\n"
              "  - {name: first, takes: {spring: 2}, makes: {movement: 1}, time: 1 s, ahead: 2}\n"
              "  - {name: second, takes: {comb: 1}, makes: {movement: 1}, time: 1 s, ahead: 6}\n"
              "arms:\n"
              "  - {name: spring-feeder, from: bin, to: ring@0, items: [spring], swing: 2}\n"
              "  - {name: comb-feeder, from: bin, to: ring@5, items: [comb], swing: 2}\n"
              "  - {name: first-taker, from: ring@20, to: first, swing: 1}\n"
              "  - {name: second-taker, from: ring@30, to: second, swing: 1}\n"
              "  - {name: first-shelver, from: first, to: shelf, swing: 1}\n"
              "  - {name: second-shelver, from: second, to: shelf, swing: 1}\n");
    ck_assert(proposes(&judged, RULE_INPUTS_GATED_ON_OUTPUTS,
                       "arms.spring-feeder.gate={station: first, input: spring, below: 2}"));
    ck_assert(proposes(&judged, RULE_INPUTS_GATED_ON_OUTPUTS,
                       "arms.comb-feeder.gate={station: second, input: comb, below: 3}"));
    forget(&judged);
}
END_TEST

/* ---- random workshops ---- */

/* Reads a scenario with the lines of a change made in it. */
static struct scenario *mended(const char *text, const char *change, struct faults *faults) {
    struct budget_texts set = {0};
    while (*change != '\0') {
        int length = (int)strcspn(change, "\n");
        budget_texts_add(&set, "%.*s", length, change);
        change += length + (change[length] == '\n');
    }
    struct scenario *scenario = read_scenario(text, strlen(text), "mended",
                                              (const char *const *)set.text, set.count, faults);
    budget_texts_free(&set);
    return scenario;
}

static uint32_t count_faults(const struct faults *faults, const char *words) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < faults->count; i++)
        count += strstr(faults->fault[i].what, words) != NULL;
    return count;
}

/* That a change can be read, and adds no arm that never finds anything and no gate that never
 * shuts, of which the reader warns as it does of those that were there `before`. */
static void check_change(const char *text, const struct faults *before, const char *change,
                         int number) {
    struct faults faults = {0};
    struct scenario *scenario = mended(text, change, &faults);
    uint32_t idle = count_faults(&faults, "-clearer` never finds") +
                    count_faults(&faults, "-unloader` never finds");
    bool shuts = strstr(change, ".gate={") == NULL ||
                 count_faults(&faults, "never shuts") <= count_faults(before, "never shuts");
    ck_assert_msg(scenario != NULL && idle == 0 && shuts, "scenario %d: %s", number, change);
    scenario_free(scenario);
    faults_free(&faults);
}

START_TEST(what_is_proposed_can_be_read_and_is_of_use) {
    for (int number = 1; number <= 180; number++) {
        char *text = scatter_scenario((uint64_t)number, number % 4 == 0);
        struct faults faults = {0};
        struct scenario *scenario = read_scenario(text, strlen(text), "random", NULL, 0, &faults);
        struct budget *budget = budget_judge_as_written(scenario);
        struct budget_texts changes = {0};
        for (int rule = 0; rule < BUDGET_RULES; rule++)
            for (uint32_t i = 0; i < budget->rule[rule].finding_count; i++)
                budget_mends(budget, (enum budget_rule_kind)rule, &budget->rule[rule].finding[i],
                             &changes);
        for (uint32_t i = 0; i < changes.count; i++)
            check_change(text, &faults, changes.text[i], number);
        budget_texts_free(&changes);
        budget_free(budget);
        scenario_free(scenario);
        faults_free(&faults);
        free(text);
    }
}
END_TEST

/* What was found for a rule makes it hold for all that comes in, and no change had to be left
 * out. */
static void check_search(const char *text, const struct budget *budget, int number) {
    struct mend_search mend = {0};
    mend_search_find(&mend, budget, false);
    ck_assert_msg(mend.unread.count == 0, "scenario %d: %s", number,
                  mend.unread.count > 0 ? mend.unread.text[0] : "");
    for (int rule = 0; rule < BUDGET_RULES; rule++) {
        const struct budget_texts *set = &mend.set[rule];
        struct faults faults = {0};
        if (set->count == 0)
            continue;
        struct scenario *scenario = read_scenario(
            text, strlen(text), "mended", (const char *const *)set->text, set->count, &faults);
        struct budget *judged = budget_judge_as_written(scenario);
        ck_assert_int_eq(judged->rule[rule].verdict, BUDGET_HOLDS);
        budget_free(judged);
        scenario_free(scenario);
        faults_free(&faults);
    }
    mend_search_free(&mend);
}

START_TEST(rules_hold_with_what_was_found) {
    for (int number = 1; number <= 100; number++) {
        char *text = scatter_scenario((uint64_t)number, number % 4 == 0);
        struct faults faults = {0};
        struct scenario *scenario = read_scenario(text, strlen(text), "random", NULL, 0, &faults);
        struct budget *budget = budget_judge(scenario);
        check_search(text, budget, number);
        budget_free(budget);
        scenario_free(scenario);
        faults_free(&faults);
        free(text);
    }
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, rules_hold_with_what_was_found);
    tcase_add_test(tests, feeders_are_slowed_to_an_equal_share);
    tcase_add_test(tests, what_is_proposed_can_be_read_and_is_of_use);
    tcase_add_test(tests, a_gate_reads_the_station_that_takes_the_item);
}

int main(void) { return suite_main("mends", add_tests); }
