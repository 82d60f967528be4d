/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/starvation.c - walks upstream from a hungry station to the arms that might feed it.
 */
#include "tools/record/starvation.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/require.h"

/* What is watched of one station. */
struct hunger {
    bool unwanted; /* an open starvation of which all feeders have been held so far */
    bool lasted;   /* one lasted that was wanted */
    int64_t start_tick;
    int64_t swings; /* of the arms that were held when it began, together */
    uint32_t *item; /* short inputs of it, room for all that the station takes */
    uint32_t item_count;
};

struct starvation {
    const struct scenario *scenario;
    const struct world *world;
    struct hunger *hunger;
    uint32_t unwanted_count;    /* stations whose hunger is unwanted */
    struct layout_arms into;    /* arms by the place to which they put */
    uint32_t *visited, visit;   /* of each arm: the walk that met it last */
    uint32_t *path, path_count; /* arms of this walk that are to be looked at */
};

struct starvation *starvation_new(const struct scenario *scenario, const struct world *world) {
    struct starvation *starvation = require_memory(1, sizeof *starvation);
    starvation->scenario = scenario;
    starvation->world = world;
    starvation->hunger = require_memory(scenario->station_count, sizeof *starvation->hunger);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        starvation->hunger[i].item =
            require_memory(scenario->station[i].takes.count, sizeof(uint32_t));
    starvation->visited = require_memory(scenario->arm_count, sizeof *starvation->visited);
    starvation->path = require_memory(scenario->arm_count, sizeof *starvation->path);
    starvation->into = layout_arms_by_target(scenario);
    return starvation;
}

void starvation_free(struct starvation *starvation) {
    if (starvation == NULL)
        return;
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++)
        free(starvation->hunger[i].item);
    free(starvation->hunger);
    layout_arms_free(&starvation->into);
    free(starvation->visited);
    free(starvation->path);
    free(starvation);
}

/* ---- gates ---- */

static bool makes(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            return true;
    return false;
}

/* The total of a chest tells of a station's products when an arm puts one of them there. */
static bool chest_gets_product(const struct starvation *starvation, uint32_t chest,
                               const struct scenario_station *station) {
    const struct layout_arms *into = &starvation->into;
    for (uint32_t i = into->first[chest]; i < into->first[chest + 1]; i++)
        for (uint32_t j = 0; j < station->makes_count; j++)
            if (layout_may_carry(&starvation->scenario->arm[into->arm[i]], station->makes[j].item))
                return true;
    return false;
}

static bool leaf_reads_product(const struct starvation *starvation,
                               const struct scenario_gate *leaf,
                               const struct scenario_station *station) {
    if (leaf->item != NO_INDEX)
        return makes(station, leaf->item);
    return leaf->reads == READS_CHEST && chest_gets_product(starvation, leaf->subject, station);
}

/* True when the gate is shut by reading what the station makes. */
static bool shut_by_product(const struct starvation *starvation, uint32_t gate,
                            const struct scenario_station *station) {
    if (gate == NO_INDEX || world_gate_open(starvation->world, gate))
        return false;
    const struct scenario_gate *node = &starvation->scenario->gate[gate];
    if (node->kind == GATE_BELOW || node->kind == GATE_AT_LEAST)
        return leaf_reads_product(starvation, node, station);
    for (uint32_t child = node->first_child; child != NO_INDEX;
         child = starvation->scenario->gate[child].next_sibling)
        if (shut_by_product(starvation, child, station))
            return true;
    return false;
}

/* ---- the walk upstream ---- */

static void path_add(struct starvation *starvation, struct place place, uint32_t item) {
    const struct layout_arms *into = &starvation->into;
    uint32_t target = layout_target(starvation->scenario, place);
    for (uint32_t i = into->first[target]; i < into->first[target + 1]; i++) {
        uint32_t arm = into->arm[i];
        if (starvation->visited[arm] == starvation->visit ||
            !layout_may_carry(&starvation->scenario->arm[arm], item))
            continue;
        starvation->visited[arm] = starvation->visit;
        starvation->path[starvation->path_count++] = arm;
    }
}

/* True when all that an arm at this place can get of the item comes by other arms. */
static bool comes_by_arms(const struct starvation *starvation, struct place place, uint32_t item) {
    const struct scenario *scenario = starvation->scenario;
    if (place.kind != PLACE_CHEST)
        return place.kind != PLACE_STATION;
    if (world_chest_count(starvation->world, place.index, item) > 0)
        return false;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].chest == place.index && scenario->supply[i].item == item)
            return false;
    return true;
}

static bool is_held(const struct starvation *starvation, uint32_t arm,
                    const struct scenario_station *station) {
    return shut_by_product(starvation, starvation->scenario->arm[arm].gate, station) &&
           world_arm_state(starvation->world, arm) == ARM_REACHING;
}

/* True when every arm that feeds the item to the station is held, and there is one. The swings of
 * the held ones are added to *swings. */
static bool input_is_held(struct starvation *starvation, uint32_t number, uint32_t item,
                          int64_t *swings) {
    const struct scenario *scenario = starvation->scenario;
    bool found = false;
    starvation->visit++;
    starvation->path_count = 0;
    path_add(starvation, (struct place){PLACE_STATION, number, 0}, item);
    for (uint32_t i = 0; i < starvation->path_count; i++) {
        uint32_t arm = starvation->path[i];
        if (is_held(starvation, arm, &scenario->station[number])) {
            *swings += world_arm_totals(starvation->world, arm).swings;
            found = true;
        } else if (comes_by_arms(starvation, scenario->arm[arm].from, item)) {
            path_add(starvation, scenario->arm[arm].from, item);
        } else {
            return false;
        }
    }
    return found;
}

static bool all_are_held(struct starvation *starvation, uint32_t station, int64_t *swings) {
    const struct hunger *hunger = &starvation->hunger[station];
    *swings = 0;
    for (uint32_t i = 0; i < hunger->item_count; i++)
        if (!input_is_held(starvation, station, hunger->item[i], swings))
            return false;
    return true;
}

/* Held as when it began, and no pick since. */
static bool is_unwanted(struct starvation *starvation, uint32_t station) {
    int64_t swings;
    return all_are_held(starvation, station, &swings) &&
           swings == starvation->hunger[station].swings;
}

static void set_unwanted(struct starvation *starvation, uint32_t station, bool unwanted) {
    struct hunger *hunger = &starvation->hunger[station];
    starvation->unwanted_count += (uint32_t)unwanted - (uint32_t)hunger->unwanted;
    hunger->unwanted = unwanted;
}

/* ---- events ---- */

void starvation_began(struct starvation *starvation, const struct event *event) {
    uint32_t station = event->actor.index;
    struct hunger *hunger = &starvation->hunger[station];
    require(event->item_count <= starvation->scenario->station[station].takes.count);
    hunger->start_tick = event->start_tick;
    hunger->item_count = event->item_count;
    if (event->item_count > 0)
        memcpy(hunger->item, event->item, event->item_count * sizeof *hunger->item);
    set_unwanted(starvation, station, all_are_held(starvation, station, &hunger->swings));
}

static bool is_long(const struct starvation *starvation, const struct hunger *hunger,
                    int64_t end_tick) {
    int64_t left = starvation->scenario->run_ticks - hunger->start_tick;
    return 2 * (end_tick - hunger->start_tick) > left;
}

void starvation_ended(struct starvation *starvation, const struct event *event, bool open) {
    uint32_t station = event->actor.index;
    struct hunger *hunger = &starvation->hunger[station];
    if (!open && !is_long(starvation, hunger, event->end_tick)) {
        set_unwanted(starvation, station, false);
        return;
    }
    bool unwanted = hunger->unwanted && is_unwanted(starvation, station);
    hunger->lasted = hunger->lasted || !unwanted;
    set_unwanted(starvation, station, false);
}

void starvation_look(struct starvation *starvation) {
    if (starvation->unwanted_count == 0)
        return;
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++)
        if (starvation->hunger[i].unwanted && !is_unwanted(starvation, i))
            set_unwanted(starvation, i, false);
}

bool starvation_lasted(const struct starvation *starvation, uint32_t station) {
    return starvation->hunger[station].lasted;
}

/* ---- kept in a capsule ---- */

void starvation_save(const struct starvation *starvation, struct bytes *bytes) {
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++) {
        const struct hunger *hunger = &starvation->hunger[i];
        bytes_add(bytes, hunger->unwanted, 1);
        bytes_add(bytes, hunger->lasted, 1);
        bytes_add(bytes, (uint64_t)hunger->start_tick, 8);
        bytes_add(bytes, (uint64_t)hunger->swings, 8);
        bytes_add(bytes, hunger->item_count, 4);
        for (uint32_t j = 0; j < hunger->item_count; j++)
            bytes_add(bytes, hunger->item[j], 4);
    }
}

static bool restore_items(const struct starvation *starvation, uint32_t station,
                          struct bytes_reader *reader) {
    struct hunger *hunger = &starvation->hunger[station];
    uint64_t count = bytes_take(reader, 4);
    if (count > starvation->scenario->station[station].takes.count)
        return false;
    hunger->item_count = (uint32_t)count;
    for (uint32_t i = 0; i < hunger->item_count; i++) {
        hunger->item[i] = (uint32_t)bytes_take(reader, 4);
        if (hunger->item[i] >= starvation->scenario->item_count)
            return false;
    }
    return true;
}

bool starvation_restore(struct starvation *starvation, struct bytes_reader *reader) {
    int64_t now = world_tick(starvation->world);
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++) {
        struct hunger *hunger = &starvation->hunger[i];
        bool unwanted = bytes_take(reader, 1) != 0;
        hunger->lasted = bytes_take(reader, 1) != 0;
        hunger->start_tick = (int64_t)bytes_take(reader, 8);
        hunger->swings = (int64_t)bytes_take(reader, 8);
        set_unwanted(starvation, i, unwanted);
        if (!restore_items(starvation, i, reader) || hunger->start_tick < 0 ||
            (hunger->start_tick > 0 && hunger->start_tick > now))
            return false;
    }
    return !reader->failed;
}
