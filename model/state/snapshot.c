/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/snapshot.c - one walk through the arrays of a world, which takes them or puts them
 * back. To save the state of a snapshot the world becomes for a while what it was: all that refers
 * to its arrays by address stays right. What is derived and no state is made of stays as it is, and
 * so does what lies beyond the end of a list. */
#include "model/state/snapshot.h"

#include <string.h>

#include "model/engine/lane.h"
#include "model/engine/parts.h"
#include "model/state/state.h"
#include "sim/require.h"

/* Where a walk is: a snapshot grows, or is read. */
struct walk {
    struct bytes *taken; /* NULL: it puts back */
    struct bytes_reader put;
};

static inline void put_piece(struct walk *walk, void *memory, size_t length) {
    require(walk->put.length - walk->put.at >= length);
    memcpy(memory, walk->put.data + walk->put.at, length);
    walk->put.at += length;
}

static inline void piece(struct walk *walk, void *memory, size_t length) {
    if (walk->taken != NULL)
        bytes_append(walk->taken, memory, length);
    else
        put_piece(walk, memory, length);
}

/* `count` elements of an array of the world; one that is made only when it is needed may not have
 * been there. */
#define ARRAY(walk, array, count) array_piece(walk, array, sizeof *(array) * (size_t)(count))
#define LATE_ARRAY(walk, array, count)                                                             \
    do {                                                                                           \
        piece(walk, &(array), sizeof(array));                                                      \
        ARRAY(walk, array, count);                                                                 \
    } while (0)

static void array_piece(struct walk *walk, void *array, size_t length) {
    if (array != NULL && length > 0)
        piece(walk, array, length);
}

/* ---- what lies on lanes and lines, by the counts that come before ---- */

/* Where an item lies in a lane. */
struct lying {
    uint32_t slot, kind;
};

/* The heads among 64 held slots. */
static void take_heads(struct bytes *bytes, const struct lane *lane, uint64_t held,
                       uint32_t first) {
    struct lying lying;
    unsigned char *at = bytes_begin(bytes, LANE_WINDOW * sizeof lying);
    for (; held != 0; held &= held - 1) {
        lying.slot = first + (uint32_t)__builtin_ctzll(held);
        lying.kind = lane->kind[lying.slot];
        if (lying.kind == LANE_EMPTY)
            continue;
        memcpy(at, &lying, sizeof lying);
        at += sizeof lying;
    }
    bytes_end(bytes, at);
}

static void take_lane(struct bytes *bytes, const struct lane *lane) {
    const uint64_t *held = lane->bits + LANE_CLASSES;
    for (uint32_t first = 0; first < lane->slot_count; first += LANE_WINDOW, held += LANE_SETS)
        if (*held != 0)
            take_heads(bytes, lane, *held, first);
}

static void put_lane(struct walk *walk, struct lane *lane, uint32_t item_count) {
    for (uint32_t slot = 0; slot < lane->slot_count; slot++)
        lane->kind[slot] = LANE_EMPTY;
    for (uint32_t i = 0; i < item_count; i++) {
        struct lying lying;
        put_piece(walk, &lying, sizeof lying);
        require(lying.slot < lane->slot_count);
        lane->kind[lying.slot] = lying.kind;
    }
}

static void walk_lanes(struct walk *walk, struct world *world) {
    for (uint32_t i = 0; i < world->scenario->lane_count; i++) {
        if (walk->taken != NULL)
            take_lane(walk->taken, &world->track[i].lane);
        else
            put_lane(walk, &world->track[i].lane, world->track[i].load.item_count);
    }
}

static void walk_lines(struct walk *walk, struct world *world) {
    for (uint32_t i = 0; i < world->scenario->line_count; i++)
        ARRAY(walk, world->line_item + world->line_plan[i].first_item, world->line[i].item_count);
}

/* ---- arms ---- */

static void walk_hand(struct walk *walk, struct world *world, struct hand *hand) {
    piece(walk, hand, sizeof *hand);
    ARRAY(walk, world->hand_run + hand->first_run, hand->run_count);
}

/* What an arm has beside its record. */
static void walk_arm(struct walk *walk, struct world *world, const struct arm_record *arm) {
    const struct arm_plan *plan = &arm->plan;
    if (plan->placing != NO_INDEX)
        piece(walk, &world->arm_placing[plan->placing], sizeof *world->arm_placing);
    if (plan->shape->swing_chance != NO_INDEX)
        piece(walk, plan->shape, sizeof *plan->shape);
    if (plan->shape->gathers)
        walk_hand(walk, world, arm_hand(world, arm));
}

static void walk_arms(struct walk *walk, struct world *world) {
    uint32_t count = world->scenario->arm_count;
    ARRAY(walk, world->arm, count);
    LATE_ARRAY(walk, world->arm_books, count);
    for (uint32_t i = 0; i < count; i++)
        walk_arm(walk, world, &world->arm[i]);
}

/* ---- all of it ---- */

static void walk_world(struct walk *walk, struct world *world) {
    const struct scenario *scenario = world->scenario;
    piece(walk, &world->progress, sizeof world->progress);
    piece(walk, &world->standstill, sizeof world->standstill);
    ARRAY(walk, world->belt, world->belt_count);
    ARRAY(walk, world->track, world->track_count);
    ARRAY(walk, world->line, scenario->line_count);
    walk_lanes(walk, world);
    walk_lines(walk, world);
    walk_arms(walk, world);
    ARRAY(walk, world->tally, world->tally_count);
    LATE_ARRAY(walk, world->chest_limit, scenario->chest_count);
    ARRAY(walk, world->gate, scenario->gate_count);
    LATE_ARRAY(walk, world->gate_reopen, scenario->gate_count);
    ARRAY(walk, world->station, scenario->station_count);
    LATE_ARRAY(walk, world->station_stopped, scenario->station_count);
    ARRAY(walk, world->supply, scenario->supply_count);
    ARRAY(walk, world->demand, scenario->demand_count);
    ARRAY(walk, world->supply_stops, scenario->supply_count);
    ARRAY(walk, world->demand_stops, scenario->demand_count);
    ARRAY(walk, world->demand_orders, scenario->demand_count);
    ARRAY(walk, world->item, scenario->item_count);
    LATE_ARRAY(walk, world->item_strays, scenario->item_count);
    ARRAY(walk, world->incident, scenario->incident_count);
    ARRAY(walk, world->breakdown, world->breakdown_count);
    ARRAY(walk, world->random, world->chance_count);
}

void snapshot_take(struct world *world, struct bytes *bytes) {
    require(world->agenda.cursor == AGENDA_NOBODY); /* not from inside a tick */
    walk_world(&(struct walk){.taken = bytes}, world);
}

static void put(struct world *world, const void *data, size_t length) {
    struct walk walk = {.put = bytes_reader_of(data, length)};
    walk_world(&walk, world);
    require(bytes_at_end(&walk.put));
}

void snapshot_save(struct world *world, const void *data, size_t length, struct bytes *bytes) {
    struct bytes now = {0};
    snapshot_take(world, &now);
    put(world, data, length);
    state_save(world, bytes);
    put(world, now.data, now.length);
    bytes_free(&now);
}
