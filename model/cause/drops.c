/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/drops.c - keeps, for each item of each lane and line, the least count that has
 * been left of a drop. */
#include "model/cause/drops.h"

#include <stdlib.h>

#include "sim/array.h"
#include "sim/require.h"

struct drop {
    struct place track;
    uint32_t item;
    int64_t tick, count;
    int64_t least; /* of the item on the track at any look since */
};

void drops_free(struct drops *drops) {
    free(drops->drop);
    *drops = (struct drops){0};
}

void drops_happened(struct drops *drops, const struct event *event) {
    if (event->kind != EVENT_DROP || event->count <= 0)
        return;
    drops->drop = array_with_room(drops->drop, drops->count, &drops->capacity, sizeof *drops->drop);
    drops->drop[drops->count++] =
        (struct drop){event->track, event->item[0], event->start_tick, event->count, INT64_MAX};
}

void drops_look(struct drops *drops, const struct world *world) {
    for (uint32_t i = 0; i < drops->count; i++) {
        struct drop *drop = &drops->drop[i];
        int64_t now = drop->least > 0 ? world_track_count(world, drop->track, drop->item) : 0;
        if (now < drop->least)
            drop->least = now;
    }
}

int64_t drops_lasting(const struct drops *drops, struct place track, uint32_t item) {
    for (uint32_t i = 0; i < drops->count; i++) {
        const struct drop *drop = &drops->drop[i];
        if (drop->track.kind == track.kind && drop->track.index == track.index &&
            drop->item == item && 2 * drop->least >= drop->count)
            return drop->tick;
    }
    return NOT_GIVEN;
}
