/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/event_rows.h - the order of the rows of events.csv, and their numbers: by start; at
 * one start incidents and breakdowns as they happened, then the events of watchers by kind and
 * subject.
 *
 * Events are reported in the order in which an engine meets them, so those of the tick at work are
 * held back until one of a later tick comes, or until event_rows_flush. */
#pragma once

#include <stdint.h>

#include "tools/record/event_kinds.h"

/* Receives rows in their order. */
struct event_rows_sink {
    void *self;
    /* Row `number`, from 1, as it began; `slot`: event_slots_of the event, NO_INDEX for incidents
     * and breakdowns. The event lives only during the call. */
    void (*add)(void *self, uint64_t number, const struct event *event, uint32_t slot);
};

struct event_rows {
    struct event_slots slots;
    struct event_rows_sink sink;
    struct event_rows_held *held; /* of the tick at work */
    uint32_t held_count, held_capacity;
    uint64_t count; /* rows given out */
};

/* No row so far. Borrows the scenario. Freed with event_rows_free. */
void event_rows_init(struct event_rows *rows, const struct scenario *scenario,
                     struct event_rows_sink sink);
void event_rows_free(struct event_rows *rows);

/* An incident or breakdown happened, or a watcher's event began; not before one that was added
 * earlier. */
void event_rows_add(struct event_rows *rows, const struct event *event);
/* The same of one that has lasted since an earlier tick: these are added before all others, in any
 * order. */
void event_rows_add_open(struct event_rows *rows, const struct event *event);
/* Gives out what is held back: no further event of that tick begins. */
void event_rows_flush(struct event_rows *rows);
