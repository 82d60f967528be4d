/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/certain.c - draws one loop with one to four kinds, each with a feeder or two and a
 * taker; what keeps the lane from filling (gates on the belt, a stock that goes round, slow
 * feeders, fast takers, or nothing) is drawn anew for each, and so are the disturbances. Times
 * are in ticks, of which there is one a second. */
#include "tests/unit/certain.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>

#include "sim/random.h"
#include "sim/require.h"

enum { KINDS_MAX = 4 };

struct maker {
    struct random_stream chance;
    FILE *out;
    uint32_t cells, lanes, kinds, style;
    uint32_t threshold; /* of gates on the belt */
    uint32_t fed_at[KINDS_MAX],
        taken_at[KINDS_MAX]; /* the cell of the first feeder; of the taker */
};

enum { STYLE_BELT_GATE, STYLE_STOCK, STYLE_SPACED, STYLE_PACED, STYLE_MIXED, STYLES };

static uint32_t between(struct maker *maker, uint32_t low, uint32_t high) {
    return low + random_below(&maker->chance, high - low + 1);
}

static bool often(struct maker *maker, uint32_t percent) {
    return random_below(&maker->chance, 100) < percent;
}

static const char *lane_of(const struct maker *maker, uint32_t kind) {
    if (maker->lanes == 1)
        return "ring";
    return kind % 2 == 0 ? "ring/outer" : "ring/inner";
}

static uint32_t style_of(const struct maker *maker, uint32_t kind) {
    return maker->style == STYLE_MIXED ? kind % STYLE_MIXED : maker->style;
}

static void write_head(struct maker *maker) {
    static const char *const rate[] = {"1", "1", "1", "0.5", "0.7", "0.334"};
    fprintf(maker->out, "clock: {ticks_per_second: 1}\nrun: {for: %u}\nwatch: {jam_after: %u}\n",
            between(maker, 1500, 3000), between(maker, 0, 40));
    fputs("items: {", maker->out);
    for (uint32_t i = 0; i < maker->kinds; i++)
        fprintf(maker->out, "part-%u: {length: %u}, ", i,
                often(maker, 75) ? 1 : between(maker, 2, 3));
    fprintf(maker->out, "box: {}}\nloops:\n  - {name: ring, cells: %u, rate: %s%s%s}\n",
            maker->cells, rate[between(maker, 0, 5)],
            maker->lanes == 2 ? ", lanes: [outer, inner]" : "",
            often(maker, 4) ? ", breaks: {after: {exponential: 400}, repair: 40}" : "");
}

/* A bin to feed from, and a tray to end in, whose room is drawn too. */
static void write_chests(struct maker *maker) {
    fputs("chests:\n  - {name: shelf}\n", maker->out);
    for (uint32_t i = 0; i < maker->kinds; i++) {
        bool stock = style_of(maker, i) == STYLE_STOCK;
        uint32_t start = stock ? between(maker, 1, maker->cells / maker->kinds) : 4000;
        fprintf(maker->out, "  - {name: bin-%u, start: {part-%u: %u}}\n", i, i, start);
        fprintf(maker->out, "  - {name: tray-%u", i);
        if (often(maker, 45))
            fprintf(maker->out, ", capacity: %u", between(maker, 1, 150));
        fputs("}\n", maker->out);
    }
    fputs("stations:\n", maker->out);
    for (uint32_t i = 0; i < maker->kinds; i++)
        fprintf(maker->out,
                "  - {name: bench-%u, takes: {part-%u: %u}, makes: {box: 1}, time: %u}\n", i, i,
                between(maker, 1, 3), between(maker, 1, 30));
}

/* A gate that counts the belt: the lane or the whole loop, all items or the own kind. */
static void write_belt_leaf(struct maker *maker, uint32_t kind, uint32_t threshold) {
    bool own = often(maker, 30);
    bool whole = often(maker, 30);
    fprintf(maker->out, "{%s: %s", whole ? "loop" : "lane", whole ? "ring" : lane_of(maker, kind));
    if (own)
        fprintf(maker->out, ", item: part-%u", kind);
    fprintf(maker->out, ", below: %u}", threshold);
}

/* A gate that counts the end chest: the own kind, or all that lies there. */
static void write_chest_leaf(struct maker *maker, uint32_t kind) {
    fprintf(maker->out, "{chest: tray-%u", kind);
    if (often(maker, 80))
        fprintf(maker->out, ", item: part-%u", kind);
    fprintf(maker->out, ", below: %u}", between(maker, 1, 20));
}

/* Any gate at all, some of which open as things grow. */
static void write_some_leaf(struct maker *maker, uint32_t kind) {
    if (often(maker, 40))
        write_belt_leaf(maker, kind, between(maker, 1, maker->cells));
    else if (often(maker, 70))
        write_chest_leaf(maker, kind);
    else
        fprintf(maker->out, "{chest: bin-%u, at_least: %u}", kind, between(maker, 1, 50));
}

/* Gates joined by all or any, now and then one within the other; the first is of the kind that the
 * feeder has by its style. */
static void write_joined(struct maker *maker, uint32_t kind, bool belt, uint32_t depth) {
    bool any = often(maker, 50);
    uint32_t others = between(maker, 1, 2);
    fprintf(maker->out, "{%s: [", any ? "any" : "all");
    if (belt)
        write_belt_leaf(maker, kind, maker->threshold);
    else
        write_chest_leaf(maker, kind);
    for (uint32_t i = 0; i < others; i++) {
        fputs(", ", maker->out);
        if (depth < 2 && often(maker, 25))
            write_joined(maker, kind, belt, depth + 1);
        else if (any && belt && often(maker, 60))
            write_belt_leaf(maker, kind, between(maker, 1, maker->threshold));
        else
            write_some_leaf(maker, kind);
    }
    fputs("]}", maker->out);
}

static void write_gate(struct maker *maker, uint32_t kind) {
    uint32_t style = style_of(maker, kind);
    bool belt = style == STYLE_BELT_GATE && often(maker, 92);
    if (!belt && (style == STYLE_STOCK || !often(maker, 55)))
        return;
    fputs(", gate: ", maker->out);
    if (often(maker, 35))
        write_joined(maker, kind, belt, 0);
    else if (belt)
        write_belt_leaf(maker, kind, maker->threshold);
    else
        write_chest_leaf(maker, kind);
}

static void write_feeder(struct maker *maker, uint32_t kind, uint32_t number) {
    bool slow = style_of(maker, kind) == STYLE_SPACED || style_of(maker, kind) == STYLE_PACED;
    uint32_t least = style_of(maker, kind) == STYLE_PACED ? maker->cells / 3 : 3;
    fprintf(maker->out, "  - {name: feeder-%u-%u, from: bin-%u, to: %s@%u, swing: %u, hand: %u",
            kind, number, kind, lane_of(maker, kind),
            number == 0 ? maker->fed_at[kind] : between(maker, 0, maker->cells - 1),
            slow ? between(maker, least, least + 40) : between(maker, 0, 6),
            often(maker, slow ? 85 : 60) ? 1 : between(maker, 2, 4));
    write_gate(maker, kind);
    if (often(maker, 2))
        fputs(", breaks: {after: {exponential: 300}, repair: 30}", maker->out);
    fputs("}\n", maker->out);
}

static void write_taker(struct maker *maker, uint32_t kind) {
    uint32_t style = style_of(maker, kind);
    bool fast = style == STYLE_SPACED || style == STYLE_PACED;
    char to[24];
    snprintf(to, sizeof to, style == STYLE_STOCK && often(maker, 70) ? "bin-%u" : "tray-%u", kind);
    fprintf(maker->out, "  - {name: taker-%u, from: %s@%u, to: %s, items: [part-%u", kind,
            lane_of(maker, kind), maker->taken_at[kind], to, kind);
    if (often(maker, 15) && maker->kinds > 1)
        fprintf(maker->out, ", part-%u", (kind + 1) % maker->kinds);
    fprintf(maker->out, "], swing: %u, hand: %u",
            fast ? between(maker, 0, 4) : between(maker, 0, 25),
            often(maker, 70) ? 1 : between(maker, 2, 4));
    if (often(maker, 20))
        fprintf(maker->out, ", linger: %u", between(maker, 0, 20));
    if (often(maker, fast ? 4 : 20))
        fputs(", breaks: {after: {exponential: 200}, repair: {exponential: 60}}", maker->out);
    fputs("}\n", maker->out);
}

static void write_arms(struct maker *maker) {
    fputs("arms:\n", maker->out);
    for (uint32_t i = 0; i < maker->kinds; i++) {
        bool taker_first = often(maker, 50);
        if (taker_first)
            write_taker(maker, i);
        write_feeder(maker, i, 0);
        if (often(maker, 20))
            write_feeder(maker, i, 1);
        if (!taker_first)
            write_taker(maker, i);
        fprintf(maker->out, "  - {name: mover-%u, from: tray-%u, to: bench-%u, swing: %u}\n", i, i,
                i, between(maker, 1, 30));
        fprintf(maker->out, "  - {name: shelver-%u, from: bench-%u, to: shelf, swing: 3}\n", i, i);
    }
}

/* Now and then at one cell, or one after the other, where a fresh item may pass or not. */
static void choose_cells(struct maker *maker) {
    for (uint32_t i = 0; i < maker->kinds; i++) {
        maker->fed_at[i] = between(maker, 0, maker->cells - 1);
        maker->taken_at[i] = often(maker, 20)
                                 ? (maker->fed_at[i] + between(maker, 0, 1)) % maker->cells
                                 : between(maker, 0, maker->cells - 1);
    }
}

static void write_incidents(struct maker *maker) {
    if (!often(maker, 35))
        return;
    uint32_t kind = between(maker, 0, maker->kinds - 1);
    fputs("incidents:\n", maker->out);
    if (often(maker, 60))
        fprintf(maker->out, "  - {at: %u, drop: {item: part-%u, count: %u, lane: %s}}\n",
                between(maker, 0, 1000), kind, between(maker, 1, 1 + maker->cells / 4),
                lane_of(maker, kind));
    else
        fprintf(maker->out, "  - {%s: %u, stop: taker-%u}\n", often(maker, 50) ? "at" : "every",
                between(maker, 100, 900), kind);
    if (often(maker, 30))
        fprintf(maker->out, "  - {at: %u, set: {chest: tray-%u, capacity: %u}}\n",
                between(maker, 0, 900), kind, between(maker, 0, 90));
}

char *certain_scenario(uint64_t seed) {
    char *text = NULL;
    size_t length = 0;
    struct maker maker = {.out = open_memstream(&text, &length)};
    require(maker.out != NULL);
    random_start(&maker.chance, seed, "certain", "scenario");
    maker.cells = between(&maker, 12, 90);
    maker.lanes = often(&maker, 20) ? 2 : 1;
    maker.kinds = between(&maker, 1, KINDS_MAX);
    maker.style = between(&maker, 0, STYLES - 1);
    maker.threshold = between(&maker, 1, maker.cells - 6);
    choose_cells(&maker);
    write_head(&maker);
    write_chests(&maker);
    write_arms(&maker);
    write_incidents(&maker);
    require(fclose(maker.out) == 0);
    return text;
}

char *one_cell_scenario(uint64_t seed) {
    char *text = NULL;
    size_t length = 0;
    struct maker maker = {.out = open_memstream(&text, &length)};
    require(maker.out != NULL);
    random_start(&maker.chance, seed, "certain", "one cell");
    maker.cells = between(&maker, 3, 60);
    uint32_t cell = between(&maker, 0, maker.cells - 1);
    fprintf(maker.out,
            "clock: {ticks_per_second: 1}\nrun: {for: 3000}\nwatch: {jam_after: 0}\n"
            "items: [pin]\nloops:\n  - {name: ring, cells: %u, rate: 0.%02u}\n"
            "chests:\n  - {name: bin, start: {pin: 9000}}\n  - {name: tray}\narms:\n",
            maker.cells, between(&maker, 11, 99));
    bool taker_first = often(&maker, 50);
    for (int i = 0; i < 2; i++)
        if ((i == 0) == taker_first)
            fprintf(maker.out, "  - {name: taker, from: ring@%u, to: tray, swing: %u}\n", cell,
                    between(&maker, 0, 12));
        else
            fprintf(maker.out, "  - {name: feeder, from: bin, to: ring@%u, swing: %u}\n", cell,
                    between(&maker, 1, 40));
    require(fclose(maker.out) == 0);
    return text;
}
