/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_store.c - what chests and stations hold and accept (sections 3 and 5), and
 * the gates that read counts (section 6). */
#include "sim/require.h"
#include "tests/exact/literal_state.h"

/* What is promised to a chest or station: all that arms on the way to it hold in their hands
 * (sections 3 and 4); item NO_INDEX: of any kind. */
static int64_t promised(const struct literal *literal, struct place place, uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < literal->scenario->arm_count; i++) {
        const struct place *to = &literal->scenario->arm[i].to;
        if (to->kind != place.kind || to->index != place.index)
            continue;
        for (uint32_t k = 0; k < literal->arm[i].held; k++)
            count += item == NO_INDEX || literal->arm[i].hand[k] == item;
    }
    return count;
}

int64_t literal_store_chest_total(const struct literal *literal, uint32_t chest) {
    int64_t total = 0;
    for (uint32_t i = 0; i < literal->scenario->item_count; i++)
        total += literal->chest[chest].count[i];
    return total;
}

static uint32_t input_of(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->takes.count; i++)
        if (station->takes.entry[i].item == item)
            return i;
    return NO_INDEX;
}

static uint32_t output_of(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            return i;
    return NO_INDEX;
}

static int64_t limit_of(const struct scenario_chest *chest, uint32_t item) {
    for (uint32_t i = 0; i < chest->limits.count; i++)
        if (chest->limits.entry[i].item == item)
            return chest->limits.entry[i].count;
    return NO_LIMIT;
}

/* Section 3. */
static bool chest_accepts(const struct literal *literal, struct place place, uint32_t item) {
    const struct literal_chest *chest = &literal->chest[place.index];
    int64_t total =
        literal_store_chest_total(literal, place.index) + promised(literal, place, NO_INDEX);
    int64_t count = chest->count[item] + promised(literal, place, item);
    return total < chest->capacity &&
           count < limit_of(&literal->scenario->chest[place.index], item);
}

/* Section 5. */
static bool station_accepts(const struct literal *literal, struct place place, uint32_t item) {
    const struct scenario_station *station = &literal->scenario->station[place.index];
    uint32_t input = input_of(station, item);
    if (input == NO_INDEX)
        return false;
    return literal->station[place.index].input[input] + promised(literal, place, item) <
           station->ahead * station->takes.entry[input].count;
}

bool literal_store_accepts(const struct literal *literal, struct place place, uint32_t item) {
    if (place.kind == PLACE_CHEST)
        return chest_accepts(literal, place, item);
    if (place.kind == PLACE_STATION)
        return station_accepts(literal, place, item);
    return true; /* section 4: a loop or line accepts all at picking time */
}

int64_t literal_store_count(const struct literal *literal, struct place place, uint32_t item) {
    if (place.kind == PLACE_CHEST)
        return literal->chest[place.index].count[item];
    uint32_t output = output_of(&literal->scenario->station[place.index], item);
    return output == NO_INDEX ? 0 : literal->station[place.index].output[output];
}

void literal_store_put(struct literal *literal, struct place place, uint32_t item, int64_t count) {
    if (place.kind == PLACE_CHEST) {
        literal->chest[place.index].count[item] += count;
    } else {
        uint32_t input = input_of(&literal->scenario->station[place.index], item);
        require(input != NO_INDEX);
        literal->station[place.index].input[input] += count;
    }
    literal->last_move_tick = literal->tick;
    literal_store_latch(literal);
}

void literal_store_take(struct literal *literal, struct place place, uint32_t item, int64_t count) {
    require(count > 0 && count <= literal_store_count(literal, place, item));
    if (place.kind == PLACE_CHEST) {
        literal->chest[place.index].count[item] -= count;
    } else {
        uint32_t output = output_of(&literal->scenario->station[place.index], item);
        literal->station[place.index].output[output] -= count;
    }
    literal->last_move_tick = literal->tick;
    literal_store_latch(literal);
}

static int64_t loop_count(const struct literal *literal, uint32_t index, uint32_t item) {
    const struct scenario_loop *loop = &literal->scenario->loop[index];
    int64_t count = 0;
    for (uint32_t k = 0; k < loop->lane_count; k++)
        count +=
            literal_track_count(literal, (struct place){PLACE_LANE, loop->first_lane + k, 0}, item);
    return count;
}

/* Section 6: the one count that a gate reads, never what is promised. */
static int64_t reading(const struct literal *literal, const struct scenario_gate *gate) {
    uint32_t subject = gate->subject, item = gate->item;
    const struct scenario_station *station = literal->scenario->station + subject;
    switch (gate->reads) {
    case READS_CHEST:
        return item == NO_INDEX ? literal_store_chest_total(literal, subject)
                                : literal->chest[subject].count[item];
    case READS_STATION_INPUT: return literal->station[subject].input[input_of(station, item)];
    case READS_STATION_OUTPUT: return literal->station[subject].output[output_of(station, item)];
    case READS_LOOP: return loop_count(literal, subject, item);
    case READS_LANE:
        return literal_track_count(literal, (struct place){PLACE_LANE, subject, 0}, item);
    case READS_LINE:
        return literal_track_count(literal, (struct place){PLACE_LINE, subject, 0}, item);
    }
    require(false);
}

bool literal_store_gate_open(const struct literal *literal, uint32_t index) {
    if (index == NO_INDEX)
        return true;
    const struct scenario_gate *gate = &literal->scenario->gate[index];
    const struct literal_gate *now = &literal->gate[index];
    if (gate->kind == GATE_AT_LEAST)
        return reading(literal, gate) >= now->threshold;
    if (gate->kind == GATE_BELOW)
        return now->reopen_below == NOT_GIVEN ? reading(literal, gate) < now->threshold
                                              : now->latch_open;
    bool all = gate->kind == GATE_ALL;
    for (uint32_t child = gate->first_child; child != NO_INDEX;
         child = literal->scenario->gate[child].next_sibling)
        if (literal_store_gate_open(literal, child) != all)
            return !all;
    return all;
}

/* Section 6: a latch closes when count >= below, opens again when count < reopen_below; at tick 0
 * it is open when count < below (before the first tick: literal->tick is NOT_YET). */
void literal_store_latch(struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->gate_count; i++) {
        const struct scenario_gate *gate = &literal->scenario->gate[i];
        struct literal_gate *now = &literal->gate[i];
        if (gate->kind != GATE_BELOW || now->reopen_below == NOT_GIVEN)
            continue;
        int64_t count = reading(literal, gate);
        if (count >= now->threshold)
            now->latch_open = false;
        else if (count < now->reopen_below || literal->tick == NOT_YET)
            now->latch_open = true;
    }
}
