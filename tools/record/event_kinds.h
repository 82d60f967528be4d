/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/event_kinds.h - all that is particular to a kind of event, a row each: its name,
 * what it is watched on, how severe it is. Tables, summaries and `cause` ask here, so that a new
 * kind needs a row and nothing else in tools. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/listener.h"
#include "model/scenario/scenario.h"

/* The parts of a scenario of which each is watched for a kind of event by itself. */
enum event_subjects {
    SUBJECTS_NONE,              /* not watched: an incident or breakdown */
    SUBJECTS_STATIONS,          /* in declared order */
    SUBJECTS_STATIONS_AND_ARMS, /* stations, then arms */
    SUBJECTS_LANES,
    SUBJECTS_LOOPS,
    SUBJECTS_WORKSHOP /* one: the whole of it */
};

struct event_kind_row {
    enum event_kind kind;
    const char *name; /* as in events.csv */
    enum event_subjects subjects;
    int severity;      /* 0: no trouble; of two troubles the one with more comes first */
    bool is_pictured;  /* `replay --show` draws the workshop when it begins */
    bool is_explained; /* `cause` explains it: with the words before and after the subject's name */
    const char *before_name, *after_name; /* "" where it is not explained */
    bool names_since;                     /* the time since when it lasts follows the words */
};

/* The row of a kind. */
const struct event_kind_row *event_kind_row(enum event_kind kind);
const char *event_kind_name(enum event_kind kind);
/* True for what watchers watch; false for incidents and breakdowns. */
bool event_kind_is_watched(enum event_kind kind);

/* How many subjects are watched for a kind. */
uint32_t event_kind_subject_count(const struct scenario *scenario, enum event_kind kind);
/* The name of one of them, `index` below that; of the workshop "all loops". Not to be freed. */
const char *event_kind_subject_name(const struct scenario *scenario, enum event_kind kind,
                                    uint32_t index);

/* All subjects of all kinds numbered in one row, in the order in which rows of one start tick stand
 * in events.csv: those of kind k are first[k] .. first[k + 1] - 1. Borrows the scenario. */
struct event_slots {
    const struct scenario *scenario;
    uint32_t first[EVENT_KINDS + 1];
};
void event_slots_init(struct event_slots *slots, const struct scenario *scenario);
/* How many there are. */
uint32_t event_slots_count(const struct event_slots *slots);
/* The number of what a watcher's event is about. */
uint32_t event_slots_of(const struct event_slots *slots, const struct event *event);
