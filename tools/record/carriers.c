/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/carriers.c - arms whose items are written out are listed for each of them; those
 * that carry whatever fits, and may have long lists, for their place. */
#include "tools/record/carriers.h"

#include <stdlib.h>

#include "sim/require.h"

/* Counts the arms of each pair of place and item in its value; returns how many in all. */
static size_t count_arms(struct carriers *carriers) {
    const struct scenario *scenario = carriers->scenario;
    size_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        uint32_t place = layout_target(scenario, arm->to);
        for (uint32_t k = 0; !arm->takes_what_fits && k < arm->item_count; k++, count++)
            if (!pairs_add(&carriers->put, place, arm->item[k], 1))
                carriers->put.value[pairs_find(&carriers->put, place, arm->item[k])]++;
    }
    return count;
}

/* Makes of counts where the arms of each pair begin. */
static void find_begins(struct pairs *put) {
    uint32_t begin = 0;
    for (uint32_t i = 0; i < put->count; i++) {
        uint32_t count = put->value[i];
        put->value[i] = begin;
        begin += count;
    }
}

/* Each moves the value of its pair on, so that it says in the end where its arms end. */
static void list_arms(struct carriers *carriers) {
    const struct scenario *scenario = carriers->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        uint32_t place = layout_target(scenario, arm->to);
        for (uint32_t k = 0; !arm->takes_what_fits && k < arm->item_count; k++)
            carriers->arm[carriers->put.value[pairs_find(&carriers->put, place, arm->item[k])]++] =
                i;
    }
}

struct carriers carriers_of(const struct scenario *scenario) {
    struct carriers carriers = {.scenario = scenario, .fitting = layout_arms_by_target(scenario)};
    layout_arms_keep_fitting(&carriers.fitting, scenario);
    size_t count = count_arms(&carriers);
    carriers.arm = require_memory(count, sizeof *carriers.arm);
    find_begins(&carriers.put);
    list_arms(&carriers);
    return carriers;
}

void carriers_free(struct carriers *carriers) {
    pairs_free(&carriers->put);
    free(carriers->arm);
    layout_arms_free(&carriers->fitting);
    *carriers = (struct carriers){0};
}

struct carriers_walk carriers_walk(const struct carriers *carriers, uint32_t place, uint32_t item) {
    const struct pairs *put = &carriers->put;
    const uint32_t *fitting = carriers->fitting.arm, *first = carriers->fitting.first;
    struct carriers_walk walk = {.carriers = carriers,
                                 .fitting = fitting + first[place],
                                 .fitting_end = fitting + first[place + 1],
                                 .item = item};
    uint32_t pair = pairs_find(put, place, item);
    if (pair == NO_INDEX)
        return walk;
    walk.arm = carriers->arm + (pair > 0 ? put->value[pair - 1] : 0);
    walk.end = carriers->arm + put->value[pair];
    return walk;
}

uint32_t carriers_next(struct carriers_walk *walk) {
    const struct scenario_arm *arm = walk->carriers->scenario->arm;
    while (walk->fitting < walk->fitting_end && !layout_may_carry(&arm[*walk->fitting], walk->item))
        walk->fitting++;
    bool named = walk->arm < walk->end, fits = walk->fitting < walk->fitting_end;
    if (named && (!fits || *walk->arm < *walk->fitting))
        return *walk->arm++;
    return fits ? *walk->fitting++ : NO_INDEX;
}
