/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/waits.h - who waits for whom in a world, why, and since when: the wait-for graph.
 *
 * Vertices are lanes and lines, arms, stations, chests, gates (one for each arm, station or
 * supply), supplies and demands, all of a scenario, numbered as waits_vertex says. An edge is a
 * wait:
 *  - an arm waits for a free cell, for its gate, for an item where it takes, for room where it
 *    puts;
 *  - a station waits for its gate, for inputs, for its outputs to be taken; a supply for its gate
 *    or for room, a demand for items;
 *  - a shut gate waits for the count that it reads to fall or rise;
 *  - a lane, line or chest in which somebody wants room waits for those who take off what lies
 *    there; one from which somebody wants an item waits for those who bring it. A station whose arm
 *    waits in turn for the item where it takes it waits for that place at once.
 *
 * The graph is that after the last tick executed. It follows a world through time: an edge that was
 * there at the last look keeps its beginning. What lies on a loop while everything rests waits to
 * be taken off, too. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/cause/graph.h"
#include "model/engine/world.h"
#include "model/scenario/scenario.h"

enum waits_kind {
    WAITS_TRACK, /* numbered as in layout.h */
    WAITS_ARM,
    WAITS_STATION,
    WAITS_CHEST,
    WAITS_ARM_GATE, /* of the arm, station or supply with that index */
    WAITS_STATION_GATE,
    WAITS_SUPPLY_GATE,
    WAITS_SUPPLY,
    WAITS_DEMAND
};
enum { WAITS_KINDS = WAITS_DEMAND + 1 };

struct waits_thing {
    enum waits_kind kind;
    uint32_t index;
};

enum wait_reason {
    WAITS_FOR_CELL, /* count: free cells in a row */
    WAITS_FOR_GATE,
    WAITS_FOR_ITEM, /* item to be there */
    WAITS_FOR_ROOM, /* room for item */
    WAITS_FOR_FALL, /* count of item (NO_INDEX: of all) to fall below `count` */
    WAITS_FOR_RISE, /* to reach `count` */
    WAITS_TO_TAKE,  /* the other to take item off or out */
    WAITS_TO_BRING  /* the other to bring item */
};

/* The vertex of nobody: an edge to it says that there is none who could. */
#define WAITS_NOBODY UINT32_MAX

struct waits_edge {
    uint32_t from, to;
    enum wait_reason why;
    uint32_t item;
    int64_t count;
    int64_t since;           /* tick */
    bool since_is_estimated; /* it began after the look before that tick, not later than it */
};

/* What a vertex is doing, apart from its waits. */
enum actor_status {
    STATUS_WAITING, /* it does nothing, or waits */
    STATUS_ACTIVE,  /* it is under way, at work, or has something to come */
    STATUS_STOPPED, /* an incident or breakdown holds it; of a lane: its loop */
    STATUS_ENDED    /* a supply or demand of which nothing is to come any more */
};

struct waits {
    const struct scenario *scenario;
    uint32_t base[WAITS_KINDS + 1]; /* first vertex of each kind; the last: how many vertices */
    enum actor_status *status;      /* of each vertex */
    bool *stuck;                    /* it can never get on as things are; after a whole look */
    struct waits_edge *edge;        /* in the order of where they begin */
    uint32_t *first;                /* those of vertex v are first[v] .. first[v + 1] */
    uint32_t edge_count;
    int64_t tick;              /* of the look; -1: not looked yet */
    struct waits_maker *maker; /* NULL in a copy */
};

/* Nobody waits yet. The scenario must outlive it. */
void waits_init(struct waits *waits, const struct scenario *scenario);
void waits_free(struct waits *waits);

/* Makes it the graph of a world of its scenario as of now. */
void waits_look(struct waits *waits, const struct world *world);
/* The same without finding out who is stuck, for the many looks of which only the waits matter;
 * waits_find_stuck makes up for it. */
void waits_glance(struct waits *waits, const struct world *world);
void waits_find_stuck(struct waits *waits);

/* Forgets what it has seen, so that the next look is as the first. */
void waits_forget(struct waits *waits);

/* A copy that stays as it is, for one who keeps it. Freed with waits_free. */
void waits_copy(struct waits *copy, const struct waits *waits);

uint32_t waits_vertex(const struct waits *waits, enum waits_kind kind, uint32_t index);
struct waits_thing waits_thing(const struct waits *waits, uint32_t vertex);
/* The part of the scenario that a vertex stands for; of a gate, its owner. */
struct part waits_part(const struct waits *waits, uint32_t vertex);
static inline uint32_t waits_vertices(const struct waits *waits) {
    return waits->base[WAITS_KINDS];
}

/* The place of an arm or gate as a vertex. */
uint32_t waits_vertex_of_place(const struct waits *waits, struct place place);
