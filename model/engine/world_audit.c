/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/world_audit.c - checks the invariants that stand at the head of world.h, by their
 * numbers. Everything derived is worked out anew from what is state and compared. */
#include <stdlib.h>

#include "model/engine/arm_books.h"
#include "model/engine/arm_items.h"
#include "model/engine/belt.h"
#include "model/engine/gate.h"
#include "model/engine/item_books.h"
#include "model/engine/line.h"
#include "model/engine/parts.h"
#include "model/engine/station.h"
#include "model/engine/stock.h"
#include "model/engine/track.h"
#include "model/engine/world.h"
#include "sim/require.h"

/* What is worked out anew. */
struct audit {
    const struct world *world;
    int64_t *there;    /* [item_count] items of each kind in the workshop */
    int64_t *count;    /* [tally_count] of totals and of what gates read of tracks */
    int64_t *promised; /* [tally_count] */
    int64_t *limit;    /* [tally_count] */
};

/* ---- 1: no item comes or goes unnoticed ---- */

static void add_stocks(struct audit *audit) {
    const struct world *world = audit->world;
    for (uint32_t i = 0; i < world->scenario->chest_count; i++)
        for (uint32_t j = stock_first_item_of_chest(world, i); j < stock_end_of_chest(world, i);
             j++)
            audit->there[world->chest_item[j]] += world->tally[j].count;
    for (uint32_t i = 0; i < world->scenario->station_count; i++) {
        const struct scenario_station *station = &world->scenario->station[i];
        for (uint32_t j = 0; j < station->takes.count; j++)
            audit->there[station->takes.entry[j].item] += world_input_count(world, i, j);
        for (uint32_t j = 0; j < station->makes_count; j++)
            audit->there[station->makes[j].item] += world_output_count(world, i, j);
    }
}

static void add_hands_and_tracks(struct audit *audit) {
    const struct world *world = audit->world;
    for (uint32_t i = 0; i < world->scenario->arm_count; i++) {
        const struct arm_record *arm = &world->arm[i];
        for (uint32_t run = arm_first_run(world, arm); run < arm_end_run(world, arm); run++) {
            struct hand_run held = arm_run(world, arm, run);
            audit->there[arm_item_at(world, &arm->plan, held.item_slot)] += held.count;
        }
    }
    for (uint32_t i = 0; i < world->kind_count; i++)
        audit->there[world->kind[i].item] += world->kind[i].count;
}

static void check_items(struct audit *audit) {
    const struct scenario *scenario = audit->world->scenario;
    add_stocks(audit);
    add_hands_and_tracks(audit);
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t j = 0; j < scenario->chest[i].start.count; j++)
            audit->there[scenario->chest[i].start.entry[j].item] -=
                scenario->chest[i].start.entry[j].count;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        struct item_totals item = item_books_totals(audit->world, i);
        require(audit->there[i] ==
                item.supplied + item.dropped + item.made - item.met - item.consumed - item.cleared);
    }
}

/* ---- 2: tallies ---- */

static void add_to_total(struct audit *audit, uint32_t total, uint32_t first, uint32_t count) {
    for (uint32_t i = first; i < first + count; i++) {
        if (i != total)
            audit->count[total] += audit->world->tally[i].count;
        audit->count[i] = audit->world->tally[i].count;
    }
}

static void add_kind(struct audit *audit, const struct track_plan *track,
                     const struct track_kind *kind) {
    if (!kind->is_read)
        return;
    const struct kind_reads *reads = &audit->world->kind_reads[kind - audit->world->kind];
    const uint32_t read[] = {reads->tally, reads->loop_tally, track->tally, track->loop_tally};
    for (size_t i = 0; i < sizeof read / sizeof *read; i++)
        if (read[i] != NO_INDEX)
            audit->count[read[i]] += kind->count;
}

static void add_totals(struct audit *audit) {
    const struct world *world = audit->world;
    for (uint32_t i = 0; i < world->scenario->chest_count; i++)
        add_to_total(audit, world->chest_total[i], stock_first_item_of_chest(world, i),
                     stock_end_of_chest(world, i) - stock_first_item_of_chest(world, i));
    for (uint32_t i = 0; i < world->scenario->station_count; i++) {
        const struct scenario_station *fixed = &world->scenario->station[i];
        add_to_total(audit, stock_all_inputs(world, i), stock_first_input(world, i),
                     fixed->takes.count);
        add_to_total(audit, stock_all_outputs(world, i), stock_first_output(world, i),
                     fixed->makes_count);
    }
    for (uint32_t i = 0; i < world->track_count; i++) {
        const struct track_plan *plan = &world->track[i].plan;
        for (uint32_t j = 0; j < plan->kind_count; j++)
            add_kind(audit, plan, &world->kind[plan->first_kind + j]);
    }
}

static void add_promises(struct audit *audit) {
    const struct world *world = audit->world;
    for (uint32_t i = 0; i < world->scenario->arm_count; i++) {
        const struct arm_record *arm = &world->arm[i];
        if (arm->plan.shape->to_track)
            continue;
        for (uint32_t run = arm_first_run(world, arm); run < arm_end_run(world, arm); run++) {
            struct hand_run held = arm_run(world, arm, run);
            uint32_t dest = arm->plan.item[held.item_slot].dest;
            require(dest != NO_INDEX);
            audit->promised[dest] += held.count;
            if (dest != arm->plan.to)
                audit->promised[arm->plan.to] += held.count;
        }
    }
}

static void find_limits(struct audit *audit) {
    const struct world *world = audit->world;
    for (uint32_t i = 0; i < world->tally_count; i++)
        audit->limit[i] = NO_LIMIT;
    for (uint32_t i = 0; i < world->scenario->chest_count; i++) {
        const struct item_counts *limits = &world->scenario->chest[i].limits;
        audit->limit[world->chest_total[i]] = stock_limit(world, i);
        for (uint32_t j = 0; j < limits->count; j++)
            audit->limit[stock_tally_of_chest(world, i, limits->entry[j].item)] =
                limits->entry[j].count;
    }
    for (uint32_t i = 0; i < world->scenario->station_count; i++) {
        const struct scenario_station *station = &world->scenario->station[i];
        for (uint32_t j = 0; j < station->takes.count; j++)
            audit->limit[stock_first_input(world, i) + j] =
                station->ahead * station->takes.entry[j].count;
    }
}

static void check_tallies(struct audit *audit) {
    add_totals(audit);
    add_promises(audit);
    find_limits(audit);
    for (uint32_t i = 0; i < audit->world->tally_count; i++) {
        const struct tally *tally = &audit->world->tally[i];
        require(tally->count >= 0);
        require(tally->count == audit->count[i]);
        require(tally->room == audit->limit[i] - audit->count[i] - audit->promised[i]);
    }
}

/* ---- 3: belts; tracks check themselves ---- */

static void check_belt(const struct world *world, uint32_t index) {
    const struct belt_record *belt = &world->belt[index];
    require(belt->state.clock.running == (belt->state.stops == 0));
    require(belt->position.turn == belt->position.step % belt->plan.cell_count);
    int64_t passed = world->progress.tick > 0 ? world->progress.tick : 0;
    require(belt->position.step <= belt_clock_step_at(&belt->state.clock, passed));
    require(belt->position.next_tick ==
            belt_clock_tick_of(&belt->state.clock, belt->position.step + 1));
    require(!belt->state.clock.running ||
            world->belt_pace[index].late ==
                belt_clock_late(&belt->state.clock, belt->position.step + 1));
}

/* ---- 5: arms ---- */

static void check_hand(const struct world *world, const struct arm_record *arm) {
    uint32_t held = 0;
    for (uint32_t run = arm_first_run(world, arm); run < arm_end_run(world, arm); run++)
        held += arm_run(world, arm, run).count;
    require(held == arm->state.held);
    require(held <= arm->plan.shape->hand);
    switch ((enum arm_state)arm->state.state) {
    case ARM_CARRYING:
    case ARM_PLACING: require(held > 0); return;
    case ARM_RETURNING: require(held == 0); return;
    case ARM_REACHING:
        require(held == 0 || (arm->plan.shape->from_track && held < arm->plan.shape->hand));
        return;
    case ARM_STOPPED: break;
    }
    require(false);
}

static void check_books(int64_t since, const int64_t *ticks, int states, int64_t tick) {
    int64_t sum = since;
    require(since >= 0 && since <= tick);
    for (int i = 0; i < states; i++) {
        require(ticks[i] >= 0);
        sum -= ticks[i];
    }
    require(sum == 0);
}

/* ---- 6: who waits ---- */

/* The list that begins with `first` names this tally and each other; returns its length. */
static uint32_t check_list(const struct world *world, uint32_t tally, uint32_t first) {
    uint32_t length = 0, before = stock_first_waiter(tally);
    for (uint32_t waiter = first; waiter != NO_INDEX; waiter = world->waiter[waiter].next) {
        require(world->waiter[waiter].prev == before);
        before = waiter;
        length++;
    }
    return length;
}

static void check_waiters(const struct world *world) {
    uint32_t listed = 0, waiting = 0;
    for (uint32_t i = 0; i < world->tally_count; i++)
        listed += check_list(world, i, world->tally[i].waiting_for_more) +
                  check_list(world, i, world->tally[i].waiting_for_room);
    for (uint32_t i = 0; i < world->waiter_count; i++)
        waiting += world->waiter[i].prev != NO_INDEX;
    require(listed == waiting);
    for (uint32_t i = 0; i < world->scenario->arm_count; i++) {
        const struct arm_record *arm = &world->arm[i];
        uint32_t more = stock_waiter_for_more_of_arm(world, arm);
        uint32_t room = stock_waiter_for_room_of_arm(world, arm);
        uint8_t for_more = ARM_WAITS_FOR_MORE | (room == more ? ARM_WAITS_FOR_ROOM : 0);
        require(((arm->wait.waits & for_more) != 0) == (world->waiter[more].prev != NO_INDEX));
        require(room == more || ((arm->wait.waits & ARM_WAITS_FOR_ROOM) != 0) ==
                                    (world->waiter[room].prev != NO_INDEX));
    }
}

/* ---- 7: who is woken ---- */

static void check_woken(const struct world *world, enum rank rank, uint32_t index, int64_t due) {
    if (due == AGENDA_NEVER)
        return;
    uint32_t actor = world_actor(world, rank, index);
    require(due > world->progress.tick);
    require(agenda_is_scheduled(&world->agenda, actor) && world->agenda.due[actor] <= due);
}

/* An arm that is on no agenda while it looks at its lane has nothing to look for there. */
static void check_looks(const struct world *world, uint32_t arm) {
    const struct arm_record *record = &world->arm[arm];
    const struct arm_shape *shape = record->plan.shape;
    if (record->wait.looks == 0 || !shape->from_track || shape->from_line)
        return;
    uint32_t belt = world->track[record->plan.from].plan.belt;
    const struct belt_clock *clock = &world->belt[belt].state.clock;
    if (!clock->running)
        return;
    require(agenda_is_scheduled(&world->agenda, world_actor(world, RANK_ARM, arm)) ||
            !arm_items_lie_on_lane(world, &record->plan) ||
            belt_clock_tick_of(clock, record->wait.look_step) == BELT_CLOCK_NEVER);
}

static void check_agenda(const struct world *world) {
    const struct scenario *scenario = world->scenario;
    for (uint32_t i = 0; i < world->agenda.actor_count; i++)
        require(!agenda_is_scheduled(&world->agenda, i) ||
                world->agenda.due[i] > world->progress.tick);
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        check_woken(world, RANK_INCIDENT, i, world->incident[i].due);
    for (uint32_t i = 0; i < world->breakdown_count; i++)
        check_woken(world, RANK_BREAKDOWN, i, world->breakdown[i].due);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        check_woken(world, RANK_DEMAND, i, world->demand[i].due);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (world->station[i].working && world->station[i].stops == 0)
            check_woken(world, RANK_BATCH_END, i, world->station[i].end_tick);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (world->arm[i].state.state == ARM_CARRYING && world->arm[i].state.stops == 0)
            check_woken(world, RANK_ARM, i, world->arm[i].state.due);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        check_looks(world, i);
}

/* ---- 8: open events ---- */

static void check_events(const struct world *world) {
    const struct standstill *standstill = &world->standstill;
    uint32_t jammed = 0, deadlocked = 0;
    for (uint32_t i = 0; i < world->track_count; i++) {
        const struct track *track = &world->track[i].state;
        bool watched = track->congested_open || track->jam_open;
        require(!watched || !world->track[i].plan.is_line);
        require(!track->deadlock_open || track->jam_open);
        require(!track->jam_open || world->track[i].load.first_placing != NO_INDEX);
        jammed += track->jam_open;
        deadlocked += track->deadlock_open;
    }
    require(jammed == world->standstill_watch.jammed_tracks);
    require(deadlocked == world->standstill_watch.deadlocked_tracks);
    require(standstill->rest_open || !standstill->clogged_open);
    for (uint32_t i = 0; i < world->scenario->arm_count; i++)
        require(!arm_is_blocked(world, i) || world->arm[i].state.state == ARM_PLACING);
    for (uint32_t i = 0; i < world->scenario->station_count; i++)
        require(!world->station[i].event_open || world->station[i].state == STATION_STARVED ||
                world->station[i].state == STATION_BLOCKED);
}

/* ---- 9: orders ---- */

static void check_orders(const struct world *world) {
    const struct scenario *scenario = world->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        struct item_totals item = item_books_totals(world, i);
        int64_t met = item.demanded - item.owed - item.lost;
        require(met >= 0 && met <= item.met && item.lost >= 0 && item.owed >= 0);
    }
}

/* ---- all of it ---- */

static void check_parts(const struct world *world) {
    int64_t tick = world->progress.tick > 0 ? world->progress.tick : 0;
    for (uint32_t i = 0; i < world->belt_count; i++)
        check_belt(world, i);
    for (uint32_t i = 0; i < world->track_count; i++)
        track_audit(world, i);
    gate_audit(world);
    for (uint32_t i = 0; i < world->scenario->arm_count; i++) {
        check_hand(world, &world->arm[i]);
        int64_t ticks[ARM_STATES];
        arm_books_ticks(world, i, &world->arm[i].state, ticks);
        check_books(world->arm[i].state.since, ticks, ARM_STATES, tick);
    }
    for (uint32_t i = 0; i < world->scenario->station_count; i++) {
        int64_t ticks[STATION_STATES];
        station_ticks(world, i, ticks);
        check_books(world->station[i].since, ticks, STATION_STATES, tick);
    }
}

void world_audit(const struct world *world) {
    struct require_context context = {.tick = &world->progress.tick,
                                      .what = "in the audit after it"};
    require_context_set(&context);
    require(world->agenda.cursor == AGENDA_NOBODY); /* not from inside a tick */
    struct audit audit = {.world = world};
    audit.there = require_memory(world->scenario->item_count, sizeof *audit.there);
    audit.count = require_memory(world->tally_count, sizeof *audit.count);
    audit.promised = require_memory(world->tally_count, sizeof *audit.promised);
    audit.limit = require_memory(world->tally_count, sizeof *audit.limit);
    check_items(&audit);
    check_tallies(&audit);
    check_parts(world);
    check_waiters(world);
    check_agenda(world);
    check_events(world);
    check_orders(world);
    free(audit.there);
    free(audit.count);
    free(audit.promised);
    free(audit.limit);
    require_context_set(NULL);
}
