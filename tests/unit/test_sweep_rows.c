/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_sweep_rows.c - which combination of a sweep is the best, from results put in by
 * hand. */
#include <check.h>

#include "tests/common/suite.h"
#include "tools/sweep/sweep_rows.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

/* Measures of a workshop with one product and one lane. */
struct outcome {
    bool jammed, stuck;
    double met, per_minute, share_mean, share_most;
};

enum { BOTH = 2 };

/* Each pair differs in what comes before all that speaks for the other: the first is the better. */
static const struct outcome pair_table[][BOTH] = {
    {{true, false, 0.5, 1, 0.9, 1}, {false, true, 1, 9, 0.1, 0.2}},   /* fewer end stuck */
    {{false, false, 0.5, 1, 0.9, 1}, {true, false, 1, 9, 0.1, 0.2}},  /* fewer jams */
    {{false, false, 0.9, 1, 0.9, 1}, {false, false, 0.8, 9, 0.1, 1}}, /* more is met */
    {{false, false, 0.9, 2, 0.9, 1}, {false, false, 0.9, 1, 0.1, 1}}, /* more is made */
    {{false, false, 0.9, 2, 0.1, 1}, {false, false, 0.9, 2, 0.2, 1}}, /* emptier lanes */
    {{false, false, 0.9, 2, 0.1, 1}, {false, false, 0.9, 2, 0.1, 1}}, /* alike: the first */
};

/* Of a sweep with these two outcomes in the given order. */
static uint32_t best_of(const struct outcome *one, const struct outcome *other) {
    const struct outcome *const in_order[BOTH] = {one, other};
    double value[BOTH][4];
    struct sweep_result result[BOTH];
    for (int i = 0; i < BOTH; i++) {
        const struct outcome *outcome = in_order[i];
        double measured[] = {outcome->met, outcome->per_minute, outcome->share_mean,
                             outcome->share_most};
        for (int k = 0; k < 4; k++)
            value[i][k] = measured[k];
        result[i] = (struct sweep_result){true, outcome->jammed, outcome->stuck, value[i]};
    }
    uint32_t product = 0;
    const struct sweep_measures measures = {&product, 1, 1, 4};
    const struct sweep_axes axes = {.combinations = BOTH};
    const struct sweep_rows rows = {
        .axes = &axes, .measures = &measures, .result = result, .runs = 1};
    return sweep_rows_best(&rows);
}

START_TEST(best_is_found_wherever_it_stands) {
    const struct outcome *better = &pair_table[_i][0], *worse = &pair_table[_i][1];
    ck_assert_uint_eq(best_of(better, worse), 0);
    bool alike = _i == (int)LENGTH(pair_table) - 1;
    ck_assert_uint_eq(best_of(worse, better), alike ? 0 : 1);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("sweep_rows");
    TCase *tests = tcase_create("best");
    tcase_add_loop_test(tests, best_is_found_wherever_it_stands, 0, LENGTH(pair_table));
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
