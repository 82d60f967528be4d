/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/subject.c */
#include "tools/record/subject.h"

uint32_t subject_count(const struct scenario *scenario, enum event_kind kind) {
    switch (kind) {
    case EVENT_STARVED: return scenario->station_count;
    case EVENT_BLOCKED: return scenario->station_count + scenario->arm_count;
    case EVENT_CONGESTED:
    case EVENT_JAM:
    case EVENT_DEADLOCK: return scenario->lane_count;
    case EVENT_REST:
    case EVENT_CLOGGED: return 1;
    case EVENT_EMPTIED: return scenario->loop_count;
    default: return 0;
    }
}

uint32_t subject_index(const struct scenario *scenario, const struct event *event) {
    switch (event->kind) {
    case EVENT_BLOCKED:
        return event->actor.index + (event->actor.kind == PART_ARM ? scenario->station_count : 0);
    case EVENT_STARVED:
    case EVENT_EMPTIED: return event->actor.index;
    case EVENT_CONGESTED:
    case EVENT_JAM:
    case EVENT_DEADLOCK: return event->track.index;
    default: return 0;
    }
}
