/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/waits.c - builds the wait-for graph: first the waits of all arms, stations,
 * supplies and demands, then those of the places that are waited for. */
#include "model/cause/waits.h"

#include <stdlib.h>
#include <string.h>

#include "model/engine/arm.h"
#include "model/engine/gate.h"
#include "model/engine/line.h"
#include "model/engine/parts.h"
#include "model/engine/station.h"
#include "model/engine/stock.h"
#include "model/engine/stream.h"
#include "model/engine/track.h"
#include "model/scenario/layout.h"
#include "sim/array.h"
#include "sim/require.h"

/* What somebody wants of a place: room, or an item. */
struct want {
    uint32_t place;       /* vertex */
    enum wait_reason why; /* WAITS_TO_TAKE, WAITS_TO_BRING */
    uint32_t item;        /* NO_INDEX: whatever lies there */
};

/* Those that put to, or take from, each place. */
struct ends {
    uint32_t *first, *who; /* by place number: vertex of a track, station or chest */
};

/* Whether so many free cells in a row are somewhere on a track; length 0: not looked for yet. */
struct gap {
    uint32_t length;
    bool is_there;
};

struct waits_maker {
    struct ends into, out;         /* arms */
    struct ends supplies, demands; /* by chest's vertex */
    struct want *want;
    uint32_t want_count, want_capacity;
    uint32_t edge_capacity;
    struct waits_edge *old; /* the edges of the last look */
    uint32_t *old_first, old_capacity;
    struct waits_edge *made; /* as they are found */
    uint32_t made_count, made_capacity;
    struct gap *gap; /* [track] as found in this look */
};

/* A look at work. */
struct look {
    struct waits *waits;
    struct waits_maker *maker;
    const struct scenario *scenario;
    const struct world *world;
};

/* ---- vertices ---- */

uint32_t waits_vertex(const struct waits *waits, enum waits_kind kind, uint32_t index) {
    require(index < waits->base[kind + 1] - waits->base[kind]);
    return waits->base[kind] + index;
}

struct waits_thing waits_thing(const struct waits *waits, uint32_t vertex) {
    require(vertex < waits_vertices(waits));
    enum waits_kind kind = WAITS_TRACK;
    while (vertex >= waits->base[kind + 1])
        kind++;
    return (struct waits_thing){kind, vertex - waits->base[kind]};
}

static struct part part_of_track(const struct scenario *scenario, uint32_t track) {
    struct place place = layout_track_as_place(scenario, track);
    return (struct part){place.kind == PLACE_LANE ? PART_LANE : PART_LINE, place.index};
}

struct part waits_part(const struct waits *waits, uint32_t vertex) {
    static const enum part_kind kind[WAITS_KINDS] = {[WAITS_ARM] = PART_ARM,
                                                     [WAITS_STATION] = PART_STATION,
                                                     [WAITS_CHEST] = PART_CHEST,
                                                     [WAITS_ARM_GATE] = PART_ARM,
                                                     [WAITS_STATION_GATE] = PART_STATION,
                                                     [WAITS_SUPPLY_GATE] = PART_SUPPLY,
                                                     [WAITS_SUPPLY] = PART_SUPPLY,
                                                     [WAITS_DEMAND] = PART_DEMAND};
    struct waits_thing thing = waits_thing(waits, vertex);
    if (thing.kind == WAITS_TRACK)
        return part_of_track(waits->scenario, thing.index);
    return (struct part){kind[thing.kind], thing.index};
}

uint32_t waits_vertex_of_place(const struct waits *waits, struct place place) {
    switch (place.kind) {
    case PLACE_CHEST: return waits_vertex(waits, WAITS_CHEST, place.index);
    case PLACE_STATION: return waits_vertex(waits, WAITS_STATION, place.index);
    case PLACE_LANE:
    case PLACE_LINE: return waits_vertex(waits, WAITS_TRACK, layout_track(waits->scenario, place));
    }
    require(false);
    return 0;
}

static void number_vertices(struct waits *waits) {
    const struct scenario *scenario = waits->scenario;
    const uint32_t count[WAITS_KINDS] = {
        [WAITS_TRACK] = layout_track_count(scenario),
        [WAITS_ARM] = scenario->arm_count,
        [WAITS_STATION] = scenario->station_count,
        [WAITS_CHEST] = scenario->chest_count,
        [WAITS_ARM_GATE] = scenario->arm_count,
        [WAITS_STATION_GATE] = scenario->station_count,
        [WAITS_SUPPLY_GATE] = scenario->supply_count,
        [WAITS_SUPPLY] = scenario->supply_count,
        [WAITS_DEMAND] = scenario->demand_count,
    };
    for (int kind = 0; kind < WAITS_KINDS; kind++)
        waits->base[kind + 1] = waits->base[kind] + count[kind];
}

/* ---- who works where ---- */

static uint32_t place_of_end(const struct waits *waits, const void *list, uint32_t index, int end) {
    const struct scenario *scenario = waits->scenario;
    if (list == scenario->arm)
        return waits_vertex_of_place(waits, end == 0 ? scenario->arm[index].to
                                                     : scenario->arm[index].from);
    const struct scenario_stream *stream = list;
    return waits_vertex(waits, WAITS_CHEST, stream[index].chest);
}

static struct ends list_ends(const struct waits *waits, const void *list, uint32_t count, int end) {
    struct ends ends;
    uint32_t vertices = waits_vertices(waits);
    ends.first = require_memory((size_t)vertices + 2, sizeof *ends.first);
    ends.who = require_memory(count, sizeof *ends.who);
    for (uint32_t i = 0; i < count; i++)
        ends.first[place_of_end(waits, list, i, end) + 2]++;
    for (uint32_t i = 0; i < vertices; i++)
        ends.first[i + 2] += ends.first[i + 1];
    for (uint32_t i = 0; i < count; i++)
        ends.who[ends.first[place_of_end(waits, list, i, end) + 1]++] = i;
    return ends;
}

static void ends_free(struct ends *ends) {
    free(ends->first);
    free(ends->who);
}

void waits_init(struct waits *waits, const struct scenario *scenario) {
    *waits = (struct waits){.scenario = scenario, .tick = -1};
    number_vertices(waits);
    uint32_t vertices = waits_vertices(waits);
    waits->status = require_memory(vertices, sizeof *waits->status);
    waits->stuck = require_memory(vertices, sizeof *waits->stuck);
    waits->first = require_memory((size_t)vertices + 1, sizeof *waits->first);
    struct waits_maker *maker = waits->maker = require_memory(1, sizeof *maker);
    maker->old_first = require_memory((size_t)vertices + 1, sizeof *maker->old_first);
    maker->into = list_ends(waits, scenario->arm, scenario->arm_count, 0);
    maker->out = list_ends(waits, scenario->arm, scenario->arm_count, 1);
    maker->supplies = list_ends(waits, scenario->supply, scenario->supply_count, 0);
    maker->demands = list_ends(waits, scenario->demand, scenario->demand_count, 0);
    maker->gap = require_memory(layout_track_count(scenario), sizeof *maker->gap);
}

static void maker_free(struct waits_maker *maker) {
    if (maker == NULL)
        return;
    ends_free(&maker->into);
    ends_free(&maker->out);
    ends_free(&maker->supplies);
    ends_free(&maker->demands);
    free(maker->want);
    free(maker->old);
    free(maker->old_first);
    free(maker->made);
    free(maker->gap);
    free(maker);
}

void waits_free(struct waits *waits) {
    free(waits->status);
    free(waits->stuck);
    free(waits->edge);
    free(waits->first);
    maker_free(waits->maker);
    *waits = (struct waits){0};
}

static void *copy_of(const void *from, size_t count, size_t size) {
    void *copy = require_memory(count, size);
    if (count > 0)
        memcpy(copy, from, count * size);
    return copy;
}

void waits_copy(struct waits *copy, const struct waits *waits) {
    uint32_t vertices = waits_vertices(waits);
    *copy = *waits;
    copy->maker = NULL;
    copy->status = copy_of(waits->status, vertices, sizeof *waits->status);
    copy->stuck = copy_of(waits->stuck, vertices, sizeof *waits->stuck);
    copy->edge = copy_of(waits->edge, waits->edge_count, sizeof *waits->edge);
    copy->first = copy_of(waits->first, (size_t)vertices + 1, sizeof *waits->first);
}

/* ---- edges and wants, as they are found ---- */

/* `since`: from when this may have been so, as far as the parts know; -1: they don't. */
static void add(struct look *look, uint32_t from, uint32_t to, enum wait_reason why, uint32_t item,
                int64_t count, int64_t since) {
    struct waits_maker *maker = look->maker;
    maker->made =
        array_with_room(maker->made, maker->made_count, &maker->made_capacity, sizeof *maker->made);
    maker->made[maker->made_count++] =
        (struct waits_edge){from, to, why, item, count, since, false};
}

static void want(struct look *look, uint32_t place, enum wait_reason why, uint32_t item) {
    struct waits_maker *maker = look->maker;
    maker->want =
        array_with_room(maker->want, maker->want_count, &maker->want_capacity, sizeof *maker->want);
    maker->want[maker->want_count++] = (struct want){place, why, item};
}

static void set_status(struct look *look, uint32_t vertex, enum actor_status status) {
    look->waits->status[vertex] = status;
}

static uint32_t vertex(const struct look *look, enum waits_kind kind, uint32_t index) {
    return waits_vertex(look->waits, kind, index);
}

static void want_item(struct look *look, uint32_t who, uint32_t place, uint32_t item,
                      int64_t since) {
    add(look, who, place, WAITS_FOR_ITEM, item, 0, since);
    want(look, place, WAITS_TO_BRING, item);
}

static void want_room(struct look *look, uint32_t who, uint32_t place, uint32_t item,
                      int64_t since) {
    add(look, who, place, WAITS_FOR_ROOM, item, 0, since);
    want(look, place, WAITS_TO_TAKE, item);
}

/* ---- what arms can move ---- */

/* Index among the arm's items of one that can be where it takes, NO_INDEX: it never moves it. */
static uint32_t moved_by(const struct world *world, uint32_t index, uint32_t item) {
    const struct arm_plan *arm = &world->arm[index].plan;
    for (uint32_t i = 0; i < arm->shape->likely_count; i++)
        if (arm_item_at(world, arm, i) == item)
            return i;
    return NO_INDEX;
}

static bool puts_on_track(const struct arm_plan *arm) { return arm->shape->to_track; }

static bool takes_from_track(const struct arm_plan *arm) { return arm->shape->from_track; }

/* How many of it are where the arm takes. */
static int64_t count_at_source(const struct world *world, const struct arm_plan *arm,
                               uint32_t what) {
    uint32_t source = arm->item[what].source;
    if (takes_from_track(arm))
        return world->kind[world->track[arm->from].plan.first_kind + source].count;
    return world->tally[source].count;
}

static bool accepts(const struct world *world, const struct arm_plan *arm, uint32_t what) {
    if (puts_on_track(arm))
        return true;
    uint32_t dest = arm->item[what].dest;
    return stock_room(world, dest == NO_INDEX ? arm->to : dest, arm->to) > 0;
}

/* ---- arms ---- */

static bool track_runs(const struct world *world, uint32_t track) {
    return world->belt[world->track[track].plan.belt].state.stops == 0;
}

/* Whether an item on a line that is not at rest, or stands before the arm, will get to it. */
static bool reaches_on_line(const struct look *look, const struct arm_plan *arm, uint32_t item) {
    const struct world *world = look->world;
    uint32_t line = arm->from - look->scenario->lane_count;
    int64_t step = belt_clock_step_at(&world->belt[world->track[arm->from].plan.belt].state.clock,
                                      world->progress.tick);
    if (step < world->line[line].roll_until)
        return true;
    uint32_t kind = line_kind_at_step(world, line, arm->from_cell, step);
    return kind != NO_INDEX &&
           world->kind[world->track[arm->from].plan.first_kind + kind].item == item;
}

/* True when one that is on the track comes to the arm without anybody's help. */
static bool comes_by(const struct look *look, const struct arm_plan *arm, uint32_t item) {
    if (!takes_from_track(arm))
        return true;
    if (!track_runs(look->world, arm->from))
        return false;
    return !look->world->track[arm->from].plan.is_line || reaches_on_line(look, arm, item);
}

static int64_t arm_since(const struct look *look, uint32_t index) {
    const struct arm *arm = &look->world->arm[index].state;
    return arm->state == ARM_RETURNING && arm->due > arm->since ? arm->due : arm->since;
}

/* An arm that reaches with an empty hand and an open gate: what keeps it from picking? */
static void look_for_item(struct look *look, uint32_t index, uint32_t who) {
    const struct arm_plan *arm = &look->world->arm[index].plan;
    const struct scenario_arm *fixed = &look->scenario->arm[index];
    uint32_t source = waits_vertex_of_place(look->waits, fixed->from);
    uint32_t dest = waits_vertex_of_place(look->waits, fixed->to);
    bool found = false;
    for (int pass = 0; pass < 2; pass++) /* first for what it has no room, then what is not there */
        for (uint32_t i = 0; i < arm->shape->likely_count; i++) {
            uint32_t item = arm_item_at(look->world, arm, i);
            bool there = count_at_source(look->world, arm, i) > 0;
            bool accepted = accepts(look->world, arm, i);
            if (there && accepted && comes_by(look, arm, item)) {
                set_status(look, who, STATUS_ACTIVE);
                found = true;
            } else if (pass == 0 && there && !accepted) {
                want_room(look, who, dest, item, arm_since(look, index));
                found = true;
            } else if (pass == 1 && accepted) {
                want_item(look, who, source, item, arm_since(look, index));
                found = true;
            }
        }
    if (!found && arm->shape->likely_count > 0)
        want_room(look, who, dest, arm_item_at(look->world, arm, 0), arm_since(look, index));
}

static bool find_gap(const struct world *world, uint32_t track, uint32_t length) {
    if (world->track[track].plan.is_line)
        return false;
    const struct lane *lane = &world->track[track].lane;
    for (uint32_t slot = 0; slot < lane->slot_count; slot++)
        if (lane_is_free(lane, slot, length))
            return true;
    return false;
}

/* True when so many free cells in a row are somewhere on a lane. All who wait for cells of a lane
 * mostly ask for the same. */
static bool has_gap(struct look *look, uint32_t track, uint32_t length) {
    struct gap *gap = &look->maker->gap[track];
    if (gap->length != length)
        *gap = (struct gap){length, find_gap(look->world, track, length)};
    return gap->is_there;
}

static void look_for_cell(struct look *look, uint32_t index, uint32_t who) {
    const struct arm_record *self = &look->world->arm[index];
    const struct arm_plan *arm = &self->plan;
    const struct track_plan *track = &look->world->track[arm->to].plan;
    uint32_t what = arm_run(look->world, self, arm_first_run(look->world, self)).item_slot;
    uint32_t kind = arm->item[what].dest;
    uint32_t length = look->world->kind[track->first_kind + kind].length;
    uint32_t place = vertex(look, WAITS_TRACK, arm->to);
    add(look, who, place, WAITS_FOR_CELL, NO_INDEX, length,
        arm_placing_of(look->world, index)->since);
    want(look, place, WAITS_TO_TAKE, NO_INDEX);
    if (track_runs(look->world, arm->to) && length <= track->cell_count &&
        has_gap(look, arm->to, length))
        set_status(look, who, STATUS_ACTIVE);
}

static void look_at_arm(struct look *look, uint32_t index) {
    const struct arm_plan *arm = &look->world->arm[index].plan;
    uint32_t who = vertex(look, WAITS_ARM, index);
    switch (arm_state_at(look->world, index, look->world->progress.tick)) {
    case ARM_STOPPED: set_status(look, who, STATUS_STOPPED); return;
    case ARM_CARRYING:
    case ARM_RETURNING: set_status(look, who, STATUS_ACTIVE); return;
    case ARM_PLACING:
        if (puts_on_track(arm))
            look_for_cell(look, index, who);
        else
            set_status(look, who, STATUS_ACTIVE);
        return;
    case ARM_REACHING: break;
    }
    if (look->world->arm[index].state.held > 0)
        set_status(look, who, STATUS_ACTIVE); /* its lingering ends */
    else if (!*arm->gate)
        add(look, who, vertex(look, WAITS_ARM_GATE, index), WAITS_FOR_GATE, NO_INDEX, 0,
            arm_since(look, index));
    else
        look_for_item(look, index, who);
}

/* ---- stations ---- */

/* Whether the arm stands ready for the item and only lacks it: then who wants it wants it of the
 * place where the arm takes. */
static bool only_lacks(const struct look *look, uint32_t index, uint32_t item) {
    const struct world *world = look->world;
    const struct arm_plan *arm = &world->arm[index].plan;
    uint32_t what = moved_by(world, index, item);
    return arm_state_at(world, index, world->progress.tick) == ARM_REACHING &&
           world->arm[index].state.held == 0 && *arm->gate && what != NO_INDEX &&
           accepts(world, arm, what) && count_at_source(world, arm, what) == 0;
}

static void look_for_input(struct look *look, uint32_t index, uint32_t who, uint32_t item) {
    uint32_t first = look->maker->into.first[who], end = look->maker->into.first[who + 1];
    int64_t since = look->world->station[index].since;
    bool found = false;
    for (uint32_t i = first; i < end; i++) {
        uint32_t arm = look->maker->into.who[i];
        if (moved_by(look->world, arm, item) == NO_INDEX)
            continue;
        found = true;
        if (only_lacks(look, arm, item))
            want_item(look, who, waits_vertex_of_place(look->waits, look->scenario->arm[arm].from),
                      item, since);
        else
            add(look, who, vertex(look, WAITS_ARM, arm), WAITS_TO_BRING, item, 0, since);
    }
    if (!found)
        add(look, who, WAITS_NOBODY, WAITS_TO_BRING, item, 0, since);
}

/* Those who take an output out of a station. */
static void look_for_unloaders(struct look *look, uint32_t who, uint32_t item, int64_t since) {
    bool found = false;
    for (uint32_t i = look->maker->out.first[who]; i < look->maker->out.first[who + 1]; i++) {
        uint32_t arm = look->maker->out.who[i];
        if (moved_by(look->world, arm, item) == NO_INDEX)
            continue;
        found = true;
        add(look, who, vertex(look, WAITS_ARM, arm), WAITS_TO_TAKE, item, 0, since);
    }
    if (!found)
        add(look, who, WAITS_NOBODY, WAITS_TO_TAKE, item, 0, since);
}

static void look_at_station(struct look *look, uint32_t index) {
    const struct scenario_station *fixed = &look->scenario->station[index];
    const struct station *station = &look->world->station[index];
    uint32_t who = vertex(look, WAITS_STATION, index);
    switch (station_state_now(look->world, index)) {
    case STATION_STOPPED: set_status(look, who, STATUS_STOPPED); break;
    case STATION_WORKING: set_status(look, who, STATUS_ACTIVE); break;
    case STATION_GATED:
        if (gate_is_open(look->world, fixed->gate))
            set_status(look, who, STATUS_ACTIVE);
        else
            add(look, who, vertex(look, WAITS_STATION_GATE, index), WAITS_FOR_GATE, NO_INDEX, 0,
                station->since);
        break;
    case STATION_BLOCKED:
        for (uint32_t i = 0; i < fixed->makes_count; i++)
            if (station_lacks_room_for(look->world, index, i))
                look_for_unloaders(look, who, fixed->makes[i].item, station->since);
        break;
    case STATION_STARVED:
        for (uint32_t i = 0; i < fixed->takes.count; i++)
            if (station_is_short_of(look->world, index, i))
                look_for_input(look, index, who, fixed->takes.entry[i].item);
        break;
    }
}

/* ---- supplies, demands ---- */

static void look_at_supply(struct look *look, uint32_t index) {
    const struct stream *supply = &look->world->supply[index];
    const struct scenario_stream *fixed = &look->scenario->supply[index];
    uint32_t who = vertex(look, WAITS_SUPPLY, index);
    if (supply->open == 0 && supply->due == AGENDA_NEVER)
        set_status(look, who, STATUS_ENDED);
    else if (look->world->supply_stops[index] != 0)
        set_status(look, who, STATUS_STOPPED);
    else if (!gate_is_open(look->world, fixed->gate))
        add(look, who, vertex(look, WAITS_SUPPLY_GATE, index), WAITS_FOR_GATE, NO_INDEX, 0, -1);
    else if (stock_room_in_chest(look->world, fixed->chest, fixed->item) == 0)
        want_room(look, who, vertex(look, WAITS_CHEST, fixed->chest), fixed->item, -1);
    else
        set_status(look, who, STATUS_ACTIVE);
}

static void look_at_demand(struct look *look, uint32_t index) {
    const struct stream *demand = &look->world->demand[index];
    const struct scenario_stream *fixed = &look->scenario->demand[index];
    uint32_t who = vertex(look, WAITS_DEMAND, index);
    if (demand->open == 0 && demand->due == AGENDA_NEVER)
        set_status(look, who, STATUS_ENDED);
    else if (look->world->demand_stops[index] != 0)
        set_status(look, who, STATUS_STOPPED);
    else if (demand->open > 0)
        want_item(look, who, vertex(look, WAITS_CHEST, fixed->chest), fixed->item, -1);
    else
        set_status(look, who, STATUS_ACTIVE);
}

/* ---- gates ---- */

static void look_at_loop(struct look *look, uint32_t who, const struct scenario_gate *leaf,
                         enum wait_reason why, enum wait_reason wanted, int64_t count) {
    const struct scenario_loop *loop = &look->scenario->loop[leaf->subject];
    for (uint32_t i = 0; i < loop->lane_count; i++) {
        uint32_t place = vertex(look, WAITS_TRACK, loop->first_lane + i);
        add(look, who, place, why, leaf->item, count, -1);
        want(look, place, wanted, leaf->item);
    }
}

static void look_at_leaf(struct look *look, uint32_t who, uint32_t leaf_index) {
    const struct scenario_gate *leaf = &look->scenario->gate[leaf_index];
    bool falls = leaf->kind == GATE_BELOW;
    enum wait_reason why = falls ? WAITS_FOR_FALL : WAITS_FOR_RISE;
    enum wait_reason wanted = falls ? WAITS_TO_TAKE : WAITS_TO_BRING;
    int64_t reopen_below = gate_reopen_below(look->world, leaf_index);
    int64_t count =
        reopen_below != NOT_GIVEN ? reopen_below : look->world->gate[leaf_index].threshold;
    uint32_t place = 0;
    switch (leaf->reads) {
    case READS_LOOP: look_at_loop(look, who, leaf, why, wanted, count); return;
    case READS_CHEST: place = vertex(look, WAITS_CHEST, leaf->subject); break;
    case READS_LANE: place = vertex(look, WAITS_TRACK, leaf->subject); break;
    case READS_LINE:
        place = vertex(look, WAITS_TRACK, look->scenario->lane_count + leaf->subject);
        break;
    case READS_STATION_INPUT:
    case READS_STATION_OUTPUT: place = vertex(look, WAITS_STATION, leaf->subject); break;
    }
    add(look, who, place, why, leaf->item, count, -1);
    if (leaf->reads == READS_STATION_OUTPUT && falls)
        look_for_unloaders(look, place, leaf->item, -1);
    else if (leaf->reads == READS_STATION_INPUT && !falls)
        look_for_input(look, leaf->subject, place, leaf->item);
    else if (leaf->reads != READS_STATION_INPUT && leaf->reads != READS_STATION_OUTPUT)
        want(look, place, wanted, leaf->item);
    /* else the station says itself what keeps it from working */
}

/* Every shut leaf of a gate that somebody waits for. */
static void look_at_gate(struct look *look, uint32_t who, uint32_t gate) {
    if (gate_is_open(look->world, gate))
        return;
    const struct scenario_gate *node = &look->scenario->gate[gate];
    if (node->kind == GATE_BELOW || node->kind == GATE_AT_LEAST)
        look_at_leaf(look, who, gate);
    else
        for (uint32_t child = node->first_child; child != NO_INDEX;
             child = look->scenario->gate[child].next_sibling)
            look_at_gate(look, who, child);
}

static uint32_t gate_of(const struct scenario *scenario, struct waits_thing thing) {
    switch (thing.kind) {
    case WAITS_ARM_GATE: return scenario->arm[thing.index].gate;
    case WAITS_STATION_GATE: return scenario->station[thing.index].gate;
    case WAITS_SUPPLY_GATE: return scenario->supply[thing.index].gate;
    case WAITS_TRACK:
    case WAITS_ARM:
    case WAITS_STATION:
    case WAITS_CHEST:
    case WAITS_SUPPLY:
    case WAITS_DEMAND: break;
    }
    return NO_INDEX;
}

static void look_at_gates(struct look *look) {
    uint32_t waiting = look->maker->made_count; /* all who wait for a gate have said so */
    for (uint32_t i = 0; i < waiting; i++) {
        struct waits_edge edge = look->maker->made[i];
        if (edge.why == WAITS_FOR_GATE)
            look_at_gate(look, edge.to, gate_of(look->scenario, waits_thing(look->waits, edge.to)));
    }
}

/* ---- places that are waited for ---- */

static void nobody(struct look *look, const struct want *want, uint32_t item) {
    add(look, want->place, WAITS_NOBODY, want->why, item, 0, -1);
}

/* Whether some of an item lies where the arm takes on a line, or will yet come by: what has passed
 * it never comes back. */
static bool lies_before(const struct look *look, uint32_t index, uint32_t item) {
    struct place place = look->scenario->arm[index].from;
    for (uint32_t cell = 0; cell <= place.cell; cell++)
        if (world_track_item(look->world, place, cell) == item)
            return true;
    return false;
}

/* Those who take an item off a track; false: nobody does. */
static bool add_takers(struct look *look, const struct want *want, const struct track_plan *track,
                       const struct track_kind *kind, int64_t since) {
    const struct ends *out = &look->maker->out;
    bool found = false;
    if (!track->is_line) {
        for (uint32_t j = 0; j < track_kind_taker_count(kind); j++)
            add(look, want->place,
                vertex(look, WAITS_ARM, look->world->taker[kind->first_taker + j].arm),
                WAITS_TO_TAKE, kind->item, 0, since);
        return track_kind_taker_count(kind) > 0;
    }
    for (uint32_t i = out->first[want->place]; i < out->first[want->place + 1]; i++)
        if (moved_by(look->world, out->who[i], kind->item) != NO_INDEX &&
            lies_before(look, out->who[i], kind->item)) {
            add(look, want->place, vertex(look, WAITS_ARM, out->who[i]), WAITS_TO_TAKE, kind->item,
                0, since);
            found = true;
        }
    return found;
}

static void takers_of_track(struct look *look, const struct want *want, uint32_t index) {
    const struct track_plan *track = &look->world->track[index].plan;
    int64_t moved = look->world->track[index].state.last_move;
    int64_t since = moved == NOT_GIVEN ? 0 : moved;
    for (uint32_t i = 0; i < track->kind_count; i++) {
        const struct track_kind *kind = &look->world->kind[track->first_kind + i];
        if (kind->count == 0 || (want->item != NO_INDEX && want->item != kind->item))
            continue;
        if (!add_takers(look, want, track, kind, since))
            nobody(look, want, kind->item);
    }
}

/* An arm that is placing onto a track has what is wanted there and waits for a cell: not for it. */
static bool waits_to_place(const struct look *look, uint32_t index) {
    return arm_state_at(look->world, index, look->world->progress.tick) == ARM_PLACING;
}

static void bringers(struct look *look, const struct want *want) {
    const struct ends *into = &look->maker->into, *supplies = &look->maker->supplies;
    bool found = false;
    for (uint32_t i = into->first[want->place]; i < into->first[want->place + 1]; i++) {
        uint32_t arm = into->who[i];
        if (moved_by(look->world, arm, want->item) == NO_INDEX)
            continue;
        found = true;
        if (!waits_to_place(look, arm))
            add(look, want->place, vertex(look, WAITS_ARM, arm), WAITS_TO_BRING, want->item, 0, -1);
    }
    for (uint32_t i = supplies->first[want->place]; i < supplies->first[want->place + 1]; i++)
        if (look->scenario->supply[supplies->who[i]].item == want->item) {
            found = true;
            add(look, want->place, vertex(look, WAITS_SUPPLY, supplies->who[i]), WAITS_TO_BRING,
                want->item, 0, -1);
        }
    if (!found)
        nobody(look, want, want->item);
}

/* Those who take an item out of a chest. */
static void outlets_of(struct look *look, const struct want *want, uint32_t item) {
    const struct ends *out = &look->maker->out, *demands = &look->maker->demands;
    bool found = false;
    for (uint32_t i = out->first[want->place]; i < out->first[want->place + 1]; i++)
        if (moved_by(look->world, out->who[i], item) != NO_INDEX) {
            found = true;
            add(look, want->place, vertex(look, WAITS_ARM, out->who[i]), WAITS_TO_TAKE, item, 0,
                -1);
        }
    for (uint32_t i = demands->first[want->place]; i < demands->first[want->place + 1]; i++)
        if (look->scenario->demand[demands->who[i]].item == item) {
            found = true;
            add(look, want->place, vertex(look, WAITS_DEMAND, demands->who[i]), WAITS_TO_TAKE, item,
                0, -1);
        }
    if (!found)
        nobody(look, want, item);
}

/* A chest that is full waits for whoever takes anything; one at a limit, for who takes that item.
 * */
static void outlets(struct look *look, const struct want *want, uint32_t chest) {
    const struct world *world = look->world;
    bool full = want->item == NO_INDEX || !stock_accepts(world, world->chest_total[chest]);
    if (!full) {
        outlets_of(look, want, want->item);
        return;
    }
    uint32_t end = stock_end_of_chest(world, chest);
    for (uint32_t i = stock_first_item_of_chest(world, chest); i < end; i++)
        if (world->tally[i].count > 0)
            outlets_of(look, want, world->chest_item[i]);
}

static void look_at_want(struct look *look, const struct want *want) {
    struct waits_thing thing = waits_thing(look->waits, want->place);
    bool take = want->why == WAITS_TO_TAKE;
    if (thing.kind == WAITS_STATION && take)
        return; /* it says itself what keeps it from working */
    if (thing.kind == WAITS_TRACK && take)
        takers_of_track(look, want, thing.index);
    else if (thing.kind == WAITS_CHEST && take)
        outlets(look, want, thing.index);
    else if (thing.kind == WAITS_TRACK || thing.kind == WAITS_CHEST)
        bringers(look, want);
}

static int want_order(const void *a, const void *b) {
    const struct want *x = a, *y = b;
    if (x->place != y->place)
        return x->place < y->place ? -1 : 1;
    if (x->why != y->why)
        return x->why < y->why ? -1 : 1;
    return (x->item > y->item) - (x->item < y->item);
}

static void look_at_wants(struct look *look) {
    struct waits_maker *maker = look->maker;
    if (maker->want_count == 0)
        return;
    qsort(maker->want, maker->want_count, sizeof *maker->want, want_order);
    for (uint32_t i = 0; i < maker->want_count; i++)
        if (i == 0 || want_order(&maker->want[i - 1], &maker->want[i]) != 0)
            look_at_want(look, &maker->want[i]);
}

static void look_at_tracks(struct look *look) {
    for (uint32_t i = 0; i < look->world->track_count; i++)
        if (!track_runs(look->world, i))
            set_status(look, vertex(look, WAITS_TRACK, i), STATUS_STOPPED);
    for (uint32_t i = 0; i < look->scenario->lane_count; i++)
        if (look->world->standstill.rest_open && look->world->track[i].load.item_count > 0)
            want(look, vertex(look, WAITS_TRACK, i), WAITS_TO_TAKE, NO_INDEX);
}

/* ---- putting the graph together ---- */

static bool same_wait(const struct waits_edge *a, const struct waits_edge *b) {
    return a->to == b->to && a->why == b->why && a->item == b->item;
}

/* Edges by where they begin, each once: a place may be asked for the same by several. */
static void sort_edges(struct waits *waits) {
    struct waits_maker *maker = waits->maker;
    uint32_t vertices = waits_vertices(waits);
    uint32_t *next = require_memory((size_t)vertices + 1, sizeof *next);
    waits->edge = require_memory(maker->made_count, sizeof *waits->edge);
    memset(waits->first, 0, ((size_t)vertices + 1) * sizeof *waits->first);
    for (uint32_t i = 0; i < maker->made_count; i++)
        waits->first[maker->made[i].from + 1]++;
    for (uint32_t i = 0; i < vertices; i++)
        next[i + 1] = waits->first[i + 1] += waits->first[i];
    for (uint32_t i = 0; i < maker->made_count; i++)
        waits->edge[next[maker->made[i].from]++] = maker->made[i];
    free(next);
    waits->edge_count = maker->made_count;
}

static void drop_doubles(struct waits *waits) {
    uint32_t kept = 0, vertices = waits_vertices(waits);
    for (uint32_t v = 0; v < vertices; v++) {
        uint32_t from = waits->first[v], to = waits->first[v + 1];
        uint32_t start = waits->first[v] = kept;
        for (uint32_t i = from; i < to; i++) {
            bool seen = false;
            for (uint32_t j = start; j < kept && !seen; j++)
                seen = same_wait(&waits->edge[j], &waits->edge[i]);
            if (!seen)
                waits->edge[kept++] = waits->edge[i];
        }
        if (v + 1 == vertices)
            break;
    }
    waits->edge_count = waits->first[vertices] = kept;
}

/* The beginning of a wait that was not there at the last look lies after that look. */
static void date_edge(const struct waits *waits, int64_t old_tick, struct waits_edge *edge) {
    const struct waits_maker *maker = waits->maker;
    bool by_track =
        edge->why == WAITS_TO_TAKE && waits_thing(waits, edge->from).kind == WAITS_TRACK;
    if (by_track && edge->since >= 0)
        return; /* its last move, known to the tick */
    for (uint32_t i = maker->old_first[edge->from]; i < maker->old_first[edge->from + 1]; i++)
        if (same_wait(&maker->old[i], edge)) {
            edge->since_is_estimated =
                maker->old[i].since_is_estimated && maker->old[i].since >= edge->since;
            edge->since = maker->old[i].since > edge->since ? maker->old[i].since : edge->since;
            return;
        }
    edge->since_is_estimated = edge->since <= old_tick;
    if (edge->since_is_estimated)
        edge->since = waits->tick;
}

static void date_edges(struct waits *waits, int64_t old_tick) {
    for (uint32_t i = 0; i < waits->edge_count; i++)
        date_edge(waits, old_tick, &waits->edge[i]);
}

/* ---- who is stuck ---- */

/* What a place or station waits for falls apart: room in a chest is another thing than a comb in
 * it, and a station needs each of its inputs. So there is a helper vertex for each such group of
 * edges that stand one after the other; the helpers stand after the vertices, by their first
 * edge. */
static bool begins_group(const struct waits *waits, uint32_t edge) {
    const struct waits_edge *self = &waits->edge[edge];
    if (edge == waits->first[self->from])
        return true;
    if (waits_thing(waits, self->from).kind == WAITS_STATION)
        return self->item != self[-1].item;
    return self->why != self[-1].why ||
           (self->why == WAITS_TO_BRING && self->item != self[-1].item);
}

static bool has_groups(const struct waits *waits, uint32_t from) {
    enum waits_kind kind = waits_thing(waits, from).kind;
    return kind == WAITS_TRACK || kind == WAITS_CHEST || kind == WAITS_STATION;
}

/* The group of a place that one waits for who waits for this: NO_INDEX when it has none, because
 * whoever could bring the item is placing and waits for room there, as the place does. */
static uint32_t group_for(const struct waits *waits, const struct waits_edge *edge) {
    uint32_t first = waits->first[edge->to], end = waits->first[edge->to + 1], low = first;
    bool brings = edge->why == WAITS_FOR_ITEM || edge->why == WAITS_FOR_RISE;
    for (uint32_t high = end; brings && low < high;) { /* those that take first, others by item */
        uint32_t middle = low + (high - low) / 2;
        const struct waits_edge *at = &waits->edge[middle];
        if (at->why == WAITS_TO_TAKE || at->item < edge->item)
            low = middle + 1;
        else
            high = middle;
    }
    if (low < end && (!brings || waits->edge[low].item == edge->item))
        return low;
    return first < end ? first : NO_INDEX;
}

static void join(struct graph *graph, const struct waits *waits, uint32_t from,
                 const struct waits_edge *edge) {
    if (edge->to == WAITS_NOBODY)
        return;
    enum waits_kind kind = waits_thing(waits, edge->to).kind;
    uint32_t group = kind == WAITS_TRACK || kind == WAITS_CHEST ? group_for(waits, edge) : NO_INDEX;
    graph_add(graph, from, group != NO_INDEX ? waits_vertices(waits) + group : edge->to, 1);
}

static void join_groups(struct graph *graph, const struct waits *waits, uint32_t from) {
    uint32_t helper = 0;
    int64_t groups = 0;
    for (uint32_t i = waits->first[from]; i < waits->first[from + 1]; i++) {
        if (begins_group(waits, i)) {
            helper = waits_vertices(waits) + i;
            graph_add(graph, from, helper, 1);
            groups++;
        }
        join(graph, waits, helper, &waits->edge[i]);
    }
    graph->need[from] = groups > 0 ? groups : 1;
}

static void join_edges(struct graph *graph, const struct waits *waits, uint32_t from) {
    uint32_t gate = gate_of(waits->scenario, waits_thing(waits, from));
    for (uint32_t i = waits->first[from]; i < waits->first[from + 1]; i++)
        join(graph, waits, from, &waits->edge[i]);
    if (gate != NO_INDEX && waits->scenario->gate[gate].kind == GATE_ALL)
        graph->need[from] = waits->first[from + 1] - waits->first[from];
}

void waits_find_stuck(struct waits *waits) {
    uint32_t vertices = waits_vertices(waits);
    struct graph graph;
    graph_init(&graph, vertices + waits->edge_count);
    for (uint32_t v = 0; v < vertices; v++) {
        bool idle = waits->first[v] == waits->first[v + 1];
        if (has_groups(waits, v))
            join_groups(&graph, waits, v);
        else
            join_edges(&graph, waits, v);
        if (waits->status[v] == STATUS_ACTIVE || (waits->status[v] == STATUS_WAITING && idle))
            graph.need[v] = 0;
    }
    graph_sort(&graph);
    bool *stuck = require_memory(graph.vertex_count, sizeof *stuck);
    graph_stuck(&graph, stuck);
    memcpy(waits->stuck, stuck, vertices * sizeof *stuck);
    free(stuck);
    graph_free(&graph);
}

/* ---- looking ---- */

static void keep_old(struct waits *waits) {
    struct waits_maker *maker = waits->maker;
    free(maker->old);
    maker->old = waits->edge;
    waits->edge = NULL;
    memcpy(maker->old_first, waits->first,
           ((size_t)waits_vertices(waits) + 1) * sizeof *maker->old_first);
    maker->made_count = maker->want_count = 0;
    memset(waits->status, 0, waits_vertices(waits) * sizeof *waits->status);
    memset(maker->gap, 0, layout_track_count(waits->scenario) * sizeof *maker->gap);
}

void waits_forget(struct waits *waits) {
    waits->edge_count = 0;
    waits->tick = -1;
    memset(waits->first, 0, ((size_t)waits_vertices(waits) + 1) * sizeof *waits->first);
}

void waits_glance(struct waits *waits, const struct world *world) {
    const struct scenario *scenario = waits->scenario;
    struct look look = {waits, waits->maker, scenario, world};
    require(waits->maker != NULL && world->scenario == scenario);
    int64_t old_tick = waits->tick;
    keep_old(waits);
    waits->tick = world->progress.tick;
    look_at_tracks(&look);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        look_at_arm(&look, i);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        look_at_station(&look, i);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        look_at_supply(&look, i);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        look_at_demand(&look, i);
    look_at_gates(&look);
    look_at_wants(&look);
    sort_edges(waits);
    drop_doubles(waits);
    date_edges(waits, old_tick);
}

void waits_look(struct waits *waits, const struct world *world) {
    waits_glance(waits, world);
    waits_find_stuck(waits);
}
