/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/parts.h - the parts of a world and how they refer to each other; for the files of
 * the engine, and for those that save it or ask it why something waits.
 *
 * Everything is plain data in flat arrays made once, and refers to other parts by index; only what
 * each act of an arm looks at is kept by address (struct arm_plan), to be found at once. A part is
 * up to three structs: its plan, which never changes after world_new (struct arm_plan); its state,
 * which is what a run would go on otherwise without (struct arm); and what is derived from both,
 * kept so that it need not be worked out or found again (struct arm_wait). Of arms, tracks and
 * belts, which each move touches, the three are side by side in one record, so that one address
 * finds them all; of the others each has an array of its own. Where a struct departs from that its
 * comment says so. Each part's functions are in its own file; they take the world and an index.
 *
 * Actors, in the order of one tick (docs/rules.md): incidents, breakdowns, supplies, demands,
 * stations whose batch ends, arms, stations that start a batch, then those who look. Belts need no
 * turn of their own: where they stand follows from the tick. */
#pragma once

#include "model/engine/belt_clock.h"
#include "model/engine/lane.h"
#include "model/engine/listener.h"
#include "model/engine/totals.h"
#include "sim/agenda.h"
#include "sim/random.h"

__extension__ typedef unsigned __int128 wide_count;

enum rank {
    RANK_INCIDENT,
    RANK_BREAKDOWN,
    RANK_SUPPLY,
    RANK_DEMAND,
    RANK_BATCH_END,
    RANK_ARM,
    RANK_BATCH_START,
    RANK_STATION_CHECK,
    RANK_TRACK_CHECK,
    RANK_LOOP_CHECK,
    RANK_WORLD_CHECK,
    RANKS
};

/* Of so many actors, one after another, as a rule of one rank, the rank of the first is kept. */
enum { ACTOR_GROUP = 8 };

/* Why something does not run: a bit each. */
enum { STOPPED_BY_INCIDENT = 1, STOPPED_BY_BREAKDOWN = 2 };

/* A count that actors wait for or gates read. A chest or station side also has one for all its
 * items together; that of a station's side serves only those who wait. Where a place has one item,
 * without a limit of its own in a chest, both are the same tally. State is `count` of a single
 * item, all else is derived. 32 bytes, so that to find one by its index is a shift. */
struct tally {
    int64_t count;
    /* So many more are accepted: its limit less `count` and less what is promised, which is in
     * hands on the way. Negative where `set` has lowered a capacity. */
    int64_t room;
    /* A count from quiet_from to quiet_span more concerns nobody: nobody waits, no gate flips.
     * Counts beyond 32 bits may concern somebody. */
    int32_t quiet_from;
    uint32_t quiet_span;
    uint32_t waiting_for_more; /* first waiter, see struct waiter */
    uint32_t waiting_for_room;
};

/* A quiet_from with a span of 0: no count is so low. */
enum { TALLY_NEVER_QUIET = INT32_MIN };

/* Derived: an actor in a list of those who wait for a tally. An arm between chests and stations has
 * two: for more, and for room. */
struct waiter {
    uint32_t next;
    uint32_t prev; /* of the first of a list its tally, see stock_first_waiter(); NO_INDEX: it waits
                      for nothing */
};

/* ---- gates ---- */

/* A gate or a part of one. All is fixed but `open` and what an incident may set: `threshold`, and
 * world.gate_reopen. */
struct gate {
    int64_t threshold;
    uint32_t tally, next_on_tally; /* of a leaf; NO_INDEX: it has parts, see the scenario */
    uint32_t above;                /* the gate that it is part of, or the index of its owner */
    bool is_part;
    uint8_t kind;       /* enum gate_kind */
    uint8_t owner_kind; /* enum part_kind */
    bool open;
};

/* ---- belts: a loop or a line, what all its lanes have in common. Loops first, then lines ---- */

struct belt_plan {
    uint32_t cell_count, first_track, track_count;
};

struct belt {
    struct belt_clock clock; /* its rate is fixed, `running` follows from `stops` */
    uint8_t stops;
    /* the check of emptied loops */
    bool held_something, emptied_open; /* as the last phase 6 saw it */
    int64_t empty_tick, empty_step, emptied_start;
    int64_t still_step[2]; /* steps made by the anchors of struct standstill */
};

/* Derived: the position of a belt, computed when it is needed. */
struct belt_position {
    int64_t step, next_tick; /* steps made before next_tick, when the next one comes */
    uint32_t turn;           /* step mod cell_count */
};

/* Derived: with which the position goes on by a step without a division. */
struct belt_pace {
    int64_t whole_ticks, rest; /* of a step: clock.ticks by clock.steps, and what remains */
    int64_t late;              /* next_tick is so much later than the step: belt_clock_late() */
};

struct belt_record { /* 128 bytes, so that to find one by its index is a shift */
    struct belt_plan plan;
    struct belt_position position;
    struct belt state;
};

/* ---- tracks: a lane of a loop, or a line. Lanes first, in the scenario's order, then lines ----
 */

/* A kind of item that may be on a track. All is fixed but `count`, which is derived. 16 bytes, so
 * that to find one by its index is a shift. */
struct track_kind {
    uint32_t item;
    uint32_t count;
    uint32_t first_taker; /* in world.taker, by cell; up to that of the next kind */
    uint32_t length : 24;
    bool is_read : 1; /* some gate reads it, or its track or loop: see struct kind_reads */
    bool special : 1; /* on a line, or of several cells */
};

static inline uint32_t track_kind_taker_count(const struct track_kind *kind) {
    return kind[1].first_taker - kind->first_taker;
}

/* Fixed: tallies that count a kind for gates; NO_INDEX: no gate reads it. */
struct kind_reads {
    uint32_t tally, loop_tally;
};

/* Fixed: an arm among those of a track, sorted by cell. */
struct arm_at_cell {
    uint32_t cell, arm;
};

struct track_plan {
    uint32_t belt, cell_count;
    uint32_t first_kind, kind_count;     /* in world.kind, by item */
    uint32_t length_most;                /* of its kinds */
    uint32_t crowded_cells;              /* from so many held cells on it is congested */
    uint32_t tally, loop_tally;          /* all items; NO_INDEX: no gate reads it */
    uint32_t first_feeder, feeder_count; /* in world.feeder, by cell: arms that place on it */
    uint32_t first_picker, picker_count; /* in world.picker, by cell: that pick from it */
    uint32_t first_waiting_word;         /* a bit for each feeder in world.waiting */
    bool is_line;
};

struct track {
    int64_t last_move;  /* NOT_GIVEN: none so far; last_move_step likewise */
    int64_t cells_most; /* up to the last move, without what has been held since */
    /* Held cells summed over ticks, less what those that are held now would have come to from tick
     * 0 on; mod 2^128. So a move changes it by its tick alone. */
    wide_count cell_ticks;
    int64_t last_move_step;
    bool crowded, congested_open, jam_open, deadlock_open;
    int64_t placing_since, placing_since_step; /* from when some arm has been placing onto it */
    int64_t crowded_since, crowded_step, congested_start;
    int64_t jam_from, jam_since, jam_start; /* from: the s of the rules; since: the last move */
    int64_t deadlock_since, deadlock_start;
};

/* Derived: what lies on a track, who is placing onto it, and what its check is scheduled for. */
struct track_load {
    uint32_t held_cells, item_count;
    uint32_t quiet_from, quiet_span; /* so many held cells up to quiet_span more: no check cares */
    /* arms that are placing onto it, the longest waiting first */
    uint32_t first_placing, last_placing, first_unreported;
    bool awaits_blocked, awaits_jam; /* its check is on the agenda early enough for these */
    int64_t placing_gap; /* tick in which the list ran empty; used only within that tick */
};

struct track_record { /* 256 bytes, so that to find one by its index is a shift */
    struct track_plan plan;
    struct track_load load;
    struct lane lane; /* of a lane: kinds by slot are state, the rest of it is derived */
    struct track state;
};

/* An item on a line, from the head end: where its head was at the line's last look. */
struct line_item {
    uint32_t cell, kind;
};

struct line_plan {
    uint32_t first_item; /* in world.line_item; [0] is nearest to the head end */
};

struct line {
    uint32_t item_count;
    int64_t step;        /* cells are those of this step */
    int64_t roll_until;  /* derived: the last step in which something rolls */
    int64_t rolled_tick; /* last tick in which something rolled before the last change */
};

/* ---- arms ---- */

/* Fixed: what an arm may carry, and where that is counted at its source and destination. */
struct arm_item {
    uint32_t
        source;    /* tally of a chest or station, or kind within a track; NO_INDEX: never there */
    uint32_t dest; /* likewise; NO_INDEX: only the chest's total counts, or it never comes */
    union {
        uint32_t item;        /* where the destination is a chest or station: see arm_item_at() */
        uint32_t first_taker; /* of the kind downstream, where it is a lane */
    };
};

/* Several equal items in a hand that gathers. */
struct hand_run {
    uint32_t item_slot; /* index in the arm's items */
    uint32_t count;
};

/* The hand of an arm that gathers: several runs of items. */
struct hand {
    int64_t first_pick;            /* of what it holds */
    uint32_t first_run;            /* fixed: in world.hand_run */
    uint16_t run_count, runs_done; /* runs; emptied from the front */
};

/* Fixed: of which sort an arm is, and what an act seldom looks at. Arms that are equal in it share
 * one; one that draws numbers or has a map of kinds shares it with no other. */
struct arm_shape {
    uint32_t item_count;   /* all its items */
    uint32_t likely_count; /* those that can be at its source, which stand first; others only count
                              as accepted or not */
    uint32_t kind_map;     /* in world.kind_map, item index by kind; NO_INDEX: search them */
    uint32_t swing_chance, choice_chance; /* in world.random; NO_INDEX: fixed; in turn */
    uint32_t hand;                        /* most items a swing */
    int64_t linger_ticks;
    int64_t out_ticks, back_ticks; /* of a swing; state where it is drawn: of the one at work */
    bool from_track, to_track;     /* a lane or line */
    bool from_line;
    bool one_item;      /* its source is a chest or station, and never has but one of its items */
    bool gathers;       /* its hand may hold several runs of items: hand > 1 at a track */
    bool bounded_room;  /* acceptance depends on each item, not only on the total */
    bool class_is_kind; /* no two kinds of its lane are of one class */
};

struct arm_plan {
    const bool *gate;            /* whether it is open */
    const struct arm_item *item; /* in world.arm_item */
    struct arm_shape *shape;     /* in world.arm_shape */
    uint32_t from, to;           /* tally of all (chest, station side) or track */
    union {                      /* of a lane or line, of a station; of a chest: NO_INDEX */
        uint32_t from_cell, from_station;
    };
    union {
        uint32_t to_cell, to_station;
    };
    union {
        uint32_t first_feeder; /* in world.feeder: the first feeder of its source, a lane, that a
                                  slot freed by it reaches */
        uint32_t room_waiter;  /* its second one, between chests and stations: see stock.h */
    };
    uint32_t placing; /* in world.arm_placing: of those that place onto tracks as in world.feeder;
                         NO_INDEX: it is never watched while it places */
};

struct arm {
    int64_t due;
    int64_t swings;
    int64_t since; /* from when it has been as it is (state, stopped) */
    union {
        uint32_t item_slot; /* of what it holds or, from a chest or station, took last;
                               likely_count: nothing so far */
        uint32_t hand;      /* of one that gathers, fixed: in world.hand */
    };
    uint16_t held;
    uint8_t state; /* enum arm_state, never ARM_STOPPED; returning past due is reaching */
    uint8_t stops;
};

/* Of an arm that may be watched while it places: one that places onto a track or, where an arm is
 * blocked in no time, any. */
struct arm_placing {
    int64_t since, since_step; /* while it is placing and watched */
    int64_t blocked_start;     /* of its event; NOT_GIVEN: none is open */
    int64_t ticks;             /* for which it has been placing */
    uint32_t next, prev;       /* derived: in the list of those placing onto its track */
};

static inline bool arm_placing_is_blocked(const struct arm_placing *placing) {
    return placing->blocked_start != NOT_GIVEN;
}

/* What the swings of an arm do not say: by how much its totals differ from what follows from them
 * (arm_books.h). */
struct arm_books {
    int64_t ticks[ARM_STATES - 1]; /* in each state but reaching */
    int64_t moved;
};

/* What an arm waits for: a bit each. */
enum {
    ARM_WAITS_FOR_GATE = 1,
    ARM_WAITS_FOR_MORE = 2, /* its waiters are in a list */
    ARM_WAITS_FOR_ROOM = 4,
    ARM_WAITS_FOR_PICK = ARM_WAITS_FOR_GATE | ARM_WAITS_FOR_MORE | ARM_WAITS_FOR_ROOM,
    ARM_WAITS_TO_PLACE = 8 /* it is in the list of those placing onto its track; or, at a chest or
                              station, its blocked event is open */
};

/* Which acts an arm takes (arm.h): those of any arm, or those of a plain one. */
enum { ARM_ANY, ARM_STOCK_TO_STOCK, ARM_STOCK_TO_LANE, ARM_LANE_TO_STOCK, ARM_LANE_TO_LANE };
enum { ARM_ACTS = ARM_LANE_TO_LANE + 1 };

/* Derived: what an arm waits for, and which acts it takes. */
struct arm_wait {
    int64_t look_step; /* what it waits for on its track comes to its cell with this step */
    uint8_t waits;
    uint8_t looks;   /* classes of kinds that it waits for on its track; 0: none */
    uint8_t classes; /* fixed: of all its items on its track */
    uint8_t acts;
    uint16_t observers; /* who is notified of its changes: world_observe_arm; no state */
};

struct arm_record {
    struct arm_plan plan;
    struct arm state;
    struct arm_wait wait;
};

/* ---- stations ---- */

/* One struct of what is fixed and what is state: 64 bytes, so that to find one by its index is a
 * shift. */
struct station {
    uint32_t first_input; /* fixed: tally of its first input, see stock.h */
    uint8_t stops;
    uint8_t state;   /* enum station_state, as the last phase 6 saw it */
    bool working;    /* a batch is in progress, running or held by a stop */
    bool event_open; /* the event of its state */
    union {
        int64_t end_tick;   /* of the batch, while it runs */
        int64_t rest_ticks; /* of the batch, while stopped */
    };
    int64_t since;       /* from when it has been in its state */
    int64_t event_start; /* while event_open */
    int64_t batches;
    int64_t ticks[STATION_GATED]; /* working, starved, blocked up to `since`; see station_ticks() */
};

/* ---- supplies and demands ---- */

/* Why it is stopped stands apart: world.supply_stops, world.demand_stops. */
struct stream {
    int64_t due;  /* next event; AGENDA_NEVER: none any more */
    int64_t open; /* supply: to be put in of the delivery at work; demand: owed */
};

/* What has been asked for by a demand, taken, and given up; of an outlet, taken alone. */
struct demand_orders {
    int64_t demanded, met, lost;
};

/* ---- what becomes of items: see item_books.h ---- */

struct item_flow {
    int64_t made, consumed, supplied;
};

struct item_strays {
    int64_t dropped, cleared;
};

/* ---- incidents and breakdowns ---- */

struct incident {
    int64_t due;
};

struct breakdown_plan {
    struct part actor;
    uint32_t after_chance, repair_chance;
};

struct breakdown {
    bool broken;
    int64_t due;
};

/* ---- the workshop ---- */

enum standstill_kind { STANDSTILL_REST, STANDSTILL_DEADLOCK };
enum { STANDSTILLS = STANDSTILL_DEADLOCK + 1 };

/* A standstill of the workshop, watched for rest and deadlock. */
struct standstill {
    int64_t anchor[STANDSTILLS]; /* earliest begin, as changes from outside leave it */
    int64_t outside_tick;        /* last tick with an incident or breakdown */
    bool rest_open, clogged_open;
    int64_t rest_since, rest_start;
};

/* Derived, for finding a standstill. */
struct standstill_watch {
    int64_t before[STANDSTILLS]; /* as phase 6 before an incident saw it, NOT_GIVEN: not still;
                                    used only within a tick */
    uint32_t jammed_tracks, deadlocked_tracks; /* open events */
    bool checks_moves; /* the next move ends, or may begin, a rest or deadlock */
};

/* How far a run has come. */
struct progress {
    int64_t tick;      /* last executed whole */
    int64_t last_move; /* last tick in which something moved (rules 11), lines apart; NOT_GIVEN */
    wide_count made_ticks, used_ticks; /* items that batches made and used, times when */
    int64_t moves;
};

/* In this order: what is fixed, what is state, what is derived from both, and scratch. */
struct world {
    const struct scenario *scenario;
    struct listener listener;
    struct agenda agenda; /* derived: who is due when */
    uint32_t first_actor[RANKS + 1];
    uint32_t arm_count;  /* the scenario's, at hand */
    uint8_t *group_rank; /* enum rank of the first of each ACTOR_GROUP actors */

    struct line_plan *line_plan;
    struct arm_item *arm_item;
    struct arm_shape *arm_shape;
    uint32_t *kind_map;
    struct arm_at_cell *taker, *feeder;
    uint32_t *picker;              /* arms */
    uint32_t *second_waiter;       /* arms: see stock.h */
    struct kind_reads *kind_reads; /* of each kind; NULL: no gate reads any, nor a track or loop */
    uint32_t *station_chance; /* in random, of each, first that of its time if that is drawn, then
                                 those of its outputs; NULL: no station draws numbers */
    uint32_t *supply_chance, *demand_chance; /* in random, of each; NULL: none draws numbers */
    uint32_t *incident_chance;               /* in random; NO_INDEX: none */
    struct breakdown_plan *breakdown_plan;
    uint32_t *chest_total; /* [chest_count + 1] tally of each chest: see stock.h */
    uint32_t *chest_item;  /* of each tally of a chest; NO_INDEX: it is that of all items alone */
    uint32_t *demand_by_item; /* demands by item */
    uint32_t *first_leaf;     /* [tally_count] gates that read it */
    uint32_t tally_count, track_count, belt_count, breakdown_count, chance_count, waiter_count,
        kind_count, word_count;
    uint64_t shape; /* scenario_shape() of the scenario */

    struct progress progress;
    struct belt_record *belt;
    struct belt_pace *belt_pace;
    struct track_record *track;
    struct line *line;
    struct line_item *line_item;
    struct arm_record *arm;
    struct arm_placing *arm_placing;
    struct arm_books *arm_books; /* NULL: all 0 */
    struct hand *hand;
    struct hand_run *hand_run;
    struct gate *gate;    /* partly fixed: see there */
    int64_t *gate_reopen; /* [gate_count] where latches reopen, NOT_GIVEN: none; NULL: no latches */
    int64_t *chest_limit; /* of a chest: see stock_limit(); NULL: its capacity */
    struct station *station;
    int64_t *station_stopped; /* ticks for which each has been stopped; NULL: none ever is */
    struct stream *supply, *demand;
    uint8_t *supply_stops, *demand_stops; /* 0: it runs */
    struct incident *incident;
    struct breakdown *breakdown;
    struct random_stream *random;
    struct item_flow *item;
    struct item_strays *item_strays; /* of each item; NULL: all 0 */
    struct demand_orders *demand_orders;
    struct standstill standstill;

    struct tally *tally;     /* partly state: see there */
    struct track_kind *kind; /* likewise fixed; [kind_count + 1] */
    struct waiter *waiter;
    uint64_t *waiting;
    bool *supply_waits_for_gate;
    struct standstill_watch standstill_watch;
    bool moves_concern; /* a listener, or a check of the workshop */
    bool pauses;        /* world_run ends with the tick at work, or the next one */
    uint64_t batches;   /* that ended since world_new */

    uint32_t *scratch;      /* [most items of an arm], all 0 between uses */
    uint32_t *item_scratch; /* [item_count]; nothing is kept in it */
    bool *item_marks;       /* [item_count], all false between uses */
};

/* The tick at work. */
static inline int64_t world_now(const struct world *world) { return world->agenda.now; }

/* Of an arm that has one. */
static inline struct arm_placing *arm_placing_of(const struct world *world, uint32_t arm) {
    return &world->arm_placing[world->arm[arm].plan.placing];
}

/* Whether the event of its being blocked is open. */
static inline bool arm_is_blocked(const struct world *world, uint32_t arm) {
    return world->arm[arm].plan.placing != NO_INDEX &&
           arm_placing_is_blocked(arm_placing_of(world, arm));
}

/* The state in phase 6 of `tick`, the tick at work or the last one. */
static inline enum arm_state arm_state_of(const struct arm *arm, int64_t tick) {
    if (arm->stops != 0)
        return ARM_STOPPED;
    if (arm->state == ARM_RETURNING && arm->due <= tick)
        return ARM_REACHING;
    return (enum arm_state)arm->state;
}

/* Of an arm that gathers. */
static inline struct hand *arm_hand(const struct world *world, const struct arm_record *arm) {
    return &world->hand[arm->state.hand];
}

/* The item at an index in the items of an arm. */
static inline uint32_t arm_item_at(const struct world *world, const struct arm_plan *arm,
                                   uint32_t item_slot) {
    const struct arm_item *item = &arm->item[item_slot];
    if (!arm->shape->to_track)
        return item->item;
    return world->kind[world->track[arm->to].plan.first_kind + item->dest].item;
}

/* The runs of equal items in a hand: from arm_first_run() up to arm_end_run(), each. */
static inline uint32_t arm_first_run(const struct world *world, const struct arm_record *arm) {
    return arm->plan.shape->gathers ? arm_hand(world, arm)->runs_done : 0;
}
static inline uint32_t arm_end_run(const struct world *world, const struct arm_record *arm) {
    return arm->plan.shape->gathers ? arm_hand(world, arm)->run_count : arm->state.held > 0;
}
static inline struct hand_run arm_run(const struct world *world, const struct arm_record *arm,
                                      uint32_t run) {
    if (arm->plan.shape->gathers)
        return world->hand_run[arm_hand(world, arm)->first_run + run];
    return (struct hand_run){.item_slot = arm->state.item_slot, .count = arm->state.held};
}

static inline uint32_t world_actor(const struct world *world, enum rank rank, uint32_t index) {
    return world->first_actor[rank] + index;
}
