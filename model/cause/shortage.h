/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/shortage.h - why less of an item comes than is wanted: the way back from where it is
 * wanted to what limits.
 *
 * At each station and arm the greatest of its waits is followed: for an item to those who bring it,
 * for room to those who take things away, for a gate to what the gate reads. The way ends at a part
 * that hardly waits, or that would be too slow even without a wait: its own pace is the limit. Of
 * several such parts on the way it is the one with the longest mean active period (C. Roser,
 * M. Nakano, M. Tanaka, "A practical bottleneck detection method", Proceedings of the 2001 Winter
 * Simulation Conference, 949-953). Following the waits is the rule of C.-T. Kuo, J.-T. Lim,
 * S. M. Meerkov, "Bottlenecks in serial production lines: a system-theoretic approach",
 * Mathematical Problems in Engineering 2 (1996) 233-276. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/cause/activity.h"
#include "model/cause/roots.h"
#include "model/cause/waits.h"
#include "model/engine/world.h"

/* One thing on the way. */
struct shortage_link {
    uint32_t vertex;
    uint32_t item; /* that it waits for, or that is waited for there; NO_INDEX */
    uint32_t on;   /* the vertex that comes next; WAITS_NOBODY: it is the last */
    bool has_shares;
    struct activity_shares shares;
};

struct shortage {
    /* that which limits first, then what limits beside it, the weightier first */
    struct roots roots;
    struct shortage_link *chain; /* from the station that makes the item to what limits */
    uint32_t chain_count, chain_capacity;
};

/* What a run has shown. `waits` has looked at `world` at the end of the stretch. */
struct shortage_evidence {
    const struct activity *activity;
    const struct waits *waits;
    const struct world *world;
    const struct drops *drops;
};

/* Why a chest lacks an item of which `factor` times as much is wanted as came (INFINITY: nothing
 * came). `shortage` starts as {0}; freed with shortage_free. */
void shortage_find_item(struct shortage *shortage, const struct shortage_evidence *evidence,
                        uint32_t chest, uint32_t item, double factor);
/* Why a station starves. */
void shortage_find_station(struct shortage *shortage, const struct shortage_evidence *evidence,
                           uint32_t station);
void shortage_free(struct shortage *shortage);

/* The vertex of what a root is about; WAITS_NOBODY: a loop. */
uint32_t shortage_vertex(const struct waits *waits, struct part part);
