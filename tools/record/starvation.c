/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/starvation.c - walks upstream from a starved station to the arms that might feed it,
 * and observes them. */
#include "tools/record/starvation.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/reach.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/record/carriers.h"

/* What is kept of one station. */
struct starvation_record {
    bool unwanted; /* an open starvation of which all feeders have been held so far */
    bool lasted;   /* one lasted that was wanted */
    bool pending;  /* it is in the list of those to be looked at */
    int64_t start_tick;
    int64_t swings; /* of the arms that were held when it began, together */
    uint32_t *item; /* short inputs of it, room for all that the station takes */
    uint32_t item_count;
    uint32_t first_link; /* of those that it owns; NO_INDEX: none */
};

/* A station depends on an arm. Links of one arm are in a list, those of one station in another. */
struct link {
    uint32_t arm, station;
    uint32_t next_of_arm, previous_of_arm;
    uint32_t next_of_station; /* or the next one that is not in use */
};

struct starvation {
    const struct scenario *scenario;
    struct world *world;
    struct starvation_record *record;
    struct carriers carriers;
    struct reach *reach; /* what can come where; [0] empty until it is asked for */
    bool *knows_reach;
    uint32_t *visited, visit;           /* of each arm: the walk that met it last */
    uint32_t *path, path_count;         /* arms of this walk that are to be looked at */
    uint32_t *met, meeting;             /* of each arm: the look that met it last */
    uint32_t *upstream, upstream_count; /* arms that were met in this look */
    bool settling;                      /* one of them is on its way back and will be held then */
    struct link *link;
    uint32_t link_count, link_capacity, free_link;
    uint32_t *first_link;             /* of each arm; NO_INDEX: none */
    uint32_t *pending, pending_count; /* stations to be looked at */
};

static uint32_t *no_links(uint32_t count) {
    uint32_t *first = require_memory(count, sizeof *first);
    for (uint32_t i = 0; i < count; i++)
        first[i] = NO_INDEX;
    return first;
}

struct starvation *starvation_new(const struct scenario *scenario, struct world *world) {
    uint32_t arms = scenario->arm_count, stations = scenario->station_count;
    struct starvation *starvation = require_memory(1, sizeof *starvation);
    *starvation =
        (struct starvation){.scenario = scenario,
                            .world = world,
                            .record = require_memory(stations, sizeof *starvation->record),
                            .carriers = carriers_of(scenario),
                            .reach = require_memory(1, sizeof *starvation->reach),
                            .knows_reach = require_memory(1, sizeof(bool)),
                            .visited = require_memory(arms, sizeof(uint32_t)),
                            .path = require_memory(arms, sizeof(uint32_t)),
                            .met = require_memory(arms, sizeof(uint32_t)),
                            .upstream = require_memory(arms, sizeof(uint32_t)),
                            .free_link = NO_INDEX,
                            .first_link = no_links(arms),
                            .pending = require_memory(stations, sizeof(uint32_t))};
    for (uint32_t i = 0; i < stations; i++) {
        uint32_t inputs = scenario->station[i].takes.count;
        starvation->record[i].item = require_memory(inputs, sizeof(uint32_t));
        starvation->record[i].first_link = NO_INDEX;
    }
    return starvation;
}

void starvation_free(struct starvation *starvation) {
    if (starvation == NULL)
        return;
    for (uint32_t i = 0; i < starvation->scenario->arm_count; i++)
        if (starvation->first_link[i] != NO_INDEX)
            world_ignore_arm(starvation->world, i);
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++)
        free(starvation->record[i].item);
    free(starvation->record);
    carriers_free(&starvation->carriers);
    if (*starvation->knows_reach)
        reach_free(starvation->reach);
    free(starvation->reach);
    free(starvation->knows_reach);
    free(starvation->visited);
    free(starvation->path);
    free(starvation->met);
    free(starvation->upstream);
    free(starvation->link);
    free(starvation->first_link);
    free(starvation->pending);
    free(starvation);
}

/* ---- links ---- */

static uint32_t unused_link(struct starvation *starvation) {
    uint32_t index = starvation->free_link;
    if (index != NO_INDEX) {
        starvation->free_link = starvation->link[index].next_of_station;
        return index;
    }
    starvation->link = array_with_room(starvation->link, starvation->link_count,
                                       &starvation->link_capacity, sizeof *starvation->link);
    return starvation->link_count++;
}

static void add_link(struct starvation *starvation, uint32_t station, uint32_t arm) {
    uint32_t index = unused_link(starvation), next = starvation->first_link[arm];
    uint32_t *first = &starvation->record[station].first_link;
    starvation->link[index] = (struct link){arm, station, next, NO_INDEX, *first};
    if (next != NO_INDEX)
        starvation->link[next].previous_of_arm = index;
    else
        world_observe_arm(starvation->world, arm);
    starvation->first_link[arm] = *first = index;
}

static void remove_from_arm(struct starvation *starvation, const struct link *link) {
    uint32_t next = link->next_of_arm, previous = link->previous_of_arm;
    if (next != NO_INDEX)
        starvation->link[next].previous_of_arm = previous;
    if (previous != NO_INDEX)
        starvation->link[previous].next_of_arm = next;
    else
        starvation->first_link[link->arm] = next;
    if (starvation->first_link[link->arm] == NO_INDEX)
        world_ignore_arm(starvation->world, link->arm);
}

static void remove_links(struct starvation *starvation, uint32_t station) {
    uint32_t index = starvation->record[station].first_link;
    while (index != NO_INDEX) {
        struct link *link = &starvation->link[index];
        uint32_t next = link->next_of_station;
        remove_from_arm(starvation, link);
        link->next_of_station = starvation->free_link;
        starvation->free_link = index;
        index = next;
    }
    starvation->record[station].first_link = NO_INDEX;
}

/* Links a station to the arms that the last look met. */
static void link_upstream(struct starvation *starvation, uint32_t station) {
    remove_links(starvation, station);
    for (uint32_t i = 0; i < starvation->upstream_count; i++)
        add_link(starvation, station, starvation->upstream[i]);
}

static void make_pending(struct starvation *starvation, uint32_t station) {
    struct starvation_record *record = &starvation->record[station];
    if (!record->pending)
        starvation->pending[starvation->pending_count++] = station;
    record->pending = true;
    world_pause(starvation->world);
}

void starvation_arm_changed(struct starvation *starvation, uint32_t arm) {
    uint32_t index = starvation->first_link[arm];
    for (; index != NO_INDEX; index = starvation->link[index].next_of_arm)
        make_pending(starvation, starvation->link[index].station);
}

/* ---- gates ---- */

static bool makes(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            return true;
    return false;
}

/* Whether an arm that names an item can find it where it takes. */
static bool may_find(const struct starvation *starvation, uint32_t arm, uint32_t item) {
    const struct scenario *scenario = starvation->scenario;
    if (!*starvation->knows_reach)
        *starvation->reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    *starvation->knows_reach = true;
    return reach_comes_to(starvation->reach, layout_source(scenario, scenario->arm[arm].from),
                          item);
}

static bool chest_gets_item(const struct starvation *starvation, uint32_t chest, uint32_t item) {
    struct carriers_walk walk = carriers_walk(&starvation->carriers, chest, item);
    for (uint32_t arm; (arm = carriers_next(&walk)) != NO_INDEX;)
        if (may_find(starvation, arm, item))
            return true;
    return false;
}

/* The total of a chest counts a station's products when an arm puts one of them there. */
static bool chest_gets_product(const struct starvation *starvation, uint32_t chest,
                               const struct scenario_station *station) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (chest_gets_item(starvation, chest, station->makes[i].item))
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
    uint32_t target = layout_target(starvation->scenario, place), arm;
    struct carriers_walk walk = carriers_walk(&starvation->carriers, target, item);
    while ((arm = carriers_next(&walk)) != NO_INDEX) {
        if (starvation->visited[arm] == starvation->visit)
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

static void note_upstream(struct starvation *starvation, uint32_t arm) {
    if (starvation->met[arm] == starvation->meeting)
        return;
    starvation->met[arm] = starvation->meeting;
    starvation->upstream[starvation->upstream_count++] = arm;
}

/* Held by a gate that reads what the station makes. */
static bool is_held(struct starvation *starvation, uint32_t arm,
                    const struct scenario_station *station) {
    if (!shut_by_product(starvation, starvation->scenario->arm[arm].gate, station))
        return false;
    enum arm_state state = world_arm_state(starvation->world, arm);
    starvation->settling = starvation->settling || state == ARM_RETURNING;
    return state == ARM_REACHING;
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
        note_upstream(starvation, arm);
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
    const struct starvation_record *record = &starvation->record[station];
    *swings = 0;
    starvation->meeting++;
    starvation->upstream_count = 0;
    starvation->settling = false;
    for (uint32_t i = 0; i < record->item_count; i++)
        if (!input_is_held(starvation, station, record->item[i], swings))
            return false;
    return true;
}

/* Held as when it began, and no pick since. */
static bool is_unwanted(struct starvation *starvation, uint32_t station) {
    int64_t swings;
    return all_are_held(starvation, station, &swings) &&
           swings == starvation->record[station].swings;
}

static void forget(struct starvation *starvation, uint32_t station) {
    starvation->record[station].unwanted = false;
    remove_links(starvation, station);
}

/* ---- events ---- */

void starvation_began(struct starvation *starvation, const struct event *event) {
    uint32_t station = event->actor.index;
    struct starvation_record *record = &starvation->record[station];
    require(event->item_count <= starvation->scenario->station[station].takes.count);
    record->start_tick = event->start_tick;
    record->item_count = event->item_count;
    if (event->item_count > 0)
        memcpy(record->item, event->item, event->item_count * sizeof *record->item);
    record->unwanted = all_are_held(starvation, station, &record->swings);
    if (record->unwanted)
        make_pending(starvation, station); /* as the tick leaves it */
}

static bool is_long(const struct starvation *starvation, const struct starvation_record *record,
                    int64_t end_tick) {
    int64_t left = starvation->scenario->run_ticks - record->start_tick;
    return 2 * (end_tick - record->start_tick) > left;
}

void starvation_ended(struct starvation *starvation, const struct event *event, bool open) {
    uint32_t station = event->actor.index;
    struct starvation_record *record = &starvation->record[station];
    if (open || is_long(starvation, record, event->end_tick))
        record->lasted = record->lasted || !record->unwanted || !is_unwanted(starvation, station);
    forget(starvation, station);
}

/* Keeps it on the list where an arm comes back without a word. */
static void look_at_station(struct starvation *starvation, uint32_t station) {
    struct starvation_record *record = &starvation->record[station];
    record->pending = false;
    if (!record->unwanted)
        return;
    if (!is_unwanted(starvation, station)) {
        forget(starvation, station);
        return;
    }
    link_upstream(starvation, station);
    if (starvation->settling)
        make_pending(starvation, station);
}

static void look_at_pending(struct starvation *starvation) {
    uint32_t count = starvation->pending_count;
    starvation->pending_count = 0;
    for (uint32_t i = 0; i < count; i++) /* none is written beyond where it was read */
        look_at_station(starvation, starvation->pending[i]);
}

void starvation_look(struct starvation *starvation) {
    if (starvation->pending_count > 0)
        look_at_pending(starvation);
}

static bool is_linked(const struct starvation *starvation, uint32_t station, uint32_t arm) {
    uint32_t found = 0, index = starvation->first_link[arm];
    for (; index != NO_INDEX; index = starvation->link[index].next_of_arm)
        found += starvation->link[index].station == station;
    return found == 1;
}

void starvation_audit(struct starvation *starvation) {
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++) {
        if (!starvation->record[i].unwanted)
            continue;
        require(is_unwanted(starvation, i));
        for (uint32_t j = 0; j < starvation->upstream_count; j++)
            require(is_linked(starvation, i, starvation->upstream[j]));
    }
}

bool starvation_lasted(const struct starvation *starvation, uint32_t station) {
    return starvation->record[station].lasted;
}

/* ---- kept in a capsule ---- */

void starvation_save(const struct starvation *starvation, struct bytes *bytes) {
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++) {
        const struct starvation_record *record = &starvation->record[i];
        bytes_add(bytes, record->unwanted, 1);
        bytes_add(bytes, record->lasted, 1);
        bytes_add(bytes, (uint64_t)record->start_tick, 8);
        bytes_add(bytes, (uint64_t)record->swings, 8);
        bytes_add(bytes, record->item_count, 4);
        for (uint32_t j = 0; j < record->item_count; j++)
            bytes_add(bytes, record->item[j], 4);
    }
}

static bool restore_items(const struct starvation *starvation, uint32_t station,
                          struct bytes_reader *reader) {
    struct starvation_record *record = &starvation->record[station];
    uint64_t count = bytes_take(reader, 4);
    if (count > starvation->scenario->station[station].takes.count)
        return false;
    record->item_count = (uint32_t)count;
    for (uint32_t i = 0; i < record->item_count; i++) {
        record->item[i] = (uint32_t)bytes_take(reader, 4);
        if (record->item[i] >= starvation->scenario->item_count)
            return false;
    }
    return true;
}

bool starvation_restore(struct starvation *starvation, struct bytes_reader *reader) {
    int64_t now = world_tick(starvation->world);
    for (uint32_t i = 0; i < starvation->scenario->station_count; i++) {
        struct starvation_record *record = &starvation->record[i];
        bool unwanted = bytes_take(reader, 1) != 0;
        record->lasted = bytes_take(reader, 1) != 0;
        record->start_tick = (int64_t)bytes_take(reader, 8);
        record->swings = (int64_t)bytes_take(reader, 8);
        record->unwanted = unwanted;
        if (unwanted)
            make_pending(starvation, i);
        if (!restore_items(starvation, i, reader) || record->start_tick < 0 ||
            (record->start_tick > 0 && record->start_tick > now))
            return false;
    }
    return !reader->failed;
}
