/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/ring.h - closed networks: jobs that go round through servers and over belts.
 * Server, chest and ride are those of network.h. */
#pragma once

#include <stdint.h>

#include "model/engine/world.h"

enum { RING_TICKS = 100000, RING_NODES_MAX = 5 }; /* ticks of a second */

/* A chest, and `servers` servers with a time for each job as a scenario writes it; or, with servers
 * 0, a ride over a belt of `ride_seconds` to the next node. */
struct ring_node {
    const char *time;
    uint32_t servers;
    double ride_seconds;
};

struct ring {
    struct ring_node node[RING_NODES_MAX]; /* one after another, up to the first that is empty */
    int64_t jobs;
    int64_t warm_up, length; /* of a run, seconds */
};

/* All jobs begin in the chest of the first node. */
struct scenario *ring_open(const struct ring *ring);

/* Batches of the first node so far. */
int64_t ring_batches(const struct world *world, const struct ring *ring);

/* What is found in a run after its warm-up: batches a second of the first node, then the mean
 * number at each node, those served counted. */
enum { RING_RATE, RING_NUMBER, RING_FOUND = RING_NUMBER + RING_NODES_MAX };

/* What was found k-th in run r is value[k * runs + r]. */
void ring_try(const struct ring *ring, uint32_t runs, double *value);
