/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/outside/ring.h"

#include <stdio.h>

#include "tests/outside/network.h"
#include "tests/outside/trial.h"

static uint32_t count_nodes(const struct ring *ring) {
    uint32_t count = 0;
    while (count < RING_NODES_MAX &&
           (ring->node[count].servers > 0 || ring->node[count].ride_seconds > 0))
        count++;
    return count;
}

struct scenario *ring_open(const struct ring *ring) {
    struct shop shop = {.ticks_per_second = RING_TICKS};
    shop_item(&shop, "job", 1);
    shop_item(&shop, "token", 1);
    uint32_t count = count_nodes(ring);
    for (uint32_t i = 0; i < count; i++)
        shop_part(&shop, SHOP_CHESTS, "name: queue-%u, start: {job: %lld}", i,
                  i == 0 ? (long long)ring->jobs : 0LL);
    for (uint32_t i = 0; i < count; i++) {
        const struct ring_node *node = &ring->node[i];
        char from[32], to[32], name[32];
        snprintf(from, sizeof from, "queue-%u", i);
        snprintf(to, sizeof to, "queue-%u", (i + 1) % count);
        snprintf(name, sizeof name, "node-%u", i);
        if (node->servers == 0)
            network_add_ride(&shop, name, from, to,
                             (uint32_t)(node->ride_seconds * NETWORK_CELLS_PER_SECOND + 0.5));
        else
            network_add_many(&shop, name, from, to, node->time, node->servers);
    }
    return shop_open(&shop);
}

struct looking {
    const struct ring *ring;
    const struct scenario *scenario;
};

static void look_at_ring(const struct world *world, const void *of, double *seen) {
    const struct looking *looking = of;
    const struct ring *ring = looking->ring;
    uint32_t station = 0, loop = 0;
    for (uint32_t i = 0; i < count_nodes(ring); i++) {
        seen[RING_NUMBER + i] += (double)world_chest_count(world, i, 0);
        if (ring->node[i].servers == 0) {
            struct place lane = {.kind = PLACE_LANE, .index = loop++};
            seen[RING_NUMBER + i] += (double)world_track_count(world, lane, NO_INDEX);
        }
        for (uint32_t s = 0; s < ring->node[i].servers; s++)
            seen[RING_NUMBER + i] += world_station_state(world, station++) == STATION_WORKING;
    }
}

int64_t ring_batches(const struct world *world, const struct ring *ring) {
    int64_t batches = 0;
    for (uint32_t s = 0; s < ring->node[0].servers; s++)
        batches += world_station_totals(world, s).batches;
    return batches;
}

static void run_ring(struct world *world, const struct scenario *scenario, const void *of,
                     double *found) {
    const struct ring *ring = of;
    struct looking looking = {ring, scenario};
    int64_t from = ring->warm_up * RING_TICKS, to = from + ring->length * RING_TICKS;
    world_advance(world, from);
    int64_t before = ring_batches(world, ring);
    struct trial_window window = {from, to, 73171};
    trial_average(world, window, look_at_ring, &looking, RING_FOUND, found);
    found[RING_RATE] = (double)(ring_batches(world, ring) - before) / (double)ring->length;
}

void ring_try(const struct ring *ring, uint32_t runs, double *value) {
    struct scenario *scenario = ring_open(ring);
    trial_repeat(scenario, run_ring, ring, RING_FOUND, runs, value);
    scenario_free(scenario);
}
