/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/parts.h - the parts of a world and how they hang together; for the files of the
 * engine only.
 *
 * Everything is plain data in flat arrays made once, and refers to other parts by index. What never
 * changes after world_new is marked "fixed"; the rest is state. Each part's verbs are in its own
 * file; a verb takes the world and an index.
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
    RANK_STATION_LOOK,
    RANK_TRACK_LOOK,
    RANK_LOOP_LOOK,
    RANK_WORLD_LOOK,
    RANKS
};

/* Why something does not run: a bit each. */
enum { STOPPED_BY_INCIDENT = 1, STOPPED_BY_BREAKDOWN = 2 };

/* A count that somebody waits for or a gate reads. A chest or station side also has one for all its
 * items together; that of a station's side serves only those who wait. */
struct tally {
    int64_t count;
    int64_t promised;          /* in hands on the way */
    int64_t limit;             /* one more is accepted while count + promised < limit */
    int64_t low, high;         /* no gate changes while low <= count <= high */
    uint32_t first_leaf;       /* fixed: gates that read it */
    uint32_t waiting_for_more; /* first waiter, see struct waiter */
    uint32_t waiting_for_room;
};

/* Somebody in a list of those who wait for a tally. An arm has two: for more, and for room. */
struct waiter {
    uint32_t next, prev;
    uint32_t tally; /* NO_INDEX: waits for nothing */
};

struct gate {
    enum gate_kind kind; /* fixed */
    bool open;
    int64_t threshold, reopen_below;            /* NOT_GIVEN: not a latch */
    uint32_t tally, next_on_tally;              /* fixed */
    uint32_t parent, first_child, next_sibling; /* fixed */
    struct part owner;                          /* fixed */
};

/* A loop or a line: what all its lanes have in common. Loops first, then lines. */
struct belt {
    struct belt_clock clock;
    int64_t step, next_tick; /* steps made before next_tick, when the next one comes */
    uint32_t turn;           /* step mod cell_count */
    uint32_t cell_count, first_track, track_count; /* fixed */
    uint8_t stops;
    uint32_t item_count;
    /* the watcher of emptied loops */
    bool held_something, emptied_open; /* as the last phase 6 saw it */
    int64_t empty_tick, empty_step, emptied_start;
    int64_t still_step[2]; /* steps made by the anchors of struct standstill */
};

/* A kind of item that may be on a track. */
struct track_kind {
    uint32_t item, length; /* fixed */
    uint32_t count;
    uint32_t tally, loop_tally;        /* fixed; NO_INDEX: no gate reads it */
    uint32_t first_taker, taker_count; /* fixed: in world.taker, by cell */
    bool is_read;                      /* fixed: some gate reads it, or its track or loop */
};

struct taker {
    uint32_t cell, arm;
};

/* A lane of a loop, or a line: lanes first, in the scenario's order, then lines. */
struct track {
    bool is_line;                    /* fixed */
    uint32_t belt, cell_count;       /* fixed */
    uint32_t first_kind, kind_count; /* fixed: in world.kind, by item */
    uint32_t length_most;            /* fixed: of its kinds */
    uint32_t tally, loop_tally;      /* fixed: all items; NO_INDEX: no gate reads it */
    uint32_t first_feeder,
        feeder_count; /* fixed: in world.feeder, by cell: arms that place on it */
    uint32_t first_picker, picker_count; /* fixed: in world.picker: arms that pick from it */
    uint32_t first_waiting_word;         /* fixed: a bit for each feeder in world.waiting */
    uint32_t crowded_cells;              /* fixed: from so many held cells on it is congested */
    uint32_t held_cells, item_count;
    uint32_t cells_most;
    int64_t cells_since; /* from when held_cells has been so */
    wide_count cell_ticks;
    int64_t last_move, last_move_step; /* NOT_GIVEN: none so far */
    /* arms that are placing onto it, the longest waiting first */
    uint32_t first_placing, last_placing, first_unreported;
    int64_t placing_since, placing_since_step,
        placing_gap; /* placing_gap: tick in which the list ran empty */
    /* watchers */
    bool crowded, congested_open, jam_open, deadlock_open;
    bool watches_blocked,
        watches_jam; /* the track's look is on the agenda early enough for these */
    int64_t crowded_since, crowded_step, congested_start;
    int64_t jam_from, jam_since, jam_start; /* from: the s of the rules; since: the last move */
    int64_t deadlock_since, deadlock_start;
};

/* An item on a line, from the head end: where its head was at the line's last look. */
struct line_item {
    uint32_t cell, kind;
};

struct line {
    uint32_t first_item; /* fixed: in world.line_item; [0] is nearest to the head end */
    uint32_t item_count;
    int64_t step;        /* cells are those of this step */
    int64_t roll_until;  /* the last step in which something rolls */
    int64_t rolled_tick; /* last tick in which something rolled before the last change */
};

/* What an arm may carry: where that is counted at its source and at its destination. */
struct arm_item {
    uint32_t item;
    uint32_t
        source;    /* tally of a chest or station, or kind within a track; NO_INDEX: never there */
    uint32_t dest; /* likewise; NO_INDEX: only the chest's total counts, or it never comes */
    uint32_t first_taker; /* of the kind downstream, when the destination is a lane */
};

struct hand_run {
    uint32_t what; /* index in the arm's items */
    uint32_t count;
};

enum {
    ARM_WAITS_FOR_GATE = 1,
    ARM_WAITS_FOR_MORE = 2, /* its waiters hang in a list */
    ARM_WAITS_FOR_ROOM = 4,
    ARM_WAITS_FOR_PICK = ARM_WAITS_FOR_GATE | ARM_WAITS_FOR_MORE | ARM_WAITS_FOR_ROOM,
    ARM_WAITS_TO_PLACE = 8, /* it is in the list of those placing onto its track */
    ARM_BLOCKED_TOLD = 16
};

struct arm {
    uint8_t state; /* enum arm_state, never ARM_STOPPED; returning past due is reaching */
    uint8_t stops, waits;
    uint8_t looks; /* classes of kinds that it waits for on its track; 0: none */
    uint8_t from_kind, to_kind, choose; /* fixed */
    bool from_track, to_track;          /* fixed: a lane or line */
    uint8_t bounded_room;        /* fixed: acceptance hangs on each item, not only on the total */
    uint8_t source_classes;      /* fixed: of all its items on its track */
    uint32_t from, to;           /* fixed: tally of all (chest, station side) or track */
    uint32_t from_cell, to_cell; /* fixed */
    uint32_t first_item, item_count; /* fixed: those that can be at its source stand first, */
    uint32_t likely_count;           /* fixed: so many; others only count as accepted or not */
    uint32_t
        kind_map;  /* fixed: in world.kind_map, item index by kind; NO_INDEX: search the items */
    uint32_t hand; /* fixed */
    uint32_t first_run; /* fixed: in world.hand_run */
    uint32_t run_count,
        held; /* runs from hand_run[first_run] on; emptied from the front when placing */
    uint32_t runs_done;
    uint32_t last_taken;
    uint32_t gate, station;               /* fixed; station: that it puts to, or NO_INDEX */
    uint32_t swing_chance, choice_chance; /* fixed: in world.random */
    uint32_t feeder_rank;                 /* fixed: among the track's feeders */
    uint32_t
        first_feeder; /* fixed: among those of its source, whom a slot freed by it reaches first */
    int64_t out_ticks, back_ticks;
    int64_t linger_ticks; /* fixed */
    int64_t due;
    int64_t since; /* from when it has been as it is (state, stopped) */
    int64_t first_pick;
    int64_t look_step; /* what it waits for on its track comes to its cell with this step */
    uint64_t swings, moved;
    int64_t ticks[ARM_STATES];
};

/* An arm in the list of those placing onto a track. */
struct placing {
    uint32_t next, prev;
    int64_t since, since_step;
    int64_t told_start; /* of the blocked event, when ARM_BLOCKED_TOLD */
};

struct station {
    uint32_t first_input, input_count, first_output, output_count; /* fixed: in world.tally */
    uint32_t in, out;                                              /* fixed: tallies of its sides */
    uint32_t gate, time_chance, first_output_chance;               /* fixed */
    uint8_t stops;
    bool working;             /* a batch is in progress, running or held by a stop */
    bool told;                /* the event of its state is open */
    enum station_state state; /* as the last phase 6 saw it */
    int64_t end_tick;         /* of the batch, while it runs */
    int64_t rest_ticks;       /* of the batch, while stopped */
    int64_t since;
    int64_t told_start; /* of that event */
    uint64_t batches;
    int64_t ticks[STATION_STATES];
};

/* A supply or a demand. */
struct stream {
    uint32_t tally, total, item; /* fixed: of its item in its chest, of the chest */
    uint32_t chance, gate;       /* fixed */
    uint8_t stops;
    bool waits_for_gate;
    int64_t due;  /* next event; AGENDA_NEVER: none any more */
    int64_t open; /* supply: to be put in of the delivery at work; demand: owed */
};

struct incident {
    uint32_t chance; /* fixed */
    int64_t due;
};

struct breakdown {
    struct part actor;                    /* fixed */
    uint32_t after_chance, repair_chance; /* fixed */
    bool broken;
    int64_t due;
};

/* A standstill of the workshop, watched for rest and deadlock. */
enum standstill_kind { STANDSTILL_REST, STANDSTILL_DEADLOCK };
enum { STANDSTILLS = STANDSTILL_DEADLOCK + 1 };

struct standstill {
    int64_t anchor[STANDSTILLS]; /* earliest begin, as changes from outside leave it */
    int64_t before[STANDSTILLS]; /* as phase 6 before an incident saw it; NOT_GIVEN: not still */
    int64_t outside_tick;        /* last tick with an incident or breakdown */
    bool rest_open, clogged_open;
    int64_t rest_since, rest_start;
    int64_t jammed_tracks, deadlocked_tracks; /* open events */
};

struct world {
    const struct scenario *scenario;
    struct listener listener;
    struct agenda agenda;
    uint32_t first_actor[RANKS + 1];
    int64_t tick;   /* last executed whole */
    uint64_t shape; /* fixed: scenario_shape() of the scenario */

    struct tally *tally;
    struct waiter *waiter;
    struct gate *gate;
    struct belt *belt;
    struct track *track;
    struct lane *lane;
    struct line *line;
    struct line_item *line_item;
    struct track_kind *kind;
    struct taker *taker;
    struct taker *feeder, *picker;
    uint64_t *waiting;
    struct arm *arm;
    struct arm_item *arm_item;
    uint32_t *kind_map;
    struct hand_run *hand_run;
    struct placing *placing;
    struct station *station;
    struct stream *supply, *demand;
    struct incident *incident;
    struct breakdown *breakdown;
    struct random_stream *random;
    struct item_totals *item;
    struct standstill standstill;
    int64_t
        last_move; /* last tick in which something moved (rules 11), lines apart; NOT_GIVEN: none */
    uint64_t moves;
    wide_count made_ticks, used_ticks; /* items that batches made and used, times when */
    bool looks_at_moves;               /* the next move ends, or may begin, a rest or deadlock */

    uint32_t *scratch;        /* [most items of an arm], all 0 between uses */
    uint32_t *item_scratch;   /* [item_count]; nothing is kept in it */
    bool *item_marks;         /* [item_count], all false between uses */
    uint32_t *first_of_chest; /* where chests' items are counted: see stock.h */
    uint32_t *chest_item;
    uint32_t *chest_total; /* tally of each chest */
    uint32_t tally_count, track_count, belt_count, breakdown_count, chance_count, waiter_count,
        kind_count, word_count;
};

/* The tick at work. */
static inline int64_t world_now(const struct world *world) { return world->agenda.now; }

static inline uint32_t world_actor(const struct world *world, enum rank rank, uint32_t index) {
    return world->first_actor[rank] + index;
}
