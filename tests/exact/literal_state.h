/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_state.h - what the literal engine keeps, shared by its own files alone.
 * NOT_YET stands for a tick that has not come or that is not set. */
#pragma once

#include "tests/exact/literal.h"

#define NOT_YET INT64_C(-1)

/* A cell of a track holds a part of one item, or nothing (item NO_INDEX). */
struct literal_cell {
    uint32_t item;
    bool head;
};

/* A lane or a line. Lanes come first in literal.track, then lines. */
struct literal_track {
    struct literal_cell *cell; /* [cell_count]; cell 0 of the floor is cell[0], always */
    uint32_t cell_count;
    bool ring;      /* a lane of a loop, not a line */
    int64_t *count; /* [item_count] heads on it */
    int64_t held_cells;
    int64_t last_move_tick; /* last put, take, drop or clear */
    double cell_ticks;
    int64_t cells_most;
};

/* What makes the steps of a loop or a line. Loops come first in literal.belt, then lines. */
struct literal_belt {
    __extension__ unsigned __int128
        travelled; /* since its last step, in 1/(tps * denominator) cells */
    struct ratio rate;
    int64_t steps; /* made so far */
};

struct literal_chest {
    int64_t capacity;
    int64_t *count; /* [item_count] */
};

struct literal_station {
    int64_t *input, *output; /* stock, by index in takes and makes */
    bool working;
    int64_t end_tick;   /* when working and not stopped */
    int64_t left_ticks; /* when working and stopped */
    struct random_stream time;
    struct random_stream *output_chance; /* one a line of makes */
    struct station_totals totals;
    enum station_state seen; /* in phase 6 of the last tick */
};

struct literal_arm {
    enum arm_state state; /* as if it were not stopped */
    int64_t due_tick;     /* carrying, returning */
    uint32_t *hand;       /* [scenario hand] items in the order in which they were picked */
    uint32_t held;
    int64_t first_tick; /* first pick of this hand */
    int64_t back_ticks, out_ticks;
    uint32_t next_kind; /* in_turn: index in its items from which the next pick tries */
    int64_t last_put_tick;
    struct random_stream swing, choice;
    struct arm_totals totals;
    enum arm_state seen; /* in phase 6 of the last tick */
};

struct literal_gate {
    int64_t threshold, reopen_below;
    bool latch_open;
};

/* A supply or a demand. */
struct literal_stream {
    int64_t due_tick; /* of its next event, NOT_YET: there is none (any more) */
    int64_t waiting;  /* held by a supply, owed to a demand */
    struct random_stream interval;
};

struct literal_incident {
    int64_t due_tick; /* NOT_YET: never again */
    struct random_stream interval;
};

/* What may stop a thing: an incident, a breakdown, independent of each other. */
struct literal_halt {
    bool by_incident, broken;
    int64_t turn_tick; /* of its next breakdown or repair, NOT_YET: it never breaks */
    struct random_stream after, repair;
};

/* How long something has held in every phase 6, without a break. */
struct literal_stretch {
    int64_t from_tick;  /* NOT_YET: it does not hold */
    int64_t from_steps; /* of the belt concerned, in that phase 6 */
};

/* A watcher's event: reported when it begins, kept to be reported again when it ends. */
struct literal_spell {
    bool open;
    struct event event;
};

/* Since when nothing has moved and other conditions have held too (deadlock, rest). */
struct literal_standstill {
    int64_t from_tick;
    int64_t *from_steps; /* [belt_count] */
};

struct literal_watch {
    struct literal_stretch *starved, *blocked_station; /* [station_count] */
    struct literal_stretch *blocked_arm;               /* [arm_count] */
    struct literal_stretch *congested, *jam;           /* [lane_count] */
    struct literal_stretch *empty;                     /* [loop_count] */
    bool *held_before;                                 /* [loop_count] in the phase 6 before */
    struct literal_standstill deadlock, rest;
    struct literal_spell *starved_spell, *blocked_station_spell, *blocked_arm_spell;
    struct literal_spell *congested_spell, *jam_spell, *deadlock_spell, *emptied_spell;
    struct literal_spell *rest_spell, *clogged_spell; /* one each */
};

struct literal {
    const struct scenario *scenario;
    struct listener listener;
    int64_t tick;           /* being executed, or the last executed; NOT_YET before tick 0 */
    int64_t last_move_tick; /* of anything (section 11, "nothing moves") */
    uint64_t moves;
    uint32_t track_count, belt_count;
    struct literal_track *track;
    struct literal_belt *belt;
    struct literal_chest *chest;
    struct literal_station *station;
    struct literal_arm *arm;
    struct literal_gate *gate;
    struct literal_stream *supply, *demand;
    struct literal_incident *incident;
    struct literal_halt *halt[PART_KINDS_THAT_ACT];
    struct item_totals *item;
    struct literal_watch watch;
};

/* ---- literal_track.c: section 2 and 8 ---- */
struct literal_track *literal_track_at(const struct literal *literal, struct place place);
/* Steps all loops, then all lines, that are due in this tick (phase 1). */
void literal_track_phase(struct literal *literal);
bool literal_track_fits(const struct literal *literal, const struct literal_track *track,
                        uint32_t cell, uint32_t item);
void literal_track_put(struct literal *literal, struct literal_track *track, uint32_t cell,
                       uint32_t item);
/* Takes away the item whose head stands at `cell`. */
void literal_track_take(struct literal *literal, struct literal_track *track, uint32_t cell);

/* ---- literal_store.c: sections 3, 5, 6: what chests and stations hold, accept; gates ---- */
/* Chests, stations (inputs), lanes and lines: do they accept one more, what hands hold included? */
bool literal_store_accepts(const struct literal *literal, struct place place, uint32_t item);
/* In a chest, or a station's output stock. */
int64_t literal_store_count(const struct literal *literal, struct place place, uint32_t item);
/* Into a chest or a station's input stock. */
void literal_store_put(struct literal *literal, struct place place, uint32_t item, int64_t count);
/* Out of a chest or a station's output stock. */
void literal_store_take(struct literal *literal, struct place place, uint32_t item, int64_t count);
int64_t literal_store_chest_total(const struct literal *literal, uint32_t chest);
bool literal_store_gate_open(const struct literal *literal, uint32_t gate);
/* Brings latches up to date: called after each change of any count or threshold. */
void literal_store_latch(struct literal *literal);

/* ---- literal_arm.c: section 4 ---- */
void literal_arm_act(struct literal *literal, uint32_t arm);

/* ---- literal_station.c: section 5 ---- */
void literal_station_end_batch(struct literal *literal, uint32_t station);
void literal_station_start_batch(struct literal *literal, uint32_t station);
bool literal_station_short(const struct literal *literal, uint32_t station, uint32_t input);
bool literal_station_full(const struct literal *literal, uint32_t station, uint32_t output);

/* ---- literal_stream.c: section 7 ---- */
void literal_stream_start(struct literal *literal);
void literal_stream_deliver(struct literal *literal, uint32_t supply);
void literal_stream_demand(struct literal *literal, uint32_t demand);

/* ---- literal_incident.c: section 9 ---- */
void literal_incident_start(struct literal *literal);
void literal_incident_phase(struct literal *literal);
bool literal_incident_stopped(const struct literal *literal, enum part_kind kind, uint32_t index);

/* ---- literal_watch.c: section 11 ---- */
void literal_watch_start(struct literal *literal);
void literal_watch_free(struct literal *literal);
void literal_watch_phase(struct literal *literal);
void literal_watch_report_open(struct literal *literal);
