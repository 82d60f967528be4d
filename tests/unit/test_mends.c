/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_mends.c - what is proposed to mend a broken rule, on workshops whose numbers are
 * worked out by hand; that the rule then holds is tried before it is shown. */
#include <check.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/budget/budget_mends.h"
#include "model/reader/read.h"
#include "tests/common/suite.h"

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

static void add_tests(TCase *tests) {
    tcase_add_test(tests, feeders_are_slowed_to_an_equal_share);
    tcase_add_test(tests, a_gate_reads_the_station_that_takes_the_item);
}

int main(void) { return suite_main("mends", add_tests); }
