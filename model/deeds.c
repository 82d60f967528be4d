/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/deeds.c - one record for each thing to which something can be done. */
#include "model/deeds.h"

#include <stdlib.h>

#include "sim/require.h"

struct stop_of_actor {
    uint32_t incident; /* that has stopped it; NO_INDEX: none */
    bool by_breakdown;
    int64_t since;
};

static struct deed *no_deeds(uint32_t count) {
    struct deed *deed = require_memory(count, sizeof *deed);
    for (uint32_t i = 0; i < count; i++)
        deed[i] = NO_DEED;
    return deed;
}

void deeds_init(struct deeds *deeds, const struct scenario *scenario) {
    const uint32_t count[ACTOR_KINDS] = {[ACTOR_ARM] = scenario->arm_count,
                                         [ACTOR_STATION] = scenario->station_count,
                                         [ACTOR_LOOP] = scenario->loop_count,
                                         [ACTOR_LINE] = scenario->line_count,
                                         [ACTOR_SUPPLY] = scenario->supply_count,
                                         [ACTOR_DEMAND] = scenario->demand_count};
    uint32_t all = 0;
    for (int kind = 0; kind < ACTOR_KINDS; kind++) {
        deeds->first[kind] = all;
        all += count[kind];
    }
    deeds->scenario = scenario;
    deeds->stop = require_memory(all, sizeof *deeds->stop);
    for (uint32_t i = 0; i < all; i++)
        deeds->stop[i].incident = NO_INDEX;
    deeds->room = no_deeds(scenario->chest_count);
    deeds->gate = no_deeds(scenario->gate_count);
}

void deeds_free(struct deeds *deeds) {
    free(deeds->stop);
    free(deeds->room);
    free(deeds->gate);
    *deeds = (struct deeds){0};
}

static bool stands(const struct stop_of_actor *stop) {
    return stop->incident != NO_INDEX || stop->by_breakdown;
}

static void note_stop(struct stop_of_actor *stop, const struct event *event) {
    bool stops = event->kind == EVENT_STOP;
    if (!stands(stop))
        stop->since = event->start_tick;
    if (event->incident == NO_INDEX)
        stop->by_breakdown = stops;
    else if (!stops)
        stop->incident = NO_INDEX;
    else if (stop->incident == NO_INDEX) /* to stop what is stopped does nothing */
        stop->incident = event->incident;
}

void deeds_happened(struct deeds *deeds, const struct event *event) {
    struct deed deed = {event->start_tick, event->incident};
    if (event->kind == EVENT_STOP || event->kind == EVENT_START)
        note_stop(&deeds->stop[deeds->first[event->actor.kind] + event->actor.index], event);
    else if (event->kind == EVENT_SET && event->subject == SUBJECT_CHEST)
        deeds->room[event->chest] = deed;
    else if (event->kind == EVENT_SET)
        deeds->gate[deeds->scenario->incident[event->incident].gate] = deed;
}

struct deed deeds_stop(const struct deeds *deeds, struct actor actor) {
    const struct stop_of_actor *stop = &deeds->stop[deeds->first[actor.kind] + actor.index];
    return stands(stop) ? (struct deed){stop->since, stop->incident} : NO_DEED;
}
