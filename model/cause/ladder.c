/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/ladder.c - states are kept as bytes, which costs less than worlds do. */
#include "model/cause/ladder.h"

#include "model/state/state.h"

static void keep(struct ladder *ladder, const struct world *world) {
    ladder->tick[ladder->count] = world_tick(world);
    state_save(world, &ladder->rung[ladder->count++]);
}

void ladder_begin(struct ladder *ladder, const struct world *world, int64_t end_tick) {
    *ladder = (struct ladder){.every = (end_tick - world_tick(world)) / LADDER_RUNGS + 1};
    keep(ladder, world);
}

void ladder_free(struct ladder *ladder) {
    for (uint32_t i = 0; i < ladder->count; i++)
        bytes_free(&ladder->rung[i]);
    *ladder = (struct ladder){0};
}

int64_t ladder_next(const struct ladder *ladder) {
    return ladder->count <= LADDER_RUNGS ? ladder->tick[ladder->count - 1] + ladder->every
                                         : INT64_MAX;
}

void ladder_keep(struct ladder *ladder, const struct world *world) {
    if (world_tick(world) == ladder_next(ladder))
        keep(ladder, world);
}

static uint32_t rung_before(const struct ladder *ladder, int64_t tick) {
    uint32_t rung = 0;
    while (rung + 1 < ladder->count && ladder->tick[rung + 1] <= tick)
        rung++;
    return rung;
}

int64_t ladder_tick(const struct ladder *ladder, int64_t tick) {
    return ladder->tick[rung_before(ladder, tick)];
}

struct world *ladder_world(const struct ladder *ladder, const struct scenario *scenario,
                           int64_t tick) {
    const struct bytes *rung = &ladder->rung[rung_before(ladder, tick)];
    struct world *world = world_new(scenario);
    if (state_restore(world, rung->data, rung->length))
        return world;
    world_free(world);
    return NULL;
}
