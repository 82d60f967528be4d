/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/item_roles.c - what can be had at all, and what leads back to itself. */
#include "model/design/item_roles.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

/* Items that can be had, those in `had` to begin with, by the recipes that are used. */
static void spread_had(const struct lanes *lanes, bool *had) {
    const struct scenario *scenario = lanes->need->scenario;
    for (bool more = true; more;) {
        more = false;
        for (uint32_t s = 0; s < scenario->station_count; s++) {
            const struct scenario_station *station = &scenario->station[s];
            bool can = lanes->need->batches[s] > 0;
            for (uint32_t k = 0; k < station->takes.count; k++)
                can = can && had[station->takes.entry[k].item];
            for (uint32_t k = 0; can && k < station->makes_count; k++) {
                more = more || !had[station->makes[k].item];
                had[station->makes[k].item] = true;
            }
        }
    }
}

/* What is made of an item, and of what else can be had, leads back to it. */
static bool goes_round(const struct lanes *lanes, const bool *had, uint32_t item) {
    const struct scenario *scenario = lanes->need->scenario;
    bool *with = require_memory(scenario->item_count, sizeof *with);
    bool back = false;
    memcpy(with, had, scenario->item_count * sizeof *with);
    with[item] = true;
    spread_had(lanes, with);
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        bool can = lanes->need->batches[s] > 0 && design_need_makes(scenario, s, item) > 0;
        for (uint32_t k = 0; k < scenario->station[s].takes.count; k++)
            can = can && with[scenario->station[s].takes.entry[k].item];
        back = back || can;
    }
    free(with);
    return back;
}

void item_roles_mark_carriers(struct lanes *lanes) {
    const struct scenario *scenario = lanes->need->scenario;
    bool *had = require_memory(scenario->item_count, sizeof *had);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        had[i] = lanes->need->supplied[i] > 0;
    spread_had(lanes, had);
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        if (had[i] || lanes->need->used[i] == 0 || !goes_round(lanes, had, i))
            continue;
        lanes->carrier[i] = had[i] = true;
        spread_had(lanes, had);
    }
    free(had);
}

void item_roles_mark_direct(struct lanes *lanes) {
    const struct scenario *scenario = lanes->need->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        uint32_t makers = 0, users = 0, stations = 0;
        for (uint32_t s = 0; s < scenario->station_count; s++) {
            if (lanes->need->batches[s] == 0)
                continue;
            makers += design_need_makes(scenario, s, i) > 0;
            bool uses = design_need_takes(scenario, s, i) > 0;
            users += uses;
            stations += uses ? lanes->need->copies[s] : 0;
        }
        lanes->direct[i] = !lanes->carrier[i] && makers == 1 && users == 1 && stations == 1 &&
                           lanes->need->bought[i] == 0 && lanes->need->demanded[i] == 0 &&
                           design_need_surplus(lanes->need, i) == 0;
        lanes->shelved[i] =
            lanes->need->made[i] > 0 && (lanes->carrier[i] || lanes->need->demanded[i] > 0 ||
                                         design_need_surplus(lanes->need, i) > 0);
    }
}
