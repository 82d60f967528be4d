/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/roots.h - finds the roots of a jam or a starvation: where a chain of waits ends, or
 * what closes it to a circle.
 *
 * The search follows the waits from the lane or station, always for what was waited for: from a
 * lane in which room is wanted to those who take items off, from a chest in which a spring is
 * wanted to those who bring springs. A chain ends where there is nobody left to wait for. Where
 * it comes back to a lane, whoever has filled that lane has closed it.
 *
 * The room model/cause says why a world is as it is. What comes in: a world at one moment, and
 * what a listener has heard since the start. What goes out: the wait-for graph (waits.h), roots,
 * lasting effects of incidents (incident_log.h, drops.h), the point of no return
 * (turning_point.h), and what limits a product that is short (shortage.h). */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/cause/drops.h"
#include "model/cause/incident_log.h"
#include "model/cause/waits.h"

/* In the order in which they are reported where several fit one thing. */
enum root_kind {
    ROOT_FOREIGN_ITEM,
    ROOT_STOPPED,
    ROOT_DEAD_SUPPLY,
    ROOT_GATE_SHUT,
    ROOT_NO_EXIT,
    ROOT_FULL_CHEST,
    ROOT_SURPLUS,
    ROOT_SLOW_TAKER,
    ROOT_UNGATED_FEEDER,
    /* why less comes than is wanted, found by shortage.h alone: */
    ROOT_SLOW_ARM,
    ROOT_SLOW_STATION,
    ROOT_SHORT_SUPPLY,
    ROOT_LOW_THRESHOLD,
    ROOT_SMALL_ROOM,
    ROOT_FULL_LANE
};
enum { ROOT_KINDS = ROOT_FULL_LANE + 1 };

struct root {
    enum root_kind kind;
    struct part subject; /* what it is about */
    uint32_t item;       /* NO_INDEX: none in particular */
    int64_t since;       /* from when it has been so, as far as it is known; NOT_GIVEN */
    uint32_t edge;       /* the wait of which that is the beginning; NO_INDEX: of none */
    bool is_refused; /* a slow taker that has no room for the item now: it may not be to blame */
    bool lingers;    /* a slow taker that has some in its hand and waits for the rest of it */
    uint32_t steps;  /* waits between the jam and it */
    uint32_t lane;   /* of what closes a chain: the track that it fills; NO_INDEX */
    uint32_t
        crowd;  /* small_room: the other item that holds most of the chest; NO_INDEX: none does */
    double fed; /* slow_taker, surplus: items of it a second that arms put onto its track at
                        best; 0: it is of no track */
    /* what an incident or breakdown did that brought it about or shares in it */
    struct lasting_effect deed;
};

struct roots {
    struct root *root; /* by kind, then by distance */
    uint32_t count, capacity;
    uint32_t *chain, chain_length, chain_capacity; /* edges of the graph that were followed, the
                                                      near ones first */
    uint32_t *ring, ring_length; /* vertices of a circular wait that nobody in it can end, in the
                                    order of waiting; length 0: there is none */
    /* vertices that the walk came by, and those that wait for a cell where it began */
    bool *walked;
};

/* Whether two roots are of one kind and about the same. */
bool root_is_same(const struct root *root, const struct root *other);

/* The gate of what a root is about; NO_INDEX: it has none. */
uint32_t root_gate(const struct scenario *scenario, struct part subject);

/* The roots of what `vertex` (a lane in which room is wanted, or a station that starves) waits for
 * in a world of which `waits` is the graph. `roots` starts as {0}; freed with roots_free. */
void roots_find(struct roots *roots, const struct waits *waits, const struct world *world,
                const struct drops *drops, uint32_t vertex);
void roots_free(struct roots *roots);
/* Finds the deeds that led to them: what has stopped what is stopped, which is dated by it, as the
 * waits tell only since when somebody has missed it; what has set the capacity of a full chest;
 * what has set the threshold of a gate that is shut or lets go on, else the capacity of the chest
 * that it reads. */
void roots_find_deeds(struct roots *roots, const struct scenario *scenario,
                      const struct incident_log *deeds);

/* Items a second that an arm can move at best. */
double root_rate_of_arm(const struct scenario *scenario, uint32_t arm);
