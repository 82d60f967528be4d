/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/bench/ring.c - the sections of the scenario, one after another. */
#include "tests/bench/ring.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

enum { SECTOR_CELLS = 60 };

static const char item_name[] = "abcdefg";
const int64_t ring_feed_cell[RING_ITEMS] = {1, 4, 7, 10, 13, 16, 19};
const int64_t ring_clear_cell[RING_ITEMS] = {53, 54, 55, 56, 57, 58, 59};

const struct ring_bench ring_bench[RING_BENCHES] = {{'x', 26, 4, 3, {{0, 1}, {1, 2}, {2, 2}}},
                                                    {'y', 35, 3, 2, {{3, 2}, {4, 2}}},
                                                    {'z', 44, 3, 2, {{5, 2}, {6, 2}}}};

/* Seconds of a swing of all arms but feeders. */
static const char swing[] = "0.8";

struct ring ring_default(void) {
    return (struct ring){.sectors = 1,
                         .cells = SECTOR_CELLS,
                         .ticks_per_second = 100,
                         .feeder_swing = 1.2,
                         .run_for = "1 h",
                         .watch_every = "60 s"};
}

static bool set_number(int64_t *number, int64_t least, const char *value) {
    char *end = NULL;
    *number = strtoll(value, &end, 10);
    return end != value && *end == '\0' && *number >= least;
}

bool ring_set(struct ring *ring, const char *option, const char *value, int *used) {
    *used = 1;
    if (strcmp(option, "--stagger") == 0)
        return ring->stagger = true;
    *used = 2;
    if (value == NULL)
        return false;
    if (strcmp(option, "--sectors") == 0)
        return set_number(&ring->sectors, 1, value);
    if (strcmp(option, "--busy") == 0)
        return set_number(&ring->busy, 0, value);
    if (strcmp(option, "--cells") == 0)
        return set_number(&ring->cells, SECTOR_CELLS, value);
    if (strcmp(option, "--ticks-per-second") == 0)
        return set_number(&ring->ticks_per_second, 1, value);
    if (strcmp(option, "--idle-at-gate") == 0)
        return set_number(&ring->idle_at_gate, 0, value);
    if (strcmp(option, "--idle-at-lane") == 0)
        return set_number(&ring->idle_at_lane, 0, value);
    if (strcmp(option, "--feeder-swing") == 0)
        return (ring->feeder_swing = atof(value)) > 0;
    if (strcmp(option, "--for") == 0)
        return (ring->run_for = value) != NULL;
    if (strcmp(option, "--watch") == 0)
        return (ring->watch_every = value) != NULL;
    return false;
}

static void write_head(const struct ring *ring, FILE *out) {
    fprintf(out, "title: Ring of %" PRId64 " equal sectors\n", ring->sectors);
    fprintf(out, "clock: {ticks_per_second: %" PRId64 "}\n", ring->ticks_per_second);
    fprintf(out, "run: {for: %s, seed: 1}\n", ring->run_for);
    fprintf(out, "watch: {every: %s}\n", ring->watch_every);
    fputs("items:\n", out);
    for (int64_t k = 0; k < ring->sectors; k++) {
        for (int i = 0; i < RING_ITEMS; i++)
            fprintf(out, "  %c%" PRId64 ": {}\n", item_name[i], k);
        for (int b = 0; b < RING_BENCHES; b++)
            fprintf(out, "  %c%" PRId64 ": {}\n", ring_bench[b].product, k);
    }
    fputs("loops:\n", out);
    fprintf(out, "  - {name: ring, cells: %" PRId64 ", rate: 7.5}\n", ring->sectors * ring->cells);
    if (ring->idle_at_lane > 0)
        fprintf(out, "  - {name: pile, cells: %d, rate: 7.5}\n", SECTOR_CELLS);
}

static void write_chests(const struct ring *ring, FILE *out) {
    fputs("chests:\n", out);
    for (int64_t k = 0; k < ring->sectors; k++) {
        for (int i = 0; i < RING_ITEMS; i++)
            fprintf(out,
                    "  - {name: bin-%c%" PRId64 ", capacity: %d, start: {%c%" PRId64 ": %d}}\n",
                    item_name[i], k, RING_BIN, item_name[i], k, RING_BIN_START);
        for (int b = 0; b < RING_BENCHES; b++)
            fprintf(out, "  - {name: shelf-%c%" PRId64 ", capacity: %d}\n", ring_bench[b].product,
                    k, RING_SHELF);
    }
    if (ring->idle_at_lane > 0)
        fprintf(out, "  - {name: heap, start: {a0: %" PRId64 "}}\n", ring->idle_at_lane);
}

static void write_benches(const struct ring *ring, FILE *out) {
    fputs("stations:\n", out);
    for (int64_t k = 0; k < ring->sectors; k++)
        for (const struct ring_bench *bench = ring_bench; bench < ring_bench + RING_BENCHES;
             bench++) {
            fprintf(out, "  - {name: bench-%c%" PRId64 ", takes: {", bench->product, k);
            for (int i = 0; i < bench->inputs; i++)
                fprintf(out, "%s%c%" PRId64 ": %d", i > 0 ? ", " : "",
                        item_name[bench->takes[i].item], k, bench->takes[i].count);
            fprintf(out, "}, makes: {%c%" PRId64 ": 1}, time: %" PRId64 " s}\n", bench->product, k,
                    bench->seconds);
        }
}

static void write_feeders(const struct ring *ring, FILE *out, int64_t k) {
    for (const struct ring_bench *bench = ring_bench; bench < ring_bench + RING_BENCHES; bench++)
        for (int i = 0; i < bench->inputs; i++) {
            int item = bench->takes[i].item;
            char kind = item_name[item];
            fprintf(out,
                    "  - {name: feeder-%c%" PRId64 ", from: bin-%c%" PRId64 ", to: ring@%" PRId64
                    ", items: [%c%" PRId64 "], hand: 1, swing: %g s,\n",
                    kind, k, kind, k, k * ring->cells + ring_feed_cell[item], kind, k,
                    ring->feeder_swing);
            fprintf(out,
                    "     gate: {chest: shelf-%c%" PRId64 ", item: %c%" PRId64 ", below: %d}}\n",
                    bench->product, k, bench->product, k, RING_GATE);
        }
}

static void write_sector_arms(const struct ring *ring, FILE *out, int64_t k) {
    int64_t base = k * ring->cells;
    write_feeders(ring, out, k);
    for (const struct ring_bench *bench = ring_bench; bench < ring_bench + RING_BENCHES; bench++)
        fprintf(out,
                "  - {name: taker-%c%" PRId64 ", from: ring@%" PRId64 ", to: bench-%c%" PRId64
                ", swing: %s s}\n",
                bench->product, k, base + bench->cell, bench->product, k, swing);
    for (const struct ring_bench *bench = ring_bench; bench < ring_bench + RING_BENCHES; bench++)
        fprintf(out,
                "  - {name: shelver-%c%" PRId64 ", from: bench-%c%" PRId64 ", to: shelf-%c%" PRId64
                ", swing: %s s}\n",
                bench->product, k, bench->product, k, bench->product, k, swing);
    for (int i = 0; i < RING_ITEMS; i++)
        fprintf(out,
                "  - {name: clearer-%c%" PRId64 ", from: ring@%" PRId64 ", to: bin-%c%" PRId64
                ", items: [%c%" PRId64 "], swing: %s s}\n",
                item_name[i], k, base + ring_clear_cell[i], item_name[i], k, item_name[i], k,
                swing);
}

static void write_arms(const struct ring *ring, FILE *out) {
    fputs("arms:\n", out);
    for (int64_t k = 0; k < ring->sectors; k++)
        write_sector_arms(ring, out, k);
    for (int64_t i = 0; i < ring->idle_at_gate; i++)
        fprintf(out,
                "  - {name: idle-%" PRId64 ", from: bin-a0, to: ring@%" PRId64
                ", items: [a0], swing: 1 s, gate: {chest: shelf-x0, at_least: %d}}\n",
                i, i % (ring->sectors * ring->cells), RING_SHELF);
    for (int64_t i = 0; i < ring->idle_at_lane; i++)
        fprintf(out,
                "  - {name: waiter-%" PRId64 ", from: heap, to: pile@%" PRId64
                ", items: [a0], swing: 1 s}\n",
                i, i % SECTOR_CELLS);
}

static void write_supplies(const struct ring *ring, FILE *out) {
    fputs("supplies:\n", out);
    for (int64_t k = 0; k < ring->sectors; k++)
        for (const struct ring_bench *bench = ring_bench; bench < ring_bench + RING_BENCHES;
             bench++)
            for (int i = 0; i < bench->inputs; i++) {
                char kind = item_name[bench->takes[i].item];
                fprintf(out,
                        "  - {name: delivery-%c%" PRId64 ", chest: bin-%c%" PRId64
                        ", item: %c%" PRId64 ", every: %d s}\n",
                        kind, k, kind, k, kind, k, RING_ORDER_SECONDS / bench->takes[i].count);
            }
}

int64_t ring_stagger_hundredths(int64_t sector, int64_t bench) {
    return (sector * 37 + bench * 211) % (RING_ORDER_SECONDS * 100);
}

static void write_orders(const struct ring *ring, FILE *out) {
    int64_t sectors = ring->busy > 0 && ring->busy < ring->sectors ? ring->busy : ring->sectors;
    fputs("demands:\n", out);
    for (int64_t k = 0; k < sectors; k++)
        for (int b = 0; b < RING_BENCHES; b++) {
            char product = ring_bench[b].product;
            fprintf(out,
                    "  - {name: orders-%c%" PRId64 ", chest: shelf-%c%" PRId64 ", item: %c%" PRId64
                    ", every: %d s",
                    product, k, product, k, product, k, RING_ORDER_SECONDS);
            if (ring->stagger)
                fprintf(out, ", first: %g s",
                        RING_ORDER_SECONDS + (double)ring_stagger_hundredths(k, b) / 100);
            fputs("}\n", out);
        }
}

void ring_write(const struct ring *ring, FILE *out) {
    write_head(ring, out);
    write_chests(ring, out);
    write_benches(ring, out);
    write_arms(ring, out);
    write_supplies(ring, out);
    write_orders(ring, out);
    if (ring->idle_at_lane > 0)
        fprintf(out, "incidents:\n  - {at: 0 s, drop: {item: a0, count: %d, lane: pile}}\n",
                SECTOR_CELLS);
}

char *ring_text(const struct ring *ring) {
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    require(out != NULL);
    ring_write(ring, out);
    require(fclose(out) == 0);
    return text;
}
