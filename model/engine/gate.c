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

/* What a leaf says to a count, its latch considered. */
static bool leaf_says(const struct gate *gate, int64_t count) {
    if (gate->kind == GATE_AT_LEAST)
        return count >= gate->threshold;
    if (gate->reopen_below != NOT_GIVEN && !gate->open)
        return count < gate->reopen_below;
    return count < gate->threshold;
}

static bool branch_says(const struct world *world, const struct gate *gate) {
    bool all = gate->kind == GATE_ALL;
    for (uint32_t child = gate->first_child; child != NO_INDEX;
         child = world->gate[child].next_sibling)
        if (world->gate[child].open != all)
            return !all;
    return all;
}

static void tell_owner(struct world *world, const struct gate *gate) {
    switch (gate->owner.kind) {
    case PART_ARM: wake_arm_for_gate(world, gate->owner.index, gate->open); break;
    case PART_STATION: wake_station(world, gate->owner.index); break;
    case PART_SUPPLY: wake_supply_for_gate(world, gate->owner.index, gate->open); break;
    default: require(false);
    }
}

static void flip(struct world *world, uint32_t leaf) {
    struct gate *gate = &world->gate[leaf];
    gate->open = !gate->open;
    while (gate->parent != NO_INDEX) {
        gate = &world->gate[gate->parent];
        if (branch_says(world, gate) == gate->open)
            return;
        gate->open = !gate->open;
    }
    tell_owner(world, gate);
}

/* Narrows the quiet range of a tally to where this leaf stays as it is. */
static void narrow(struct tally *tally, const struct gate *gate) {
    bool closed_latch = gate->reopen_below != NOT_GIVEN && !gate->open;
    int64_t threshold = closed_latch ? gate->reopen_below : gate->threshold;
    bool open_when_low = gate->kind == GATE_BELOW;
    if (gate->open == open_when_low) { /* it stays so while the count is below the threshold */
        if (threshold - 1 < tally->high)
            tally->high = threshold - 1;
    } else if (threshold > tally->low) {
        tally->low = threshold;
    }
}

static void find_quiet_range(struct world *world, uint32_t index) {
    struct tally *tally = &world->tally[index];
    tally->low = INT64_MIN;
    tally->high = INT64_MAX;
    for (uint32_t leaf = tally->first_leaf; leaf != NO_INDEX;
         leaf = world->gate[leaf].next_on_tally)
        narrow(tally, &world->gate[leaf]);
}

void gate_tell(struct world *world, uint32_t tally) {
    int64_t count = world->tally[tally].count;
    uint32_t leaf = world->tally[tally].first_leaf;
    for (; leaf != NO_INDEX; leaf = world->gate[leaf].next_on_tally)
        if (leaf_says(&world->gate[leaf], count) != world->gate[leaf].open)
            flip(world, leaf);
    find_quiet_range(world, tally);
}

/* Branches as often as trees are deep. */
void gate_settle_all(struct world *world) {
    uint32_t count = world->scenario->gate_count;
    for (bool settled = false; !settled;) {
        settled = true;
        for (uint32_t i = 0; i < count; i++) {
            struct gate *gate = &world->gate[i];
            if (gate->first_child == NO_INDEX || branch_says(world, gate) == gate->open)
                continue;
            gate->open = !gate->open;
            settled = false;
        }
    }
    for (uint32_t i = 0; i < world->tally_count; i++)
        find_quiet_range(world, i);
}

void gate_init_all(struct world *world) {
    uint32_t count = world->scenario->gate_count;
    for (uint32_t i = 0; i < count; i++) {
        struct gate *gate = &world->gate[i];
        if (gate->first_child != NO_INDEX)
            continue;
        int64_t now = world->tally[gate->tally].count;
        gate->open = gate->kind == GATE_BELOW ? now < gate->threshold : now >= gate->threshold;
    }
    gate_settle_all(world);
}
