/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/asking.c - a demand that is started again asks from then on. */
#include "tools/soak/asking.h"

#include <stdlib.h>

#include "sim/require.h"

void asking_init(struct asking *asking, const struct scenario *scenario) {
    *asking = (struct asking){.scenario = scenario};
    asking->since = require_memory(scenario->demand_count, sizeof *asking->since);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        asking->since[i] = scenario->demand[i].from_tick;
}

void asking_free(struct asking *asking) {
    free(asking->since);
    *asking = (struct asking){0};
}

void asking_heard(struct asking *asking, const struct event *event) {
    bool stops = event->kind == EVENT_STOP;
    if ((!stops && event->kind != EVENT_START) || event->actor.kind != PART_DEMAND)
        return;
    int64_t *since = &asking->since[event->actor.index];
    int64_t from = asking->scenario->demand[event->actor.index].from_tick;
    if (stops)
        *since = NOT_GIVEN;
    else if (*since == NOT_GIVEN)
        *since = event->start_tick > from ? event->start_tick : from;
}

int64_t asking_since(const struct asking *asking, uint32_t item, int64_t tick) {
    int64_t earliest = NOT_GIVEN;
    for (uint32_t i = 0; i < asking->scenario->demand_count; i++) {
        const struct scenario_stream *demand = &asking->scenario->demand[i];
        int64_t since = asking->since[i];
        bool asks = !demand->outlet && demand->item == item && since != NOT_GIVEN &&
                    since <= tick && demand->until_tick >= tick;
        if (asks && (earliest == NOT_GIVEN || since < earliest))
            earliest = since;
    }
    return earliest;
}
