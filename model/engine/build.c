/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/build.c - in this order: belts and tracks, counts, gates, arms, what acts from
 * outside, the agenda. Lists of one kind are stored one after another in a flat array.
 */
#include "model/engine/build.h"

#include <stdio.h>
#include <stdlib.h>

#include "model/engine/arm.h"
#include "model/engine/arm_books.h"
#include "model/engine/belt.h"
#include "model/engine/gate.h"
#include "model/engine/item_books.h"
#include "model/engine/parts.h"
#include "model/engine/station.h"
#include "model/engine/stock.h"
#include "model/engine/track.h"
#include "model/scenario/layout.h"
#include "model/scenario/pairs.h"
#include "sim/require.h"

/* Arms with more items than this find an item by a map of kinds. */
enum { ITEMS_SEARCHED_MOST = 8 };
/* An arm may share the shape of one of so many that were made last. */
enum { SHAPES_COMPARED = 16 };
/* Of 24 bits, in which no length is too long: LIMIT_CELLS. */
enum { LENGTH_MASK = (1 << 24) - 1 };

/* ---- sets of (place, item), sorted ---- */

static int pair_order(const void *a, const void *b) {
    uint64_t x = *(const uint64_t *)a, y = *(const uint64_t *)b;
    return (x > y) - (x < y);
}

/* By place, then by item. The set can't be asked any more. */
static void sort_pairs(struct pairs *pairs) {
    if (pairs->count > 0)
        qsort(pairs->pair, pairs->count, sizeof *pairs->pair, pair_order);
}

static uint32_t pair_place(uint64_t pair) { return (uint32_t)(pair >> 32); }

static uint32_t pair_item(uint64_t pair) { return (uint32_t)pair; }

/* ---- belts and tracks ---- */

static void make_track(struct world *world, uint32_t index, uint32_t belt, uint32_t cells) {
    world->track[index].plan = (struct track_plan){.is_line = !belt_is_loop(world, belt),
                                                   .belt = belt,
                                                   .cell_count = cells,
                                                   .tally = NO_INDEX,
                                                   .loop_tally = NO_INDEX,
                                                   .length_most = 1,
                                                   .crowded_cells = UINT32_MAX};
    world->track[index].state = (struct track){.last_move = NOT_GIVEN};
    world->track[index].load = (struct track_load){.first_placing = NO_INDEX,
                                                   .last_placing = NO_INDEX,
                                                   .first_unreported = NO_INDEX,
                                                   .placing_gap = NOT_GIVEN};
}

static void make_belt(struct world *world, uint32_t index, uint32_t cells, struct ratio rate,
                      uint32_t first_track, uint32_t track_count) {
    struct belt *belt = &world->belt[index].state;
    world->belt[index].plan = (struct belt_plan){
        .cell_count = cells, .first_track = first_track, .track_count = track_count};
    *belt = (struct belt){.empty_tick = NOT_GIVEN};
    belt_clock_init(&belt->clock, rate, world->scenario->ticks_per_second);
    belt_set_step(world, index, 0);
    for (uint32_t i = 0; i < track_count; i++)
        make_track(world, first_track + i, index, cells);
}

/* The fewest cells that make the occupied share reach the threshold. */
static uint32_t crowded_cells(uint32_t cells, struct ratio at) {
    wide_count wanted = (wide_count)cells * (wide_count)at.numerator;
    wide_count part = (wide_count)at.denominator;
    return (uint32_t)((wanted + part - 1) / part);
}

static void make_belts(struct world *world) {
    const struct scenario *scenario = world->scenario;
    world->belt_count = scenario->loop_count + scenario->line_count;
    world->track_count = scenario->lane_count + scenario->line_count;
    world->belt = require_memory(world->belt_count, sizeof *world->belt);
    world->belt_pace = require_memory(world->belt_count, sizeof *world->belt_pace);
    world->track = require_memory(world->track_count, sizeof *world->track);
    world->line_plan = require_memory(scenario->line_count, sizeof *world->line_plan);
    world->line = require_memory(scenario->line_count, sizeof *world->line);
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        const struct scenario_loop *loop = &scenario->loop[i];
        make_belt(world, i, loop->cell_count, loop->rate, loop->first_lane, loop->lane_count);
    }
    for (uint32_t i = 0; i < scenario->lane_count; i++) {
        uint32_t cells = world->track[i].plan.cell_count;
        world->track[i].plan.crowded_cells = crowded_cells(cells, scenario->watch.congested_at);
        lane_init(&world->track[i].lane, cells);
    }
    uint32_t first_item = 0;
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        const struct scenario_line *line = &scenario->line[i];
        make_belt(world, scenario->loop_count + i, line->cell_count, line->rate,
                  scenario->lane_count + i, 1);
        world->line_plan[i].first_item = first_item;
        world->line[i].rolled_tick = NOT_GIVEN;
        first_item += line->cell_count;
    }
    world->line_item = require_memory(first_item, sizeof *world->line_item);
    for (uint32_t i = 0; i < world->track_count; i++)
        track_find_quiet_range(world, i);
}

/* The list is good until the next call. */
static struct layout_items items_of(const struct world *world, const struct scenario_arm *arm) {
    return layout_items_of_arm(world->scenario, arm, world->item_scratch);
}

static bool is_track(enum place_kind kind) { return kind == PLACE_LANE || kind == PLACE_LINE; }

/* Everything that an arm or a drop may put on a track. */
static struct pairs track_pairs(const struct world *world) {
    const struct scenario *scenario = world->scenario;
    struct pairs pairs = {0};
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (!is_track(arm->to.kind))
            continue;
        struct layout_items items = items_of(world, arm);
        for (uint32_t j = 0; j < items.count; j++)
            pairs_add(&pairs, track_of_place(world, arm->to), items.item[j], 0);
    }
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind == INCIDENT_DROP)
            pairs_add(&pairs, track_of_place(world, scenario->incident[i].track),
                      scenario->incident[i].item, 0);
    sort_pairs(&pairs);
    return pairs;
}

static void make_kinds(struct world *world) {
    struct pairs pairs = track_pairs(world);
    world->kind_count = pairs.count;
    world->kind = require_memory((size_t)pairs.count + 1, sizeof *world->kind);
    world->kind_reads = require_memory(pairs.count, sizeof *world->kind_reads);
    for (uint32_t i = 0; i < world->kind_count; i++) {
        struct track_plan *track = &world->track[pair_place(pairs.pair[i])].plan;
        uint32_t item = pair_item(pairs.pair[i]);
        uint32_t length = world->scenario->item[item].length;
        world->kind[i] = (struct track_kind){.item = item, .special = length > 1 || track->is_line};
        world->kind[i].length = length & LENGTH_MASK;
        world->kind_reads[i] = (struct kind_reads){NO_INDEX, NO_INDEX};
        if (track->kind_count++ == 0)
            track->first_kind = i;
        if (length > track->length_most)
            track->length_most = length;
    }
    pairs_free(&pairs);
}

/* ---- counts ---- */

static uint32_t add_tally(struct world *world, int64_t limit) {
    world->tally[world->tally_count] =
        (struct tally){.room = limit, .waiting_for_more = NO_INDEX, .waiting_for_room = NO_INDEX};
    return world->tally_count++;
}

/* False when one of the items_of an arm is never at its source; a chest may hold anything. */
static bool may_come(const struct world *world, const struct scenario_arm *arm, uint32_t item) {
    return !is_track(arm->from.kind) ||
           track_kind_of(world, track_of_place(world, arm->from), item) != NO_INDEX;
}

/* Every item that can ever be in a chest, or that a gate, limit or demand names there. */
static struct pairs chest_pairs(const struct world *world) {
    const struct scenario *scenario = world->scenario;
    struct pairs pairs = {0};
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        const struct item_counts *lists[] = {&scenario->chest[i].start, &scenario->chest[i].limits};
        for (int list = 0; list < 2; list++)
            for (uint32_t j = 0; j < lists[list]->count; j++)
                pairs_add(&pairs, i, lists[list]->entry[j].item, 0);
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (arm->to.kind != PLACE_CHEST)
            continue;
        struct layout_items items = items_of(world, arm);
        for (uint32_t j = 0; j < items.count; j++)
            if (may_come(world, arm, items.item[j]))
                pairs_add(&pairs, arm->to.index, items.item[j], 0);
    }
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        pairs_add(&pairs, scenario->supply[i].chest, scenario->supply[i].item, 0);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        pairs_add(&pairs, scenario->demand[i].chest, scenario->demand[i].item, 0);
    for (uint32_t i = 0; i < scenario->gate_count; i++) {
        const struct scenario_gate *gate = &scenario->gate[i];
        if (gate->first_child == NO_INDEX && gate->reads == READS_CHEST && gate->item != NO_INDEX)
            pairs_add(&pairs, gate->subject, gate->item, 0);
    }
    sort_pairs(&pairs);
    return pairs;
}

static void fill_chest(struct world *world, uint32_t index) {
    const struct scenario_chest *chest = &world->scenario->chest[index];
    for (uint32_t i = 0; i < chest->limits.count; i++) {
        uint32_t tally = stock_tally_of_chest(world, index, chest->limits.entry[i].item);
        world->tally[tally].room = chest->limits.entry[i].count;
    }
    for (uint32_t i = 0; i < chest->start.count; i++) {
        uint32_t tally = stock_tally_of_chest(world, index, chest->start.entry[i].item);
        stock_lay(world, tally, world->chest_total[index], chest->start.entry[i].count);
    }
}

/* A tally for all items of a chest, and one for each, or one for both. */
static void make_chest(struct world *world, uint32_t index, const uint64_t *pair, uint32_t count) {
    const struct scenario_chest *chest = &world->scenario->chest[index];
    world->chest_total[index] = world->tally_count;
    int64_t limit = chest->capacity;
    if (count != 1 || chest->limits.count > 0) {
        world->chest_item[add_tally(world, limit)] = NO_INDEX;
        limit = NO_LIMIT;
    }
    for (uint32_t i = 0; i < count; i++)
        world->chest_item[add_tally(world, limit)] = pair_item(pair[i]);
    world->chest_total[index + 1] = world->tally_count;
    fill_chest(world, index);
}

static void make_chests(struct world *world, const struct pairs *pairs) {
    uint32_t chests = world->scenario->chest_count, next = 0;
    world->chest_total = require_memory((size_t)chests + 1, sizeof *world->chest_total);
    world->chest_item = require_memory((size_t)pairs->count + chests, sizeof *world->chest_item);
    for (uint32_t i = 0; i < chests; i++) {
        uint32_t first = next;
        while (next < pairs->count && pair_place(pairs->pair[next]) == i)
            next++;
        make_chest(world, i, pairs->pair + first, next - first);
    }
    world->chest_item =
        require_more_memory(world->chest_item, world->tally_count, sizeof *world->chest_item);
}

/* The tallies of a side of a station: one for all items unless there is one alone. */
static void add_side(struct world *world, uint32_t item_count) {
    if (item_count != 1)
        add_tally(world, NO_LIMIT);
}

static void make_stations(struct world *world) {
    const struct scenario *scenario = world->scenario;
    world->station = require_memory(scenario->station_count, sizeof *world->station);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct scenario_station *fixed = &scenario->station[i];
        add_side(world, fixed->takes.count);
        world->station[i] =
            (struct station){.first_input = world->tally_count, .state = STATION_GATED};
        for (uint32_t j = 0; j < fixed->takes.count; j++)
            add_tally(world, fixed->ahead * fixed->takes.entry[j].count);
        add_side(world, fixed->makes_count);
        for (uint32_t j = 0; j < fixed->makes_count; j++)
            add_tally(world, NO_LIMIT);
    }
}

static void make_tallies(struct world *world) {
    const struct scenario *scenario = world->scenario;
    struct pairs pairs = chest_pairs(world);
    size_t most = pairs.count + scenario->chest_count + 2 * (size_t)scenario->station_count +
                  scenario->gate_count;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        most += scenario->station[i].takes.count + scenario->station[i].makes_count;
    world->tally = require_memory(most, sizeof *world->tally);
    make_chests(world, &pairs);
    make_stations(world);
    pairs_free(&pairs);
}

/* ---- gates ---- */

static uint32_t input_of(const struct scenario_station *station, uint32_t item) {
    uint32_t i = 0;
    while (i < station->takes.count && station->takes.entry[i].item != item)
        i++;
    return i < station->takes.count ? i : NO_INDEX;
}

static uint32_t output_of(const struct scenario_station *station, uint32_t item) {
    uint32_t i = 0;
    while (i < station->makes_count && station->makes[i].item != item)
        i++;
    return i < station->makes_count ? i : NO_INDEX;
}

/* The tally in `*slot`, made when it is not there yet. */
static uint32_t tally_in(struct world *world, uint32_t *slot) {
    if (*slot == NO_INDEX)
        *slot = add_tally(world, NO_LIMIT);
    return *slot;
}

static uint32_t tally_of_track(struct world *world, uint32_t track, uint32_t item) {
    if (item == NO_INDEX)
        return tally_in(world, &world->track[track].plan.tally);
    uint32_t kind = track_kind_of(world, track, item);
    if (kind == NO_INDEX)
        return add_tally(world, NO_LIMIT); /* it never comes there: always 0 */
    return tally_in(world, &world->kind_reads[world->track[track].plan.first_kind + kind].tally);
}

/* Where a lane keeps the tally of its loop for an item (NO_INDEX: for all); NULL: never there. */
static uint32_t *loop_slot(struct world *world, uint32_t lane, uint32_t item) {
    if (item == NO_INDEX)
        return &world->track[lane].plan.loop_tally;
    uint32_t kind = track_kind_of(world, lane, item);
    return kind == NO_INDEX
               ? NULL
               : &world->kind_reads[world->track[lane].plan.first_kind + kind].loop_tally;
}

static uint32_t tally_of_loop(struct world *world, uint32_t loop, uint32_t item) {
    const struct scenario_loop *fixed = &world->scenario->loop[loop];
    uint32_t tally = NO_INDEX;
    for (uint32_t i = 0; i < fixed->lane_count; i++) {
        uint32_t *slot = loop_slot(world, fixed->first_lane + i, item);
        if (slot != NULL && *slot != NO_INDEX)
            tally = *slot;
    }
    if (tally == NO_INDEX)
        tally = add_tally(world, NO_LIMIT);
    for (uint32_t i = 0; i < fixed->lane_count; i++) {
        uint32_t *slot = loop_slot(world, fixed->first_lane + i, item);
        if (slot != NULL)
            *slot = tally;
    }
    return tally;
}

static uint32_t tally_read_by(struct world *world, const struct scenario_gate *gate) {
    const struct scenario *scenario = world->scenario;
    switch (gate->reads) {
    case READS_CHEST:
        return gate->item == NO_INDEX ? world->chest_total[gate->subject]
                                      : stock_tally_of_chest(world, gate->subject, gate->item);
    case READS_STATION_INPUT:
        return stock_first_input(world, gate->subject) +
               input_of(&scenario->station[gate->subject], gate->item);
    case READS_STATION_OUTPUT:
        return stock_first_output(world, gate->subject) +
               output_of(&scenario->station[gate->subject], gate->item);
    case READS_LOOP: return tally_of_loop(world, gate->subject, gate->item);
    case READS_LANE: return tally_of_track(world, gate->subject, gate->item);
    case READS_LINE: return tally_of_track(world, scenario->lane_count + gate->subject, gate->item);
    }
    require(false);
    return NO_INDEX;
}

/* Lists the gates that read each tally. */
static void hang_leaves(struct world *world) {
    world->first_leaf = require_memory(world->tally_count, sizeof *world->first_leaf);
    for (uint32_t i = 0; i < world->tally_count; i++)
        world->first_leaf[i] = NO_INDEX;
    for (uint32_t i = 0; i < world->scenario->gate_count; i++) {
        struct gate *gate = &world->gate[i];
        if (gate->tally == NO_INDEX)
            continue;
        gate->next_on_tally = world->first_leaf[gate->tally];
        world->first_leaf[gate->tally] = i;
    }
}

/* Where latches reopen, if there are any. */
static void make_latches(struct world *world) {
    const struct scenario *scenario = world->scenario;
    bool some = false;
    for (uint32_t i = 0; i < scenario->gate_count; i++)
        some |= scenario->gate[i].reopen_below != NOT_GIVEN;
    if (!some)
        return;
    world->gate_reopen = require_memory(scenario->gate_count, sizeof *world->gate_reopen);
    for (uint32_t i = 0; i < scenario->gate_count; i++)
        world->gate_reopen[i] = scenario->gate[i].reopen_below;
}

static void make_gates(struct world *world) {
    const struct scenario *scenario = world->scenario;
    world->gate = require_memory(scenario->gate_count, sizeof *world->gate);
    for (uint32_t i = 0; i < scenario->gate_count; i++) {
        const struct scenario_gate *fixed = &scenario->gate[i];
        world->gate[i] = (struct gate){
            .kind = (uint8_t)fixed->kind, .threshold = fixed->threshold, .tally = NO_INDEX};
        if (fixed->first_child == NO_INDEX)
            world->gate[i].tally = tally_read_by(world, fixed);
    }
    world->tally = require_more_memory(world->tally, world->tally_count, sizeof *world->tally);
    hang_leaves(world);
    make_latches(world);
    for (uint32_t i = 0; i < scenario->gate_count; i++)
        for (uint32_t child = scenario->gate[i].first_child; child != NO_INDEX;
             child = scenario->gate[child].next_sibling) {
            world->gate[child].is_part = true;
            world->gate[child].above = i;
        }
}

/* Marks the kinds that some gate reads, so that a move of others skips the gates. */
static void mark_read_kinds(struct world *world) {
    bool some = false;
    for (uint32_t i = 0; i < world->track_count; i++) {
        const struct track_plan *track = &world->track[i].plan;
        bool all = track->tally != NO_INDEX || track->loop_tally != NO_INDEX;
        for (uint32_t j = track->first_kind; j < track->first_kind + track->kind_count; j++) {
            const struct kind_reads *reads = &world->kind_reads[j];
            bool is_read = all || reads->tally != NO_INDEX || reads->loop_tally != NO_INDEX;
            world->kind[j].is_read = is_read;
            some |= is_read;
        }
    }
    if (some)
        return;
    free(world->kind_reads);
    world->kind_reads = NULL;
}

static void own_gate(struct world *world, uint32_t gate, enum part_kind kind, uint32_t index) {
    if (gate == NO_INDEX)
        return;
    world->gate[gate].owner_kind = (uint8_t)kind;
    world->gate[gate].above = index;
}

static void own_gates(struct world *world) {
    const struct scenario *scenario = world->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        own_gate(world, scenario->arm[i].gate, PART_ARM, i);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        own_gate(world, scenario->station[i].gate, PART_STATION, i);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        own_gate(world, scenario->supply[i].gate, PART_SUPPLY, i);
}

/* ---- chance ---- */

static uint32_t add_chance(struct world *world, const char *owner, const char *purpose) {
    world->random =
        require_more_memory(world->random, (size_t)world->chance_count + 1, sizeof *world->random);
    random_start(&world->random[world->chance_count], world->scenario->seed, owner, purpose);
    return world->chance_count++;
}

static uint32_t chance_for_span(struct world *world, const struct span *span, const char *owner,
                                const char *purpose) {
    return span_is_random(span) ? add_chance(world, owner, purpose) : NO_INDEX;
}

static void make_output_chances(struct world *world, const struct scenario_station *fixed) {
    for (uint32_t i = 0; i < fixed->makes_count; i++) {
        if (!fixed->makes[i].has_chance)
            continue;
        char purpose[128];
        snprintf(purpose, sizeof purpose, "chance %s",
                 world->scenario->item[fixed->makes[i].item].name);
        add_chance(world, fixed->name, purpose);
    }
}

/* The chances of a station one after another: of its time, of its outputs. */
static void make_station_chances(struct world *world) {
    uint32_t count = world->scenario->station_count, before = world->chance_count;
    world->station_chance = require_memory(count, sizeof *world->station_chance);
    for (uint32_t i = 0; i < count; i++) {
        const struct scenario_station *fixed = &world->scenario->station[i];
        world->station_chance[i] = world->chance_count;
        chance_for_span(world, &fixed->time, fixed->name, "time");
        make_output_chances(world, fixed);
    }
    if (world->chance_count > before)
        return;
    free(world->station_chance);
    world->station_chance = NULL;
}

/* ---- arms ---- */

static uint32_t source_of(const struct world *world, const struct scenario_arm *arm,
                          uint32_t item) {
    uint32_t output;
    switch (arm->from.kind) {
    case PLACE_CHEST: return stock_tally_of_chest(world, arm->from.index, item);
    case PLACE_STATION:
        output = output_of(&world->scenario->station[arm->from.index], item);
        return output == NO_INDEX ? NO_INDEX : stock_first_output(world, arm->from.index) + output;
    case PLACE_LANE:
    case PLACE_LINE: break;
    }
    return track_kind_of(world, track_of_place(world, arm->from), item);
}

static uint32_t dest_of(const struct world *world, const struct scenario_arm *arm, uint32_t item) {
    switch (arm->to.kind) {
    case PLACE_CHEST: return stock_tally_of_chest(world, arm->to.index, item);
    case PLACE_STATION:
        return stock_first_input(world, arm->to.index) +
               input_of(&world->scenario->station[arm->to.index], item);
    case PLACE_LANE:
    case PLACE_LINE: break;
    }
    return track_kind_of(world, track_of_place(world, arm->to), item);
}

/* The tally of a chest or station side, or the track: `in` is the side that an arm puts to. */
static uint32_t common_of(const struct world *world, struct place place, bool in) {
    if (place.kind == PLACE_CHEST)
        return world->chest_total[place.index];
    if (place.kind == PLACE_STATION)
        return in ? stock_all_inputs(world, place.index) : stock_all_outputs(world, place.index);
    return track_of_place(world, place);
}

static struct arm_item arm_item_of(const struct world *world, const struct scenario_arm *fixed,
                                   uint32_t item) {
    return (struct arm_item){
        .item = item, .source = source_of(world, fixed, item), .dest = dest_of(world, fixed, item)};
}

/* What never comes to its source is left out; but an arm that gathers a hand from a loop or line
 * has to know of all its items whether they would be accepted, so there they follow the others. */
static void make_arm_items(struct world *world, uint32_t index, struct arm_item *items,
                           struct arm_shape *shape) {
    const struct scenario_arm *fixed = &world->scenario->arm[index];
    struct arm_plan *arm = &world->arm[index].plan;
    struct arm_wait *wait = &world->arm[index].wait;
    arm->item = items;
    struct layout_items fitting = items_of(world, fixed);
    bool from_track = is_track(fixed->from.kind);
    for (int likely = 1; likely >= (from_track ? 0 : 1); likely--) {
        for (uint32_t i = 0; i < fitting.count; i++) {
            struct arm_item item = arm_item_of(world, fixed, fitting.item[i]);
            if ((item.source != NO_INDEX) == likely)
                items[shape->item_count++] = item;
        }
        if (likely)
            shape->likely_count = shape->item_count;
    }
    for (uint32_t i = 0; i < shape->item_count; i++) {
        if (from_track && i < shape->likely_count)
            wait->classes |= (uint8_t)(1U << items[i].source % LANE_CLASSES);
        if (!is_track(fixed->to.kind) && items[i].dest != NO_INDEX && items[i].dest != arm->to &&
            stock_is_bounded(world, items[i].dest))
            shape->bounded_room = true;
    }
    shape->one_item = !from_track && shape->likely_count == 1 && shape->choice_chance == NO_INDEX;
}

/* The cell of a lane or line, or which station; NO_INDEX: a chest. */
static uint32_t where(struct place place) {
    if (is_track(place.kind))
        return place.cell;
    return place.kind == PLACE_STATION ? place.index : NO_INDEX;
}

/* The gate of an arm that has none. */
static const bool always_open = true;

/* How far the arms are that have been made. */
struct arms_made {
    uint32_t items, hands, runs, kinds; /* in their arrays */
    uint32_t shapes;
    uint32_t *shape; /* of each arm */
};

/* Room for the runs of different items in a hand: 0 where it never holds but one. */
static uint32_t runs_of(const struct scenario_arm *arm) {
    return is_track(arm->from.kind) && arm->hand > 1 ? (uint32_t)arm->hand : 0;
}

static void make_arm(struct world *world, uint32_t index) {
    const struct scenario_arm *fixed = &world->scenario->arm[index];
    struct arm_plan *arm = &world->arm[index].plan;
    *arm = (struct arm_plan){.from = common_of(world, fixed->from, false),
                             .to = common_of(world, fixed->to, true),
                             .from_cell = where(fixed->from),
                             .to_cell = where(fixed->to),
                             .placing = NO_INDEX,
                             .gate = fixed->gate == NO_INDEX ? &always_open
                                                             : &world->gate[fixed->gate].open};
}

/* What it has of state, when its shape is known. */
static void make_arm_state(struct world *world, uint32_t index, const struct arm_shape *shape,
                           struct arms_made *made) {
    struct arm *arm = &world->arm[index].state;
    *arm = (struct arm){.state = ARM_REACHING,
                        /* the first kind is the first to be tried */
                        .item_slot = shape->likely_count};
    if (!shape->gathers)
        return;
    arm->hand = made->hands++;
    world->hand[arm->hand] = (struct hand){.first_run = made->runs};
    made->runs += runs_of(&world->scenario->arm[index]);
}

/* The map of an arm's items by kind; NO_INDEX: it searches them. */
static uint32_t make_kind_map(struct world *world, const struct arm_plan *arm,
                              uint32_t likely_count, uint32_t *next) {
    if (likely_count <= ITEMS_SEARCHED_MOST)
        return NO_INDEX;
    uint32_t map = *next;
    const struct track_plan *track = &world->track[arm->from].plan;
    world->kind_map = require_more_memory(world->kind_map, (size_t)*next + track->kind_count,
                                          sizeof *world->kind_map);
    for (uint32_t i = 0; i < track->kind_count; i++)
        world->kind_map[map + i] = NO_INDEX;
    for (uint32_t i = 0; i < likely_count; i++)
        world->kind_map[map + arm->item[i].source] = i;
    *next += track->kind_count;
    return map;
}

static struct arm_shape make_shape(struct world *world, uint32_t index, struct arms_made *made) {
    const struct scenario_arm *fixed = &world->scenario->arm[index];
    int64_t out_ticks = (fixed->swing.ticks + 1) / 2;
    struct arm_shape shape = {.hand = fixed->hand,
                              .linger_ticks = fixed->linger_ticks,
                              .out_ticks = out_ticks,
                              .back_ticks = fixed->swing.ticks - out_ticks,
                              .from_track = is_track(fixed->from.kind),
                              .from_line = fixed->from.kind == PLACE_LINE,
                              .to_track = is_track(fixed->to.kind),
                              .gathers = runs_of(fixed) > 0};
    const struct arm_plan *plan = &world->arm[index].plan;
    if (fixed->from.kind == PLACE_LANE)
        shape.class_is_kind = world->track[plan->from].plan.kind_count <= LANE_CLASSES;
    shape.swing_chance = chance_for_span(world, &fixed->swing, fixed->name, "swing");
    shape.choice_chance =
        fixed->choose == CHOOSE_RANDOM ? add_chance(world, fixed->name, "choice") : NO_INDEX;
    make_arm_items(world, index, world->arm_item + made->items, &shape);
    made->items += shape.item_count;
    shape.kind_map =
        shape.from_track ? make_kind_map(world, plan, shape.likely_count, &made->kinds) : NO_INDEX;
    return shape;
}

static bool shapes_equal(const struct arm_shape *a, const struct arm_shape *b) {
    return a->item_count == b->item_count && a->likely_count == b->likely_count &&
           a->kind_map == b->kind_map && a->hand == b->hand && a->swing_chance == b->swing_chance &&
           a->choice_chance == b->choice_chance && a->linger_ticks == b->linger_ticks &&
           a->out_ticks == b->out_ticks && a->back_ticks == b->back_ticks &&
           a->from_track == b->from_track && a->to_track == b->to_track &&
           a->from_line == b->from_line && a->one_item == b->one_item && a->gathers == b->gathers &&
           a->bounded_room == b->bounded_room && a->class_is_kind == b->class_is_kind;
}

/* The index of a shape; one of the last few that is equal serves as well. A chance and a map belong
 * to one arm, so that shapes with one are never equal. */
static uint32_t add_shape(struct world *world, struct arms_made *made, struct arm_shape shape) {
    uint32_t least = made->shapes > SHAPES_COMPARED ? made->shapes - SHAPES_COMPARED : 0;
    for (uint32_t i = made->shapes; i > least; i--)
        if (shapes_equal(&world->arm_shape[i - 1], &shape))
            return i - 1;
    world->arm_shape[made->shapes] = shape;
    return made->shapes++;
}

static void make_arms(struct world *world) {
    const struct scenario *scenario = world->scenario;
    size_t items = 0, hands = 0, runs = 0;
    uint32_t most_items = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        uint32_t count = items_of(world, &scenario->arm[i]).count;
        items += count; /* at most */
        hands += runs_of(&scenario->arm[i]) > 0;
        runs += runs_of(&scenario->arm[i]);
        if (count > most_items)
            most_items = count;
    }
    require(items < NO_INDEX && runs < NO_INDEX);
    world->arm = require_memory(scenario->arm_count, sizeof *world->arm);
    world->arm_item = require_memory(items, sizeof *world->arm_item);
    world->hand = require_memory(hands, sizeof *world->hand);
    world->hand_run = require_memory(runs, sizeof *world->hand_run);
    world->scratch = require_memory(most_items, sizeof *world->scratch);
    world->arm_shape = require_memory(scenario->arm_count, sizeof *world->arm_shape);
    struct arms_made made = {.shape = require_memory(scenario->arm_count, sizeof *made.shape)};
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        make_arm(world, i);
        struct arm_shape shape = make_shape(world, i, &made);
        make_arm_state(world, i, &shape, &made);
        made.shape[i] = add_shape(world, &made, shape);
    }
    world->arm_shape = require_more_memory(world->arm_shape, made.shapes, sizeof *world->arm_shape);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        world->arm[i].plan.shape = &world->arm_shape[made.shape[i]];
    free(made.shape);
}

/* ---- arms in the order of their cells along a track ---- */

static int cell_order(const void *a, const void *b) {
    const struct arm_at_cell *x = a, *y = b;
    if (x->cell != y->cell)
        return x->cell < y->cell ? -1 : 1;
    return (x->arm > y->arm) - (x->arm < y->arm);
}

/* Sorts arms into lists, one for each of `list_count` places; `list_of` says whose an arm is, or
 * NO_INDEX. Fills `first` and `count` of each list. */
struct standing {
    uint32_t list;
    struct arm_at_cell arm;
};

static int standing_order(const void *a, const void *b) {
    const struct standing *x = a, *y = b;
    if (x->list != y->list)
        return x->list < y->list ? -1 : 1;
    return cell_order(&x->arm, &y->arm);
}

static struct arm_at_cell *sorted_arms(struct standing *standing, size_t count) {
    struct arm_at_cell *arm = require_memory(count, sizeof *arm);
    if (count > 0)
        qsort(standing, count, sizeof *standing, standing_order);
    for (size_t i = 0; i < count; i++)
        arm[i] = standing[i].arm;
    return arm;
}

static void stand_along_tracks(struct world *world, bool placing) {
    const struct scenario *scenario = world->scenario;
    struct standing *standing = require_memory(scenario->arm_count, sizeof *standing);
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct place *place = placing ? &scenario->arm[i].to : &scenario->arm[i].from;
        if (is_track(place->kind))
            standing[count++] = (struct standing){.list = track_of_place(world, *place),
                                                  .arm = {.cell = place->cell, .arm = i}};
    }
    struct arm_at_cell *arms = sorted_arms(standing, count);
    for (uint32_t i = 0; i < count; i++) {
        struct track_plan *track = &world->track[standing[i].list].plan;
        uint32_t *first = placing ? &track->first_feeder : &track->first_picker;
        uint32_t *number = placing ? &track->feeder_count : &track->picker_count;
        if (*number == 0)
            *first = i;
        ++*number;
    }
    free(standing);
    if (placing) {
        world->feeder = arms;
        return;
    }
    world->picker = require_memory(count, sizeof *world->picker);
    for (uint32_t i = 0; i < count; i++)
        world->picker[i] = arms[i].arm;
    free(arms);
}

static bool takes_from_lane(const struct arm_plan *arm) {
    return arm->shape->from_track && !arm->shape->from_line;
}

static void make_takers(struct world *world) {
    size_t most = 0, count = 0;
    for (uint32_t i = 0; i < world->scenario->arm_count; i++)
        if (takes_from_lane(&world->arm[i].plan))
            most += world->arm[i].plan.shape->likely_count;
    struct standing *standing = require_memory(most, sizeof *standing);
    for (uint32_t i = 0; i < world->scenario->arm_count; i++) {
        const struct arm_plan *arm = &world->arm[i].plan;
        for (uint32_t j = 0; takes_from_lane(arm) && j < arm->shape->likely_count; j++) {
            uint32_t kind = arm->item[j].source;
            standing[count++] =
                (struct standing){.list = world->track[arm->from].plan.first_kind + kind,
                                  .arm = {.cell = arm->from_cell, .arm = i}};
        }
    }
    world->taker = sorted_arms(standing, count);
    for (uint32_t i = 0, kind = 0; kind <= world->kind_count; kind++) {
        while (i < count && standing[i].list < kind)
            i++;
        world->kind[kind].first_taker = i;
    }
    free(standing);
}

/* What an arm at a lane has to know of its neighbours downstream. */
static void make_neighbours(struct world *world) {
    for (uint32_t i = 0; i < world->scenario->arm_count; i++) {
        struct arm_plan *arm = &world->arm[i].plan;
        if (takes_from_lane(arm))
            arm->first_feeder = track_first_feeder(world, arm->from, arm->from_cell);
        bool to_lane = world->scenario->arm[i].to.kind == PLACE_LANE;
        for (uint32_t j = 0; to_lane && j < arm->shape->item_count; j++) {
            struct arm_item *item = &world->arm_item[arm->item - world->arm_item + j];
            if (item->dest != NO_INDEX)
                item->first_taker = track_first_taker(world, arm->to, item->dest, arm->to_cell);
        }
    }
}

static void stand_arms(struct world *world) {
    stand_along_tracks(world, true);
    stand_along_tracks(world, false);
    make_takers(world);
    for (uint32_t i = 0; i < world->track_count; i++) {
        world->track[i].plan.first_waiting_word = world->word_count;
        world->word_count += (world->track[i].plan.feeder_count + 63) / 64;
    }
    world->waiting = require_memory(world->word_count, sizeof *world->waiting);
    make_neighbours(world);
}

/* ---- what is kept of arms beside their records ---- */

/* What is kept of those that are watched while they place: those that place onto tracks first. */
static void make_placing(struct world *world) {
    const struct scenario *scenario = world->scenario;
    uint32_t count = 0;
    for (uint32_t i = 0; i < world->track_count; i++)
        for (uint32_t j = 0; j < world->track[i].plan.feeder_count; j++, count++)
            world->arm[world->feeder[count].arm].plan.placing = count;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (!world->arm[i].plan.shape->to_track && scenario->watch.blocked_after_ticks == 0)
            world->arm[i].plan.placing = count++;
    world->arm_placing = require_memory(count, sizeof *world->arm_placing);
    for (uint32_t i = 0; i < count; i++)
        world->arm_placing[i] =
            (struct arm_placing){.blocked_start = NOT_GIVEN, .next = NO_INDEX, .prev = NO_INDEX};
}

/* Whether the totals of an arm may differ from what follows from its swings. */
static bool has_books(const struct world *world, uint32_t index) {
    const struct arm_plan *arm = &world->arm[index].plan;
    const struct arm_shape *shape = arm->shape;
    bool places_in_time = shape->out_ticks == 0 && arm->placing == NO_INDEX;
    struct part self = {.kind = PART_ARM, .index = index};
    return shape->swing_chance != NO_INDEX || shape->hand > 1 || places_in_time ||
           scenario_part_breaks(world->scenario, self)->present;
}

static void make_books(struct world *world) {
    const struct scenario *scenario = world->scenario;
    bool some = false;
    for (uint32_t i = 0; i < scenario->arm_count && !some; i++)
        some = has_books(world, i);
    for (uint32_t i = 0; i < scenario->incident_count && !some; i++)
        some = scenario->incident[i].kind == INCIDENT_STOP &&
               scenario->incident[i].actor.kind == PART_ARM;
    if (some)
        arm_books_make(world);
}

static void choose_acts(struct world *world) {
    for (uint32_t i = 0; i < world->scenario->arm_count; i++)
        arm_choose_acts(world, i);
}

/* ---- what acts from outside ---- */

static int64_t first_due(struct world *world, const struct span *every, uint32_t chance,
                         int64_t first, int64_t from, int64_t until) {
    int64_t due = first;
    if (due == NOT_GIVEN)
        due = span_draw(every, chance == NO_INDEX ? NULL : &world->random[chance],
                        world->scenario->ticks_per_second);
    if (due < from)
        due = from;
    return due <= until ? due : AGENDA_NEVER;
}

static bool some_draws(const struct scenario_stream *stream, uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        if (span_is_random(&stream[i].every))
            return true;
    return false;
}

static struct stream *make_streams(struct world *world, const struct scenario_stream *fixed,
                                   uint32_t count, uint32_t **chances) {
    struct stream *stream = require_memory(count, sizeof *stream);
    if (some_draws(fixed, count))
        *chances = require_memory(count, sizeof **chances);
    for (uint32_t i = 0; i < count; i++) {
        uint32_t chance = chance_for_span(world, &fixed[i].every, fixed[i].name, "interval");
        if (*chances != NULL)
            (*chances)[i] = chance;
        stream[i].due = first_due(world, &fixed[i].every, chance, fixed[i].first_tick,
                                  fixed[i].from_tick, fixed[i].until_tick);
    }
    return stream;
}

static void make_supplies_and_demands(struct world *world) {
    const struct scenario *scenario = world->scenario;
    world->supply =
        make_streams(world, scenario->supply, scenario->supply_count, &world->supply_chance);
    world->demand =
        make_streams(world, scenario->demand, scenario->demand_count, &world->demand_chance);
    world->supply_stops = require_memory(scenario->supply_count, sizeof *world->supply_stops);
    world->demand_stops = require_memory(scenario->demand_count, sizeof *world->demand_stops);
    world->supply_waits_for_gate =
        require_memory(scenario->supply_count, sizeof *world->supply_waits_for_gate);
}

/* An incident needs room for what it may change, which is not made in a tick. */
static void prepare_incident(struct world *world, const struct scenario_incident *incident) {
    if (incident->kind == INCIDENT_SET_CAPACITY)
        stock_make_limits(world);
    if (incident->kind == INCIDENT_STOP && incident->actor.kind == PART_STATION)
        station_make_stopped(world);
}

static void make_incidents(struct world *world) {
    uint32_t count = world->scenario->incident_count;
    world->incident_chance = require_memory(count, sizeof *world->incident_chance);
    world->incident = require_memory(count, sizeof *world->incident);
    for (uint32_t i = 0; i < count; i++) {
        const struct scenario_incident *fixed = &world->scenario->incident[i];
        uint32_t *chance = &world->incident_chance[i];
        *chance = NO_INDEX;
        world->incident[i].due = fixed->at_tick;
        prepare_incident(world, fixed);
        if (!fixed->repeats)
            continue;
        *chance = chance_for_span(world, &fixed->every, fixed->label, "interval");
        world->incident[i].due =
            first_due(world, &fixed->every, *chance, fixed->first_tick, 0, NO_LIMIT);
    }
}

static void add_breakdown(struct world *world, struct part actor) {
    const struct breaks *fixed = scenario_part_breaks(world->scenario, actor);
    if (!fixed->present)
        return;
    const char *name = scenario_part_name(world->scenario, actor);
    size_t count = (size_t)world->breakdown_count + 1;
    world->breakdown_plan =
        require_more_memory(world->breakdown_plan, count, sizeof *world->breakdown_plan);
    world->breakdown = require_more_memory(world->breakdown, count, sizeof *world->breakdown);
    struct breakdown_plan plan = {.actor = actor};
    plan.after_chance = chance_for_span(world, &fixed->after, name, "after");
    plan.repair_chance = chance_for_span(world, &fixed->repair, name, "repair");
    world->breakdown_plan[world->breakdown_count] = plan;
    world->breakdown[world->breakdown_count++] = (struct breakdown){
        .due = first_due(world, &fixed->after, plan.after_chance, NOT_GIVEN, 0, NO_LIMIT)};
    if (actor.kind == PART_STATION)
        station_make_stopped(world);
}

static void make_breakdowns(struct world *world) {
    const struct scenario *scenario = world->scenario;
    const struct {
        enum part_kind kind;
        uint32_t count;
    } order[] = {{PART_ARM, scenario->arm_count},
                 {PART_STATION, scenario->station_count},
                 {PART_LOOP, scenario->loop_count},
                 {PART_LINE, scenario->line_count},
                 {PART_SUPPLY, scenario->supply_count}};
    for (size_t kind = 0; kind < sizeof order / sizeof *order; kind++)
        for (uint32_t i = 0; i < order[kind].count; i++)
            add_breakdown(world, (struct part){.kind = order[kind].kind, .index = i});
}

static bool is_between_stocks(const struct arm_record *arm) {
    return !arm->plan.shape->from_track && !arm->plan.shape->to_track;
}

/* They follow the first `waiters`. */
static void make_second_waiters(struct world *world, uint32_t waiters) {
    uint32_t arms = world->scenario->arm_count, count = 0;
    for (uint32_t i = 0; i < arms; i++)
        count += is_between_stocks(&world->arm[i]);
    world->second_waiter = require_memory(count, sizeof *world->second_waiter);
    world->waiter_count = waiters + count;
    count = 0;
    for (uint32_t i = 0; i < arms; i++) {
        struct arm_record *arm = &world->arm[i];
        if (is_between_stocks(arm)) {
            world->second_waiter[count] = i;
            arm->plan.room_waiter = waiters + count++;
        } else if (!arm->plan.shape->from_track) {
            arm->plan.room_waiter = stock_waiter_for_more_of_arm(world, arm);
        }
    }
}

static void make_waiters(struct world *world) {
    const struct scenario *scenario = world->scenario;
    make_second_waiters(world,
                        scenario->arm_count + scenario->supply_count + scenario->demand_count);
    require(world->waiter_count < STOCK_FIRST && world->tally_count < STOCK_FIRST - 1);
    world->waiter = require_memory(world->waiter_count, sizeof *world->waiter);
    for (uint32_t i = 0; i < world->waiter_count; i++)
        world->waiter[i].prev = NO_INDEX;
}

/* ---- the agenda ---- */

static void make_group_ranks(struct world *world, uint32_t actors) {
    world->group_rank = require_memory(actors / ACTOR_GROUP + 1, sizeof *world->group_rank);
    uint8_t rank = 0;
    for (uint32_t actor = 0; actor < actors; actor += ACTOR_GROUP) {
        while (actor >= world->first_actor[rank + 1])
            rank++;
        world->group_rank[actor / ACTOR_GROUP] = rank;
    }
}

static void make_agenda(struct world *world) {
    const struct scenario *scenario = world->scenario;
    const uint32_t count[RANKS] = {[RANK_INCIDENT] = scenario->incident_count,
                                   [RANK_BREAKDOWN] = world->breakdown_count,
                                   [RANK_SUPPLY] = scenario->supply_count,
                                   [RANK_DEMAND] = scenario->demand_count,
                                   [RANK_BATCH_END] = scenario->station_count,
                                   [RANK_ARM] = scenario->arm_count,
                                   [RANK_BATCH_START] = scenario->station_count,
                                   [RANK_STATION_CHECK] = scenario->station_count,
                                   [RANK_TRACK_CHECK] = world->track_count,
                                   [RANK_LOOP_CHECK] = scenario->loop_count,
                                   [RANK_WORLD_CHECK] = 1};
    uint32_t actors = 0;
    for (int rank = 0; rank < RANKS; rank++) {
        world->first_actor[rank] = actors;
        actors += count[rank];
    }
    world->first_actor[RANKS] = actors;
    world->arm_count = scenario->arm_count;
    make_group_ranks(world, actors);
    /* Half a swing, the way to the next cell, and many a delivery lie within three seconds. */
    agenda_init(&world->agenda, actors, scenario->ticks_per_second * 3);
}

static void wake_rank(struct world *world, enum rank rank) {
    for (uint32_t actor = world->first_actor[rank]; actor < world->first_actor[rank + 1]; actor++)
        agenda_set(&world->agenda, actor, 0);
}

static void wake_all_at_start(struct world *world) {
    const struct scenario *scenario = world->scenario;
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        agenda_set(&world->agenda, world_actor(world, RANK_INCIDENT, i), world->incident[i].due);
    for (uint32_t i = 0; i < world->breakdown_count; i++)
        agenda_set(&world->agenda, world_actor(world, RANK_BREAKDOWN, i), world->breakdown[i].due);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        agenda_set(&world->agenda, world_actor(world, RANK_SUPPLY, i), world->supply[i].due);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        agenda_set(&world->agenda, world_actor(world, RANK_DEMAND, i), world->demand[i].due);
    wake_rank(world, RANK_ARM);
    wake_rank(world, RANK_BATCH_START);
    wake_rank(world, RANK_WORLD_CHECK);
}

void build_world(struct world *world) {
    const struct scenario *scenario = world->scenario;
    world->progress.tick = world->progress.last_move = NOT_GIVEN;
    world->shape = scenario_shape(scenario);
    world->standstill.outside_tick = NOT_GIVEN;
    item_books_init(world);
    world->item_scratch = require_memory(scenario->item_count, sizeof *world->item_scratch);
    world->item_marks = require_memory(scenario->item_count, sizeof *world->item_marks);
    make_belts(world);
    make_kinds(world);
    make_tallies(world);
    make_gates(world);
    mark_read_kinds(world);
    own_gates(world);
    gate_init_all(world);
    make_station_chances(world);
    make_arms(world);
    stand_arms(world);
    make_placing(world);
    make_books(world);
    choose_acts(world);
    make_waiters(world);
    make_supplies_and_demands(world);
    make_incidents(world);
    make_breakdowns(world);
    make_agenda(world);
    wake_all_at_start(world);
}

void build_free(struct world *world) {
    for (uint32_t i = 0; i < world->scenario->lane_count; i++)
        lane_free(&world->track[i].lane);
    agenda_free(&world->agenda);
    void *const memory[] = {world->line_plan,      world->gate_reopen,
                            world->station_chance, world->supply_chance,
                            world->demand_chance,  world->incident_chance,
                            world->breakdown_plan, world->supply_waits_for_gate,
                            world->tally,          world->waiter,
                            world->gate,           world->belt,
                            world->track,          world->arm_placing,
                            world->line,           world->line_item,
                            world->kind,           world->taker,
                            world->feeder,         world->picker,
                            world->waiting,        world->arm,
                            world->arm_item,       world->kind_map,
                            world->hand_run,       world->station,
                            world->hand,           world->second_waiter,
                            world->supply,         world->demand,
                            world->incident,       world->breakdown,
                            world->random,         world->item,
                            world->item_strays,    world->demand_orders,
                            world->demand_by_item, world->scratch,
                            world->item_scratch,   world->item_marks,
                            world->chest_item,     world->chest_total,
                            world->chest_limit,    world->first_leaf,
                            world->belt_pace,      world->arm_shape,
                            world->arm_books,      world->kind_reads,
                            world->group_rank,     world->supply_stops,
                            world->demand_stops,   world->station_stopped};
    for (size_t i = 0; i < sizeof memory / sizeof *memory; i++)
        free(memory[i]);
}
