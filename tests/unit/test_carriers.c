/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_carriers.c - which arms may carry an item into a place: in the order in which
 * they are declared, whether their items are written out or not; against a list made by hand. */
#include <check.h>
#include <string.h>

#include "model/reader/read.h"
#include "tests/common/suite.h"
#include "tools/record/carriers.h"

/* An arm without items carries whatever fits its destination. */
static const char workshop[] =
    "run: {for: 1 h}\n"
    "items: {spring: {}, lid: {length: 2}}\n"
    "loops: [{name: ring, cells: 30, rate: 5}]\n"
    "chests: [{name: bin, start: {spring: 9, lid: 9}}, {name: box}]\n"
    "arms:\n"
    "  - {name: any, from: bin, to: ring@1, swing: 1 s}\n"
    "  - {name: lids, from: bin, to: ring@3, items: [lid], swing: 1 s}\n"
    "  - {name: springs, from: bin, to: ring@5, items: [spring], swing: 1 s}\n"
    "  - {name: other, from: bin, to: ring@7, swing: 1 s}\n"
    "  - {name: both, from: bin, to: ring@9, items: [lid, spring], swing: 1 s}\n"
    "  - {name: taker, from: ring@20, to: box, items: [lid], swing: 1 s}\n";
enum { SPRING, LID };
enum { BIN, BOX, RING };

static void check_walk(const struct carriers *carriers, uint32_t place, uint32_t item,
                       const uint32_t *expected) {
    struct carriers_walk walk = carriers_walk(carriers, place, item);
    do
        ck_assert_uint_eq(carriers_next(&walk), *expected);
    while (*expected++ != NO_INDEX);
}

START_TEST(carriers_come_in_declared_order) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(workshop, strlen(workshop), "workshop", NULL, 0, &faults);
    ck_assert_ptr_nonnull(scenario);
    struct carriers carriers = carriers_of(scenario);
    check_walk(&carriers, RING, SPRING, (const uint32_t[]){0, 2, 3, 4, NO_INDEX});
    check_walk(&carriers, RING, LID, (const uint32_t[]){0, 1, 3, 4, NO_INDEX});
    check_walk(&carriers, BOX, LID, (const uint32_t[]){5, NO_INDEX});
    check_walk(&carriers, BOX, SPRING, (const uint32_t[]){NO_INDEX});
    check_walk(&carriers, BIN, LID, (const uint32_t[]){NO_INDEX});
    carriers_free(&carriers);
    scenario_free(scenario);
    faults_free(&faults);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("carriers");
    TCase *tests = tcase_create("carriers");
    tcase_add_test(tests, carriers_come_in_declared_order);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
