/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_finish.c - what follows from the rows of a state: what is promised, whether
 * gates are open, who is scheduled. Every actor that may have something to do is scheduled for the
 * next tick; where it has nothing to do that changes nothing by the rules. */
#include "model/engine/arm.h"
#include "model/engine/gate.h"
#include "model/engine/lane.h"
#include "model/engine/stock.h"
#include "model/engine/track.h"
#include "model/state/state_table.h"

/* ---- hands ---- */

/* What an arm may hold in each state. One that gathers stops when its hand is full: it has room. */
static bool hand_fits(const struct arm_plan *plan, const struct arm *arm) {
    switch ((enum arm_state)arm->state) {
    case ARM_CARRYING:
    case ARM_PLACING: return arm->held > 0;
    case ARM_REACHING:
        return arm->held == 0 || (plan->shape->from_track && arm->held < plan->shape->hand);
    case ARM_RETURNING: return arm->held == 0;
    case ARM_STOPPED: break;
    }
    return false;
}

static void promise_hand(struct world *world, const struct arm_record *arm) {
    if (arm->plan.shape->to_track)
        return;
    for (uint32_t i = arm_first_run(world, arm); i < arm_end_run(world, arm); i++) {
        struct hand_run run = arm_run(world, arm, i);
        stock_promise(world, arm->plan.item[run.item_slot].dest, arm->plan.to, run.count);
    }
}

static bool settle_hands(struct world *world) {
    for (uint32_t i = 0; i < world->scenario->arm_count; i++) {
        if (!hand_fits(&world->arm[i].plan, &world->arm[i].state))
            return false;
        promise_hand(world, &world->arm[i]);
        arm_choose_acts(world, i);
    }
    return true;
}

/* ---- what gates read of lanes and lines, and what they say ---- */

static void count_for_gates(struct world *world, const struct track_plan *track,
                            const struct track_kind *kind) {
    if (!kind->is_read)
        return;
    const struct kind_reads *reads = &world->kind_reads[kind - world->kind];
    const uint32_t read[] = {reads->tally, reads->loop_tally, track->tally, track->loop_tally};
    for (size_t i = 0; i < sizeof read / sizeof *read; i++)
        if (read[i] != NO_INDEX)
            stock_lay(world, read[i], read[i], kind->count);
}

static void settle_track_counts(struct world *world) {
    for (uint32_t i = 0; i < world->track_count; i++) {
        const struct track_plan *track = &world->track[i].plan;
        for (uint32_t j = 0; j < track->kind_count; j++)
            count_for_gates(world, track, &world->kind[track->first_kind + j]);
    }
}

/* Each gate as the counts have it; a latch that was there as it was. A threshold of a what-if may
 * then change what it says. */
static void settle_gates(struct state_filling *filling) {
    struct world *world = filling->world;
    gate_init_all(world);
    for (uint32_t i = 0; i < world->scenario->gate_count; i++)
        if (filling->gate[i] != 0 && world->gate[i].tally != NO_INDEX)
            world->gate[i].open = filling->gate[i] > 1;
    gate_update_all(world);
    for (uint32_t i = 0; i < world->tally_count; i++)
        if (world->first_leaf[i] != NO_INDEX)
            gate_update(world, i);
}

/* ---- the standstill ---- */

static void settle_standstill(struct world *world) {
    for (uint32_t i = 0; i < world->track_count; i++) {
        track_find_quiet_range(world, i);
        world->standstill_watch.jammed_tracks += world->track[i].state.jam_open;
        world->standstill_watch.deadlocked_tracks += world->track[i].state.deadlock_open;
    }
}

/* Only a lane of a loop jams, and only a jammed one is deadlocked. */
static bool jams_fit(const struct world *world) {
    for (uint32_t i = 0; i < world->track_count; i++) {
        const struct track *track = &world->track[i].state;
        bool open = track->jam_open || track->congested_open;
        if ((track->deadlock_open && !track->jam_open) || (world->track[i].plan.is_line && open))
            return false;
    }
    return true;
}

/* ---- the agenda ---- */

static void wake(struct world *world, enum rank rank, uint32_t index, int64_t tick) {
    int64_t next = world->progress.tick + 1;
    agenda_set(&world->agenda, world_actor(world, rank, index), tick > next ? tick : next);
}

static void wake_all_from(struct world *world, enum rank first) {
    uint32_t actor = world->first_actor[first];
    for (; actor < world->agenda.actor_count; actor++)
        agenda_set(&world->agenda, actor, world->progress.tick + 1);
}

/* An incident that does not repeat comes when its tick does. */
static void settle_incidents(struct world *world) {
    for (uint32_t i = 0; i < world->scenario->incident_count; i++) {
        struct incident *incident = &world->incident[i];
        if (incident->due <= world->progress.tick)
            incident->due = AGENDA_NEVER;
        if (incident->due != AGENDA_NEVER)
            wake(world, RANK_INCIDENT, i, incident->due);
    }
}

static void settle_agenda(struct world *world) {
    const struct scenario *scenario = world->scenario;
    settle_incidents(world);
    for (uint32_t i = 0; i < world->breakdown_count; i++)
        wake(world, RANK_BREAKDOWN, i, world->breakdown[i].due);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        wake(world, RANK_SUPPLY, i, 0);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        wake(world, RANK_DEMAND, i, 0);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (world->station[i].working && world->station[i].stops == 0)
            wake(world, RANK_BATCH_END, i, world->station[i].end_tick);
    wake_all_from(world, RANK_ARM);
}

bool state_finish(struct state_filling *filling) {
    struct world *world = filling->world;
    if (!settle_hands(world) || !jams_fit(world))
        return false;
    agenda_empty(&world->agenda, world->progress.tick); /* before a gate may wake an actor */
    settle_track_counts(world);
    settle_gates(filling);
    settle_standstill(world);
    settle_agenda(world);
    return true;
}
