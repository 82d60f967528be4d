/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/listener.h - what a world reports to a listener, as it happens: moves, and events
 * that happen, begin and end.
 *
 * A listener is called from inside a tick and must not touch the world. Structs passed to it live
 * only during the call. Both engines, the fast one and the literal one of the tests, report the
 * same. */
#pragma once

#include "model/scenario/scenario.h"

enum move_act { MOVE_PICK, MOVE_PLACE };

/* One row of moves.csv: a pick, with the count taken at once, or a place. A pick from or a place on
 * a loop or line is one item. A hand of several kinds put into a chest or station is a move for
 * each kind, in the order in which the kinds were first picked. */
struct move {
    int64_t tick;
    uint32_t arm;
    enum move_act act;
    uint32_t item;
    int64_t count;
    struct place place;
};

/* In the order in which rows of one start tick stand in events.csv; incidents and breakdowns come
 * first, among themselves in the order in which they happened. */
enum event_kind {
    EVENT_DROP,
    EVENT_CLEAR,
    EVENT_STOP,
    EVENT_START,
    EVENT_SET,
    EVENT_STARVED,
    EVENT_BLOCKED,
    EVENT_CONGESTED,
    EVENT_JAM,
    EVENT_DEADLOCK,
    EVENT_REST,
    EVENT_CLOGGED,
    EVENT_EMPTIED
};
enum { EVENT_KINDS = EVENT_EMPTIED + 1 };

enum subject_kind {
    SUBJECT_NONE,  /* rest, clogged: the whole workshop */
    SUBJECT_ACTOR, /* stop, start: anything; starved: station; blocked: station or arm; emptied:
                      loop */
    SUBJECT_TRACK, /* drop, clear: lane or line; congested, jam, deadlock: lane */
    SUBJECT_CHEST, /* set of a capacity */
    SUBJECT_GATE   /* set of a threshold: `actor` owns the gate */
};

struct event {
    enum event_kind kind;
    int64_t start_tick; /* first tick in which the condition, duration included, is met */
    int64_t end_tick;   /* in `ended`: first tick in which it is not met; incidents: start_tick */
    int64_t since_tick; /* watchers: from when what it watches has lasted; else NOT_GIVEN */
    enum subject_kind subject;
    struct part actor;    /* SUBJECT_ACTOR, SUBJECT_GATE */
    struct place track;   /* SUBJECT_TRACK; blocked arm: where it would place */
    uint32_t chest;       /* SUBJECT_CHEST */
    uint32_t incident;    /* index in scenario.incident of what caused it, NO_INDEX: a breakdown or
                             watcher */
    const uint32_t *item; /* items that it names, in the scenario's order (station inputs: in the
                             order of takes), each once; starved: every short input; blocked arm: in
                             the hand; blocked station: outputs without room; clogged: on loops;
                             drop: the item; clear: the kinds that were taken off */
    uint32_t item_count;
    /* In `ended` the items are not repeated: item_count is 0. */
    int64_t count;       /* drop, clear: how many appeared or went; else NOT_GIVEN */
    int64_t short_count; /* drop: how many did not fit; else 0 */
    int64_t value;       /* set: the new value */
};

struct listener {
    void *self;                                         /* given back in each call */
    void (*moved)(void *self, const struct move *move); /* may be NULL */
    void (*happened)(void *self,
                     const struct event *event); /* an incident or breakdown; may be NULL */
    void (*began)(void *self,
                  const struct event *event); /* a watcher's condition is met; may be NULL */
    void (*ended)(void *self,
                  const struct event *event); /* as `began`, with end_tick; may be NULL */
    /* An arm that is observed (world_observe_arm) has entered another state, picked, was stopped or
     * started, or a part of its gate opened or shut. Of the fast engine only; may be NULL. */
    void (*arm_changed)(void *self, uint32_t arm);
};
