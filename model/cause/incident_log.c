/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/incident_log.c - one record for each element of the scenario that incidents and
 * breakdowns can change. */
#include "model/cause/incident_log.h"

#include <stdlib.h>

#include "sim/require.h"

struct stop_of_actor {
    uint32_t incident; /* that has stopped it; NO_INDEX: none */
    bool by_breakdown;
    int64_t since;
};

static struct lasting_effect *no_deeds(uint32_t count) {
    struct lasting_effect *deed = require_memory(count, sizeof *deed);
    for (uint32_t i = 0; i < count; i++)
        deed[i] = NO_EFFECT;
    return deed;
}

void incident_log_init(struct incident_log *deeds, const struct scenario *scenario) {
    const uint32_t count[PART_KINDS_THAT_ACT] = {
        [PART_ARM] = scenario->arm_count,       [PART_STATION] = scenario->station_count,
        [PART_LOOP] = scenario->loop_count,     [PART_LINE] = scenario->line_count,
        [PART_SUPPLY] = scenario->supply_count, [PART_DEMAND] = scenario->demand_count};
    uint32_t all = 0;
    for (int kind = 0; kind < PART_KINDS_THAT_ACT; kind++) {
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

void incident_log_free(struct incident_log *deeds) {
    free(deeds->stop);
    free(deeds->room);
    free(deeds->gate);
    *deeds = (struct incident_log){0};
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

void incident_log_happened(struct incident_log *deeds, const struct event *event) {
    struct lasting_effect deed = {event->start_tick, event->incident};
    if (event->kind == EVENT_STOP || event->kind == EVENT_START)
        note_stop(&deeds->stop[deeds->first[event->actor.kind] + event->actor.index], event);
    else if (event->kind == EVENT_SET && event->subject == SUBJECT_CHEST)
        deeds->room[event->chest] = deed;
    else if (event->kind == EVENT_SET)
        deeds->gate[deeds->scenario->incident[event->incident].gate] = deed;
}

struct lasting_effect incident_log_stop(const struct incident_log *deeds, struct part actor) {
    const struct stop_of_actor *stop = &deeds->stop[deeds->first[actor.kind] + actor.index];
    return stands(stop) ? (struct lasting_effect){stop->since, stop->incident} : NO_EFFECT;
}
