/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/plan.c - adds parts to a plan, and words to their reasons. */
#include "model/design/plan.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

/* ---- reasons ---- */

void plan_say(char why[PLAN_WHY_BYTES], const char *format, ...) {
    va_list values;
    va_start(values, format);
    vsnprintf(why, PLAN_WHY_BYTES, format, values);
    va_end(values);
}

static void append(char why[PLAN_WHY_BYTES], const char *format, va_list values) {
    size_t used = strlen(why);
    vsnprintf(why + used, PLAN_WHY_BYTES - used, format, values);
}

void plan_say_more(char why[PLAN_WHY_BYTES], const char *format, ...) {
    va_list values;
    va_start(values, format);
    append(why, format, values);
    va_end(values);
}

void plan_say_also(char why[PLAN_WHY_BYTES], const char *format, ...) {
    va_list values;
    if (why[0] != '\0')
        plan_say_more(why, "; ");
    va_start(values, format);
    append(why, format, values);
    va_end(values);
}

void plan_say_factor(char why[PLAN_WHY_BYTES], double factor) {
    if (factor > 1 + DESIGN_HAIR)
        plan_say_also(why, "raised in trials, to %.3g times that", factor);
    else if (factor < 1 - DESIGN_HAIR)
        plan_say_also(why, "lowered in trials, to %.3g times that", factor);
}

/* ---- parts ---- */

struct plan_arm *plan_add_arm(struct plan *plan, uint32_t kind) {
    plan->arm = require_more_memory(plan->arm, plan->arm_count + 1, sizeof *plan->arm);
    struct plan_arm *arm = &plan->arm[plan->arm_count++];
    *arm = (struct plan_arm){.kind = kind};
    return arm;
}

void plan_arm_takes(struct plan_arm *arm, uint32_t item) {
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (arm->item[i] == item)
            return;
    arm->item = require_more_memory(arm->item, arm->item_count + 1, sizeof *arm->item);
    arm->item[arm->item_count++] = item;
}

void plan_arm_looks(struct plan_arm *arm, struct plan_leaf leaf) {
    arm->leaf = require_more_memory(arm->leaf, arm->leaf_count + 1, sizeof *arm->leaf);
    arm->leaf[arm->leaf_count++] = leaf;
}

int64_t plan_chest_limits(const struct plan_chest *chest) {
    int64_t all = 0;
    for (uint32_t i = 0; i < chest->stock_count; i++)
        all += chest->stock[i].limit;
    return all;
}

/* ---- all of it ---- */

uint32_t *plan_no_indices(uint32_t count) {
    uint32_t *list = require_memory(count, sizeof *list);
    for (uint32_t i = 0; i < count; i++)
        list[i] = NO_INDEX;
    return list;
}

double plan_idle_share(const struct plan *plan, uint32_t item) {
    double busy = 0;
    for (uint32_t s = 0; s < plan->station_count; s++) {
        const struct scenario_station *recipe = &plan->scenario->station[plan->station[s].recipe];
        for (uint32_t k = 0; k < recipe->makes_count; k++)
            if (recipe->makes[k].item == item && plan->station[s].busy > busy)
                busy = plan->station[s].busy;
    }
    return 1 - busy;
}

void plan_init(struct plan *plan, const struct scenario *scenario, const struct may *may) {
    *plan = (struct plan){.scenario = scenario,
                          .may = may,
                          .supply_chest = plan_no_indices(scenario->supply_count),
                          .demand_chest = plan_no_indices(scenario->demand_count)};
}

void plan_free(struct plan *plan) {
    for (uint32_t i = 0; i < plan->arm_count; i++) {
        free(plan->arm[i].item);
        free(plan->arm[i].leaf);
    }
    for (uint32_t i = 0; i < plan->chest_count; i++)
        free(plan->chest[i].stock);
    free(plan->station);
    free(plan->chest);
    free(plan->belt);
    free(plan->arm);
    free(plan->outlet);
    free(plan->supply_chest);
    free(plan->demand_chest);
    *plan = (struct plan){0};
}
