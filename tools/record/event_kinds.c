/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/event_kinds.c - the table of kinds, and how their subjects are counted. */
#include "tools/record/event_kinds.h"

#include "sim/require.h"

/* kind, name, subjects, severity, pictured, explained, words of `cause`, names since */
static const struct event_kind_row row[] = {
    {EVENT_DROP, "drop", SUBJECTS_NONE, 0, false, false, "", "", false},
    {EVENT_CLEAR, "clear", SUBJECTS_NONE, 0, false, false, "", "", false},
    {EVENT_STOP, "stop", SUBJECTS_NONE, 0, false, false, "", "", false},
    {EVENT_START, "start", SUBJECTS_NONE, 0, false, false, "", "", false},
    {EVENT_SET, "set", SUBJECTS_NONE, 0, false, false, "", "", false},
    {EVENT_STARVED, "starved", SUBJECTS_STATIONS, 2, false, true, "", " is starved", true},
    {EVENT_BLOCKED, "blocked", SUBJECTS_STATIONS_AND_ARMS, 1, true, false, "", "", false},
    {EVENT_CONGESTED, "congested", SUBJECTS_LANES, 3, true, false, "", "", false},
    {EVENT_JAM, "jam", SUBJECTS_LANES, 5, true, true, "jam on ", ": nothing moves on it", true},
    {EVENT_DEADLOCK, "deadlock", SUBJECTS_LANES, 6, true, true, "deadlock on ",
     ": only help from outside can end it", false},
    {EVENT_REST, "rest", SUBJECTS_WORKSHOP, 0, false, false, "", "", false},
    {EVENT_CLOGGED, "clogged", SUBJECTS_WORKSHOP, 4, false, true,
     "clogged: nothing moves, and items have lain on ", "", true},
    {EVENT_EMPTIED, "emptied", SUBJECTS_LOOPS, 0, false, false, "", "", false},
};
_Static_assert(sizeof row / sizeof *row == EVENT_KINDS, "each kind has a row, in its place");

const struct event_kind_row *event_kind_row(enum event_kind kind) {
    require((unsigned)kind < EVENT_KINDS && row[kind].kind == kind);
    return &row[kind];
}

const char *event_kind_name(enum event_kind kind) { return event_kind_row(kind)->name; }

bool event_kind_is_watched(enum event_kind kind) {
    return event_kind_row(kind)->subjects != SUBJECTS_NONE;
}

/* ---- subjects ---- */

uint32_t event_kind_subject_count(const struct scenario *scenario, enum event_kind kind) {
    switch (event_kind_row(kind)->subjects) {
    case SUBJECTS_NONE: return 0;
    case SUBJECTS_STATIONS: return scenario->station_count;
    case SUBJECTS_STATIONS_AND_ARMS: return scenario->station_count + scenario->arm_count;
    case SUBJECTS_LANES: return scenario->lane_count;
    case SUBJECTS_LOOPS: return scenario->loop_count;
    case SUBJECTS_WORKSHOP: return 1;
    }
    return 0;
}

static const char *station_or_arm_name(const struct scenario *scenario, uint32_t index) {
    return index < scenario->station_count ? scenario->station[index].name
                                           : scenario->arm[index - scenario->station_count].name;
}

const char *event_kind_subject_name(const struct scenario *scenario, enum event_kind kind,
                                    uint32_t index) {
    require(index < event_kind_subject_count(scenario, kind));
    switch (event_kind_row(kind)->subjects) {
    case SUBJECTS_NONE: break;
    case SUBJECTS_STATIONS:
    case SUBJECTS_STATIONS_AND_ARMS: return station_or_arm_name(scenario, index);
    case SUBJECTS_LANES: return scenario->lane[index].full_name;
    case SUBJECTS_LOOPS: return scenario->loop[index].name;
    case SUBJECTS_WORKSHOP: return "all loops";
    }
    return "";
}

static uint32_t subject_index(const struct scenario *scenario, const struct event *event) {
    switch (event_kind_row(event->kind)->subjects) {
    case SUBJECTS_NONE: break;
    case SUBJECTS_STATIONS:
    case SUBJECTS_LOOPS: return event->actor.index;
    case SUBJECTS_STATIONS_AND_ARMS:
        return event->actor.index + (event->actor.kind == PART_ARM ? scenario->station_count : 0);
    case SUBJECTS_LANES: return event->track.index;
    case SUBJECTS_WORKSHOP: return 0;
    }
    return NO_INDEX;
}

/* ---- slots ---- */

void event_slots_init(struct event_slots *slots, const struct scenario *scenario) {
    uint32_t count = 0;
    slots->scenario = scenario;
    for (int kind = 0; kind < EVENT_KINDS; kind++) {
        slots->first[kind] = count;
        count += event_kind_subject_count(scenario, (enum event_kind)kind);
    }
    slots->first[EVENT_KINDS] = count;
}

uint32_t event_slots_count(const struct event_slots *slots) { return slots->first[EVENT_KINDS]; }

uint32_t event_slots_of(const struct event_slots *slots, const struct event *event) {
    uint32_t index = subject_index(slots->scenario, event);
    require(index < event_kind_subject_count(slots->scenario, event->kind));
    return slots->first[event->kind] + index;
}
