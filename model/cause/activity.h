/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/activity.h - what arms, stations and supplies did over a stretch of a run: how long
 * they were busy, what they waited for otherwise, and how long they were busy without a break.
 *
 * Times in each state are exact, from the totals of the world. What somebody waits for is seen only
 * when it is looked at, so that its share is an estimate from looks. Whoever looks at irregular
 * times (activity_next_look) is not misled by a workshop that repeats itself.
 *
 * An active period is a time without a wait; it is taken to end in the look after the first tick of
 * a wait. The mean length of active periods finds the bottleneck of a line better than utilisation
 * does: C. Roser, M. Nakano, M. Tanaka, "A practical bottleneck detection method", Proceedings of
 * the 2001 Winter Simulation Conference, 949-953. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/cause/waits.h"
#include "model/engine/listener.h"
#include "model/engine/world.h"

/* Shares of time, which add up to 1: of a station working, starved, blocked, gated, stopped; of an
 * arm busy (carrying, returning), waiting for an item, for a free cell or room, for its gate,
 * stopped; of a supply the same (busy: its next delivery is under way; no supply waits for an
 * item). What has ended counts as stopped. */
enum activity_state {
    ACTIVITY_BUSY,
    ACTIVITY_ITEM,
    ACTIVITY_ROOM,
    ACTIVITY_GATE,
    ACTIVITY_STOPPED
};
enum { ACTIVITY_STATES = ACTIVITY_STOPPED + 1 };

struct activity_shares {
    double share[ACTIVITY_STATES];
};

/* How often somebody was seen waiting for something; a shut gate waits for counts. */
struct activity_wait {
    enum wait_reason why;
    uint32_t item;
    uint32_t looks;
    uint32_t to; /* the vertex that it waited for, the first that was seen */
};

/* Active periods so far; that at work counts too. */
struct activity_periods {
    int64_t active_ticks;  /* in all of them */
    int64_t passive_total; /* ticks of waits at the last look, of the whole run */
    int64_t since;         /* the present one; NOT_GIVEN: it waits */
    int64_t longest_ticks;
    uint32_t count;
};

struct activity {
    const struct scenario *scenario;
    int64_t from_tick, to_tick; /* of the first and the last look */
    uint32_t looks;
    struct activity_of *of; /* of each vertex of the graph of waits */
    uint32_t vertex_count;
    struct arm_totals *arm_at_first; /* totals at the first look */
    struct station_totals *station_at_first;
    struct arm_totals *arm_at_last;
    struct station_totals *station_at_last;
    uint32_t *first_item; /* [arm] where its items begin in `placed` */
    int64_t *placed;      /* how many of each of its items an arm has put down */
    double *on_track;     /* [track * items + item] sum over looks of what lay there */
};

/* What is known of a vertex. */
struct activity_of {
    struct activity_wait *wait;
    uint32_t wait_count, wait_capacity;
    uint32_t seen[ACTIVITY_STATES]; /* looks: of a supply or demand; of an arm that reaches, why it
                                       does */
    struct activity_periods periods;
};

/* Nothing seen yet. The scenario must outlive it. */
void activity_init(struct activity *activity, const struct waits *waits);
void activity_free(struct activity *activity);

/* Takes in how things are now: `waits` has just looked at the world. The first look begins the
 * stretch. */
void activity_look(struct activity *activity, const struct waits *waits, const struct world *world);
/* To be called by a listener with each move. */
void activity_moved(struct activity *activity, const struct move *move);

/* The tick of the next look: `every` ticks on the average, at irregular distances, always later
 * than the look with number `looks` (from 0) at `tick`. */
int64_t activity_next_look(uint32_t looks, int64_t tick, int64_t every);

/* What an arm (WAITS_ARM), a station, a supply or a demand (busy: nothing is owed) did, as shares
 * of the stretch. */
struct activity_shares activity_shares(const struct activity *activity, const struct waits *waits,
                                       uint32_t vertex);
/* The share of looks in which a vertex waited for that; item NO_INDEX: for any item. */
double activity_wait_share(const struct activity *activity, uint32_t vertex, enum wait_reason why,
                           uint32_t item);
/* What a shut gate (a vertex) was most often seen waiting for; NULL: it never was. */
const struct activity_wait *activity_gate_wait(const struct activity *activity, uint32_t gate);
/* Mean length in seconds of the active periods of an arm, a station or a supply; 0: none. */
double activity_mean_period(const struct activity *activity, uint32_t vertex);

/* Items a second that an arm has put down, of one kind. */
double activity_rate(const struct activity *activity, uint32_t arm, uint32_t item);
/* Mean number of items of a kind on a lane or line (a vertex). */
double activity_mean_on_track(const struct activity *activity, uint32_t track, uint32_t item);
