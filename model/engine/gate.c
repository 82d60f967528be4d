/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/gate.c - gates are trees; a leaf that flips walks up as long as something changes.
 */
#include "model/engine/gate.h"

#include "model/engine/parts.h"
#include "model/engine/wake.h"
#include "sim/require.h"

bool gate_is_open(const struct world *world, uint32_t gate) {
    return gate == NO_INDEX || world->gate[gate].open;
}

/* Whether a leaf is open at a count, its latch considered. */
static bool leaf_is_open(enum gate_kind kind, const struct gate *gate, int64_t count) {
    if (kind == GATE_AT_LEAST)
        return count >= gate->threshold;
    if (gate->reopen_below != NOT_GIVEN && !gate->open)
        return count < gate->reopen_below;
    return count < gate->threshold;
}

static bool branch_is_open(const struct world *world, uint32_t gate) {
    bool all = world->gate_plan[gate].kind == GATE_ALL;
    const struct scenario_gate *fixed = world->scenario->gate;
    for (uint32_t child = fixed[gate].first_child; child != NO_INDEX;
         child = fixed[child].next_sibling)
        if (world->gate[child].open != all)
            return !all;
    return all;
}

static void wake_owner(struct world *world, uint32_t gate) {
    struct part owner = world->gate_plan[gate].owner;
    bool open = world->gate[gate].open;
    switch (owner.kind) {
    case PART_ARM: wake_arm_for_gate(world, owner.index, open); break;
    case PART_STATION: wake_station(world, owner.index); break;
    case PART_SUPPLY: wake_supply_for_gate(world, owner.index, open); break;
    case PART_LOOP:
    case PART_LINE:
    case PART_DEMAND:
    case PART_CHEST:
    case PART_LANE: require(false); /* they have no gate */
    }
}

/* To those who observe its owner every part of a gate is of interest, also where the whole stays as
 * it is. */
static void wake_observers(const struct world *world, uint32_t gate) {
    while (world->gate_plan[gate].parent != NO_INDEX)
        gate = world->gate_plan[gate].parent;
    if (world->gate_plan[gate].owner.kind == PART_ARM)
        wake_observers_of_arm(world, world->gate_plan[gate].owner.index);
}

static void flip(struct world *world, uint32_t leaf) {
    uint32_t gate = leaf;
    wake_observers(world, leaf);
    world->gate[gate].open = !world->gate[gate].open;
    while (world->gate_plan[gate].parent != NO_INDEX) {
        gate = world->gate_plan[gate].parent;
        if (branch_is_open(world, gate) == world->gate[gate].open)
            return;
        world->gate[gate].open = !world->gate[gate].open;
    }
    wake_owner(world, gate);
}

struct range {
    int64_t low, high;
};

/* Narrows the quiet range of a tally to where this leaf stays as it is. */
static void narrow(struct range *range, enum gate_kind kind, const struct gate *gate) {
    bool closed_latch = gate->reopen_below != NOT_GIVEN && !gate->open;
    int64_t threshold = closed_latch ? gate->reopen_below : gate->threshold;
    bool open_when_low = kind == GATE_BELOW;
    if (gate->open == open_when_low) { /* it stays so while the count is below the threshold */
        if (threshold - 1 < range->high)
            range->high = threshold - 1;
    } else if (threshold > range->low) {
        range->low = threshold;
    }
}

void gate_find_quiet_range(struct world *world, uint32_t index) {
    struct tally *tally = &world->tally[index];
    struct range range = {0, INT64_MAX};
    for (uint32_t leaf = world->first_leaf[index]; leaf != NO_INDEX;
         leaf = world->gate_plan[leaf].next_on_tally)
        narrow(&range, world->gate_plan[leaf].kind, &world->gate[leaf]);
    bool waited_for = (tally->waiting_for_more & tally->waiting_for_room) != NO_INDEX;
    if (waited_for || range.low > INT32_MAX)
        range.low = range.high = TALLY_NEVER_QUIET;
    tally->quiet_from = (int32_t)range.low;
    int64_t span = range.high - range.low;
    tally->quiet_span = span < UINT32_MAX ? (uint32_t)span : UINT32_MAX;
}

void gate_update(struct world *world, uint32_t tally) {
    int64_t count = world->tally[tally].count;
    uint32_t leaf = world->first_leaf[tally];
    for (; leaf != NO_INDEX; leaf = world->gate_plan[leaf].next_on_tally)
        if (leaf_is_open(world->gate_plan[leaf].kind, &world->gate[leaf], count) !=
            world->gate[leaf].open)
            flip(world, leaf);
    gate_find_quiet_range(world, tally);
}

/* Branches as often as trees are deep. */
void gate_update_all(struct world *world) {
    uint32_t count = world->scenario->gate_count;
    for (bool settled = false; !settled;) {
        settled = true;
        for (uint32_t i = 0; i < count; i++) {
            struct gate *gate = &world->gate[i];
            if (world->gate_plan[i].tally != NO_INDEX || branch_is_open(world, i) == gate->open)
                continue;
            gate->open = !gate->open;
            settled = false;
        }
    }
    for (uint32_t i = 0; i < world->tally_count; i++)
        gate_find_quiet_range(world, i);
}

void gate_init_all(struct world *world) {
    uint32_t count = world->scenario->gate_count;
    for (uint32_t i = 0; i < count; i++) {
        const struct gate_plan *plan = &world->gate_plan[i];
        struct gate *gate = &world->gate[i];
        if (plan->tally == NO_INDEX)
            continue;
        int64_t now = world->tally[plan->tally].count;
        gate->open = plan->kind == GATE_BELOW ? now < gate->threshold : now >= gate->threshold;
    }
    gate_update_all(world);
}

void gate_audit(const struct world *world) {
    for (uint32_t i = 0; i < world->scenario->gate_count; i++) {
        const struct gate_plan *plan = &world->gate_plan[i];
        const struct gate *gate = &world->gate[i];
        if (plan->tally == NO_INDEX) {
            require(gate->open == branch_is_open(world, i));
            continue;
        }
        const struct tally *tally = &world->tally[plan->tally];
        require(gate->open == leaf_is_open(plan->kind, gate, tally->count));
        bool waited_for = (tally->waiting_for_more & tally->waiting_for_room) != NO_INDEX;
        bool quiet = (uint64_t)tally->count - (uint64_t)tally->quiet_from <= tally->quiet_span;
        require(quiet != waited_for || (!quiet && tally->count > INT32_MAX));
        require(gate->reopen_below == NOT_GIVEN || gate->reopen_below <= gate->threshold);
    }
}
