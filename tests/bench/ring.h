/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/bench/ring.h - the scenario on which speed is measured: one loop of one lane, K equal
 * sectors one after the other.
 *
 * A sector has seven items in seven bins, seven feeders that put them on the loop, three benches
 * that take three, two and two of the kinds and make a product each, three shelvers to three
 * shelves on which orders draw, and at its end seven clearers that put what is still on the loop
 * back into its bins, so that nothing crosses into the next sector while all is well. */
#pragma once

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

struct ring {
    int64_t sectors; /* from 1 */
    int64_t cells;   /* of a sector, from 60; its arms stay at its start */
    int64_t ticks_per_second;
    int64_t busy;        /* sectors with orders, the first ones; 0: all */
    bool stagger;        /* orders at other moments in each sector: not all march in step */
    double feeder_swing; /* seconds; 1.2 are nine steps, 1.25 lets feeders wait for cells */
    const char *run_for, *watch_every; /* durations as a scenario writes them */
    int64_t idle_at_gate;              /* so many arms more before a gate that never opens */
    int64_t idle_at_lane; /* so many arms more that would put onto a full lane of 60 cells */
};

/* One sector in step, for an hour, a hundred ticks a second, a sample a minute. */
struct ring ring_default(void);

/* What a sector has, for who works it out otherwise: an item's feeder, and its clearer, put on and
 * pick off at these cells; a bench takes so many of some items, and makes its product in so many
 * seconds. */
enum { RING_ITEMS = 7, RING_BENCHES = 3, RING_INPUTS = 3 };
enum { RING_BIN = 400, RING_BIN_START = 200, RING_SHELF = 40, RING_GATE = 20 };
enum { RING_ORDER_SECONDS = 6 };
extern const int64_t ring_feed_cell[RING_ITEMS], ring_clear_cell[RING_ITEMS];
extern const struct ring_bench {
    char product;
    int64_t cell, seconds;
    int inputs;
    struct {
        int item, count;
    } takes[RING_INPUTS];
} ring_bench[RING_BENCHES];

/* Hundredths of a second by which the orders of a sector's bench come later than in step, where
 * sectors are staggered. */
int64_t ring_stagger_hundredths(int64_t sector, int64_t bench);

/* Sets one option from the command line, "--sectors" "8"; *used: words used, 1 or 2. False: no such
 * option, or its value is missing or wrong. */
bool ring_set(struct ring *ring, const char *option, const char *value, int *used);

/* Writes the scenario as YAML. */
void ring_write(const struct ring *ring, FILE *out);

/* The scenario as text, freed with free(). */
char *ring_text(const struct ring *ring);
