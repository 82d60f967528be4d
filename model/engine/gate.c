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

int64_t gate_reopen_below(const struct world *world, uint32_t gate) {
    return world->gate_reopen == NULL ? NOT_GIVEN : world->gate_reopen[gate];
}

/* Where a leaf changes: a closed latch at its lower threshold. */
static int64_t threshold_of(const struct world *world, uint32_t leaf) {
    const struct gate *gate = &world->gate[leaf];
    int64_t reopen_below = gate->open ? NOT_GIVEN : gate_reopen_below(world, leaf);
    return reopen_below != NOT_GIVEN ? reopen_below : gate->threshold;
}

/* Whether a leaf is open at a count, its latch considered. */
static bool leaf_is_open(const struct world *world, uint32_t leaf, int64_t count) {
    bool below = count < threshold_of(world, leaf);
    return world->gate[leaf].kind == GATE_AT_LEAST ? !below : below;
}

static bool branch_is_open(const struct world *world, uint32_t gate) {
    bool all = world->gate[gate].kind == GATE_ALL;
    const struct scenario_gate *fixed = world->scenario->gate;
    for (uint32_t child = fixed[gate].first_child; child != NO_INDEX;
         child = fixed[child].next_sibling)
        if (world->gate[child].open != all)
            return !all;
    return all;
}

static void wake_owner(struct world *world, const struct gate *gate) {
    switch ((enum part_kind)gate->owner_kind) {
    case PART_ARM: wake_arm_for_gate(world, gate->above, gate->open); break;
    case PART_STATION: wake_station(world, gate->above); break;
    case PART_SUPPLY: wake_supply_for_gate(world, gate->above, gate->open); break;
    case PART_LOOP:
    case PART_LINE:
    case PART_DEMAND:
    case PART_CHEST:
    case PART_LANE: require(false); /* they have no gate */
    }
}

uint32_t gate_top(const struct world *world, uint32_t gate) {
    while (world->gate[gate].is_part)
        gate = world->gate[gate].above;
    return gate;
}

/* To those who observe its owner every part of a gate is of interest, also where the whole stays as
 * it is. */
static void wake_observers(const struct world *world, uint32_t gate) {
    const struct gate *top = &world->gate[gate_top(world, gate)];
    if (top->owner_kind == PART_ARM && world->arm[top->above].wait.observers != 0)
        wake_observers_of_arm(world, top->above);
}

static void flip(struct world *world, uint32_t leaf) {
    uint32_t gate = leaf;
    wake_observers(world, leaf);
    world->gate[gate].open = !world->gate[gate].open;
    while (world->gate[gate].is_part) {
        gate = world->gate[gate].above;
        if (branch_is_open(world, gate) == world->gate[gate].open)
            return;
        world->gate[gate].open = !world->gate[gate].open;
    }
    wake_owner(world, &world->gate[gate]);
}

struct range {
    int64_t low, high;
};

/* Narrows the quiet range of a tally to where this leaf stays as it is. */
static void narrow(const struct world *world, struct range *range, uint32_t leaf) {
    int64_t threshold = threshold_of(world, leaf);
    bool open_when_low = world->gate[leaf].kind == GATE_BELOW;
    if (world->gate[leaf].open == open_when_low) { /* it stays so as long as it is below that */
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
         leaf = world->gate[leaf].next_on_tally)
        narrow(world, &range, leaf);
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
    for (; leaf != NO_INDEX; leaf = world->gate[leaf].next_on_tally)
        if (leaf_is_open(world, leaf, count) != world->gate[leaf].open)
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
            if (gate->tally != NO_INDEX || branch_is_open(world, i) == gate->open)
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
        struct gate *gate = &world->gate[i];
        if (gate->tally == NO_INDEX)
            continue;
        int64_t now = world->tally[gate->tally].count;
        gate->open = gate->kind == GATE_BELOW ? now < gate->threshold : now >= gate->threshold;
    }
    gate_update_all(world);
}

void gate_audit(const struct world *world) {
    for (uint32_t i = 0; i < world->scenario->gate_count; i++) {
        const struct gate *gate = &world->gate[i];
        if (gate->tally == NO_INDEX) {
            require(gate->open == branch_is_open(world, i));
            continue;
        }
        const struct tally *tally = &world->tally[gate->tally];
        require(gate->open == leaf_is_open(world, i, tally->count));
        bool waited_for = (tally->waiting_for_more & tally->waiting_for_room) != NO_INDEX;
        bool quiet = (uint64_t)tally->count - (uint64_t)tally->quiet_from <= tally->quiet_span;
        require(quiet != waited_for || (!quiet && tally->count > INT32_MAX));
        require(gate_reopen_below(world, i) <= gate->threshold); /* NOT_GIVEN is less than all */
    }
}
