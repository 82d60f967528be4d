/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/events.h - what happened in a run: counted always, and kept for events.csv on
 * demand.
 *
 * A watcher's event is begun at one tick and ended at another, while rows stand in the order of
 * their starts. So each is spooled to a file without a name when it begins, completed there when it
 * ends, and written as a row when all is over. Memory holds what is open and one tally for each
 * thing that can be watched, however long the run. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/listener.h"
#include "model/engine/world.h"
#include "sim/bytes.h"
#include "tools/base/directory.h"

/* The events of one kind on one subject, together. */
struct event_tally {
    uint64_t count;
    int64_t first_start_tick, last_start_tick, last_end_tick; /* NOT_GIVEN: none (yet) */
    int64_t lasted_ticks;                                     /* from start to end, summed */
    bool open; /* the last one lasts at the end of the run */
};

struct events;

/* An empty log of a run of `scenario`, which must outlive it. Never NULL. */
struct events *events_new(const struct scenario *scenario);
void events_free(struct events *events);
/* From now on events are kept for their rows, in a file without a name in `directory`, those that
 * are open already first. False: that went wrong, and was reported. */
bool events_keep(struct events *events, const struct directory *directory);

/* To be called by a listener. */
void events_happened(struct events *events, const struct event *event);
void events_began(struct events *events, const struct event *event);
void events_ended(struct events *events, const struct event *event);
/* What is ended from now on is still open: to be called before world_report_open. */
void events_last(struct events *events);
/* True from events_last on. */
bool events_are_last(const struct events *events);

/* How often events of a kind were met. */
uint64_t events_count(const struct events *events, enum event_kind kind);
/* Jams or deadlocks that the verdict counts: open at the end, or not over before the warm-up
 * was. */
uint64_t events_counted(const struct events *events, enum event_kind kind);
/* The tally of a watcher's kind for one of its subjects, as tools/record/event_kinds.h numbers
 * them. */
const struct event_tally *events_tally(const struct events *events, enum event_kind kind,
                                       uint32_t index);

/* Adds to `bytes` what was counted and what is open. Takes that back into an empty log, when
 * `world` is in the state in which it was then and nobody listens to it. False: they do not fit. */
void events_save(const struct events *events, struct bytes *bytes);
bool events_restore(struct events *events, struct world *world, struct bytes_reader *reader);

/* Checks the log against itself and against what `world` says is open, between ticks; ends the
 * program where they do not agree (record.h, 2 to 4). The world's listener is left as it was. */
void events_audit(const struct events *events, struct world *world);

/* True when an event could not be kept so far: going on is in vain. */
bool events_failed(const struct events *events);
/* Writes events.csv, after the run. False: reported. */
bool events_write(struct events *events, const struct directory *directory);
/* The same under another name. */
bool events_write_as(struct events *events, const struct directory *directory, const char *name);
