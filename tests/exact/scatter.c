/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/scatter.c - draws a random scenario section by section. What later sections must
 * know of earlier ones (names, sizes, lengths) is kept in struct scatter; all times are drawn in
 * ticks and written in seconds such that they read back to the same number of ticks. */
#include "tests/exact/scatter.h"

#include <inttypes.h>
#include <stdlib.h>

#include "sim/require.h"
#include "tests/common/dice.h"

enum { ITEMS_MAX = 20, LOOPS_MAX = 3, LINES_MAX = 2, CHESTS_MAX = 6, STATIONS_MAX = 3 };
enum { ARMS_MAX = 150, STREAMS_MAX = 40, OWNERS_MAX = ARMS_MAX + STATIONS_MAX + STREAMS_MAX };

static const char *const item_name[ITEMS_MAX] = {
    "comb",   "spring",   "cylinder", "movement", "case", "key",    "pin",
    "damper", "governor", "lid",      "hinge",    "lock", "mirror", "dancer",
    "lining", "foot",     "stop",     "lever",    "tune", "label"};

struct loop_plan {
    int64_t cells;
    int lanes;
};

struct station_plan {
    bool takes[ITEMS_MAX], makes[ITEMS_MAX];
};

/* An arm, station or supply with a single gate whose threshold incidents may set. */
struct owner_plan {
    char name[24];
    bool at_least, latch;
    int64_t least_below, most_reopen;  /* of all values that the two may have */
    int64_t below_alone, reopen_alone; /* of those that are set one at a time */
};

enum { SET_MOST = 30 }; /* of a threshold that is set */
enum { TO_CHEST, TO_STATION, TO_LOOP, TO_LINE };

struct spot {
    int kind, index, lane;
    int64_t cell;
};

struct scatter {
    const unsigned char *byte; /* `left` of them are drawn first, then from `state` */
    size_t left;
    uint64_t state;
    bool chance;
    FILE *out;
    int64_t ticks_per_second, run_ticks;
    int64_t stretch; /* a long run, by so many times, with some durations likewise */
    bool grid;       /* incidents fall on few ticks, together */
    int items, loops, lines, chests, stations, arms, supplies, demands, owners;
    int64_t length[ITEMS_MAX];
    int64_t at_tick; /* of the last incident that comes once */
    struct loop_plan loop[LOOPS_MAX];
    int64_t line_cells[LINES_MAX];
    struct station_plan station[STATIONS_MAX];
    struct owner_plan owner[OWNERS_MAX];
};

/* ---- dice ---- */

/* As many of the bytes as it takes to tell `count` draws apart. */
static uint64_t next_bytes(struct scatter *s, uint64_t count) {
    uint64_t bits = 0;
    for (uint64_t reach = 1; reach < count && s->left > 0; reach <<= 8, s->left--)
        bits = bits << 8 | *s->byte++;
    return bits % count;
}

static int64_t between(struct scatter *s, int64_t low, int64_t high) {
    require(low <= high);
    uint64_t count = (uint64_t)(high - low + 1);
    uint64_t draw = s->left > 0 ? next_bytes(s, count) : dice_below(&s->state, count);
    return low + (int64_t)draw;
}

static int pick_of(struct scatter *s, int count) { return (int)between(s, 0, count - 1); }

/* True in `percent` of a hundred draws. */
static bool often(struct scatter *s, int percent) { return between(s, 0, 99) < percent; }

/* One of the indices of `weight`, each as likely as its weight says; some weight is positive. */
static int weighted(struct scatter *s, const int *weight, int count) {
    int total = 0, index = 0;
    for (int i = 0; i < count; i++)
        total += weight[i];
    for (int64_t left = between(s, 0, total - 1); left >= weight[index]; index++)
        left -= weight[index];
    return index;
}

/* ---- times ---- */

void scatter_write_ticks(FILE *out, int64_t ticks, int64_t ticks_per_second) {
    int64_t tps = ticks_per_second, billion = 1000000000;
    fprintf(out, "%" PRId64 ".%09" PRId64, ticks / tps, (ticks % tps * billion + tps / 2) / tps);
}

static void write_ticks(struct scatter *s, int64_t ticks) {
    scatter_write_ticks(s->out, ticks, s->ticks_per_second);
}

static void write_time(struct scatter *s, const char *key, int64_t ticks) {
    fprintf(s->out, "%s: ", key);
    write_ticks(s, ticks);
}

static void write_two(struct scatter *s, const char *kind, int64_t first, int64_t second) {
    fprintf(s->out, "{%s: [", kind);
    write_ticks(s, first);
    fputs(", ", s->out);
    write_ticks(s, second);
    fputs("]}", s->out);
}

/* The mean and a number without unit. */
static void write_shape(struct scatter *s, const char *kind, int64_t mean) {
    fprintf(s->out, "{%s: [", kind);
    write_ticks(s, mean);
    fprintf(s->out, ", 0.%d]}", 2 + pick_of(s, 8));
}

static void write_triangle(struct scatter *s, int64_t mode) {
    fputs("{triangular: [", s->out);
    write_ticks(s, mode / 2);
    fputs(", ", s->out);
    write_ticks(s, mode);
    fputs(", ", s->out);
    write_ticks(s, mode * 2);
    fputs("]}", s->out);
}

static void write_distribution(struct scatter *s, int64_t mean) {
    switch (pick_of(s, 8)) {
    case 0:
        fputs("{exponential: ", s->out);
        write_ticks(s, mean);
        fputs("}", s->out);
        break;
    case 1: write_two(s, "uniform", mean / 2, mean * 2); break;
    case 2: write_two(s, "normal", mean, mean / 2 + 1); break;
    case 3: write_shape(s, "lognormal", mean); break;
    case 4: write_shape(s, "gamma", mean); break;
    case 5: write_shape(s, "weibull", mean); break;
    case 6: write_triangle(s, mean); break;
    default: fprintf(s->out, "{geometric: 0.%03" PRId64 "}", 1 + 998 / mean);
    }
}

/* A duration of about `mean` ticks, at least 1; random only where chance is allowed. */
static void write_span(struct scatter *s, const char *key, int64_t mean) {
    if (!s->chance || often(s, 40)) {
        write_time(s, key, mean);
        return;
    }
    fprintf(s->out, "%s: ", key);
    write_distribution(s, mean);
}

static void write_breaks(struct scatter *s, int percent) {
    if (!often(s, percent))
        return;
    fputs(", breaks: {", s->out);
    write_span(s, "after", between(s, 1, 1 + s->run_ticks / 3));
    fputs(", ", s->out);
    write_span(s, "repair", between(s, 1, 1 + s->run_ticks / 10));
    fputs("}", s->out);
}

/* ---- sizes ---- */

static int64_t throw_cells(struct scatter *s) {
    static const int weight[] = {14, 24, 14, 8, 12, 8, 5, 5, 3};
    static const int64_t least[] = {1, 7, 31, 101, 63, 127, 1, 2, 191};
    static const int64_t most[] = {6, 30, 100, 200, 65, 129, 1, 2, 193};
    int size = weighted(s, weight, 9);
    return between(s, least[size], most[size]);
}

/* Cells a second, from a step's period in tenths of a tick. */
static void write_rate(struct scatter *s, int64_t period_tenths) {
    int64_t million = 1000000, rate = s->ticks_per_second * 10 * million / period_tenths;
    fprintf(s->out, "rate: %" PRId64 ".%06" PRId64, rate / million, rate % million);
}

static int64_t throw_period_tenths(struct scatter *s) {
    if (often(s, 2))
        return between(s, 100, 2000);
    return often(s, 30) ? between(s, 1, 6) * 10 : between(s, 10, 80);
}

/* ---- sections ---- */

static int64_t throw_stretch(struct scatter *s) {
    static const int weight[] = {88, 6, 3, 3};
    static const int64_t stretch[] = {1, 10, 40, 100};
    return stretch[weighted(s, weight, 4)];
}

/* A duration that may be as many times as long as the run is. */
static int64_t stretched(struct scatter *s, int64_t ticks, int percent) {
    return often(s, percent) ? ticks * s->stretch : ticks;
}

static void write_clock(struct scatter *s) {
    static const int64_t rate[] = {1,   2,   3,    7,    10,   60,     97,
                                   100, 100, 1000, 3000, 5000, 100000, 1000000};
    s->ticks_per_second = rate[pick_of(s, sizeof rate / sizeof *rate)];
    s->run_ticks = often(s, 15) ? between(s, 2000, 6000) : between(s, 300, 2000);
    s->stretch = throw_stretch(s);
    s->run_ticks *= s->stretch;
    s->grid = often(s, 25);
    fprintf(s->out, "clock: {ticks_per_second: %" PRId64 "}\nrun: {", s->ticks_per_second);
    write_time(s, "for", s->run_ticks);
    fprintf(s->out, ", seed: %" PRIu64 "}\n", dice_bits(&s->state) >> 11);
}

static void write_watch(struct scatter *s) {
    fputs("watch: {", s->out);
    write_time(s, "starved_after", between(s, often(s, 10) ? 0 : 1, 60));
    if (often(s, 50)) {
        fputs(", ", s->out);
        write_time(s, "blocked_after", between(s, often(s, 10) ? 0 : 1, 50));
    }
    static const int weight[] = {10, 10, 40, 40};
    static const char *const share[] = {"1", "0.001", "0.9", "0.3"};
    fprintf(s->out, ", congested_at: %s, ", share[weighted(s, weight, 4)]);
    write_time(s, "jam_after", between(s, 0, 80));
    fputs("}\n", s->out);
}

static void write_items(struct scatter *s) {
    s->items = 1 + pick_of(s, often(s, 25) ? ITEMS_MAX : 5);
    bool long_ones = often(s, 40);
    fputs("items: {", s->out);
    for (int i = 0; i < s->items; i++) {
        s->length[i] = long_ones && often(s, 60) ? between(s, 1, often(s, 10) ? 70 : 5) : 1;
        fprintf(s->out, "%s%s: {length: %" PRId64 "}", i > 0 ? ", " : "", item_name[i],
                s->length[i]);
    }
    fputs("}\n", s->out);
}

static const char *const lane_name[] = {"outer", "inner", "left",  "right",
                                        "upper", "lower", "front", "back"};

/* As a rule one, else two, rarely up to eight. */
static int throw_lanes(struct scatter *s) {
    int many = often(s, 30) ? 2 : 1;
    return many == 2 && often(s, 35) ? 3 + pick_of(s, 6) : many;
}

static void write_lanes(struct scatter *s, int lanes) {
    for (int i = 0; lanes > 1 && i < lanes; i++)
        fprintf(s->out, "%s%s", i == 0 ? ", lanes: [" : ", ", lane_name[i]);
    if (lanes > 1)
        fputs("]", s->out);
}

static void write_loops(struct scatter *s) {
    static const int weight[] = {3, 60, 25, 12};
    s->loops = weighted(s, weight, 4);
    if (s->loops > 0)
        fputs("loops:\n", s->out);
    for (int i = 0; i < s->loops; i++) {
        s->loop[i] = (struct loop_plan){throw_cells(s), throw_lanes(s)};
        fprintf(s->out, "  - {name: ring-%d, cells: %" PRId64 ", ", i, s->loop[i].cells);
        write_rate(s, throw_period_tenths(s));
        write_lanes(s, s->loop[i].lanes);
        write_breaks(s, 8);
        fputs("}\n", s->out);
    }
}

static void write_lines(struct scatter *s) {
    static const int weight[] = {50, 35, 15};
    s->lines = weighted(s, weight, 3);
    if (s->lines > 0)
        fputs("lines:\n", s->out);
    for (int i = 0; i < s->lines; i++) {
        s->line_cells[i] = between(s, 1, often(s, 30) ? 5 : 40);
        fprintf(s->out, "  - {name: slide-%d, cells: %" PRId64 ", ", i, s->line_cells[i]);
        write_rate(s, throw_period_tenths(s));
        write_breaks(s, 8);
        fputs("}\n", s->out);
    }
}

/* What a chest starts with: of `only` alone, unless that is negative; of nothing when it is none of
 * the items. Returns how many there are together. */
static int64_t write_start(struct scatter *s, int only, int64_t *start) {
    int64_t total = 0;
    bool rich = often(s, 30);
    const char *before = ", start: {";
    for (int i = 0; i < s->items; i++) {
        start[i] = 0;
        if (only >= 0 && i != only)
            continue;
        start[i] = often(s, 60) ? between(s, 0, rich ? 80 : 12) : 0;
        total += start[i];
        fprintf(s->out, "%s%s: %" PRId64, before, item_name[i], start[i]);
        before = ", ";
    }
    if (only < s->items)
        fputs("}", s->out);
    return total;
}

/* Every second one is meant for a single item, as chests of most workshops are. */
static void write_chest(struct scatter *s, int index) {
    int64_t start[ITEMS_MAX];
    int only = often(s, 50) ? -1 : pick_of(s, s->items + s->items / 3 + 1);
    fprintf(s->out, "  - {name: bin-%d", index);
    int64_t total = write_start(s, only, start);
    if (often(s, 45))
        fprintf(s->out, ", capacity: %" PRId64, total + between(s, 0, 25));
    bool bounds_it = only >= 0 && only < s->items && often(s, 70);
    int limited = bounds_it ? only : pick_of(s, s->items);
    if (often(s, 25))
        fprintf(s->out, ", limits: {%s: %" PRId64 "}", item_name[limited],
                start[limited] + between(s, 0, 8));
    fputs("}\n", s->out);
}

static void write_chests(struct scatter *s) {
    s->chests = 2 + pick_of(s, CHESTS_MAX - 1);
    fputs("chests:\n", s->out);
    for (int i = 0; i < s->chests; i++)
        write_chest(s, i);
}

/* ---- gates ---- */

static void write_lane(struct scatter *s, int loop, int lane) {
    bool named = s->loop[loop].lanes > 1;
    fprintf(s->out, "ring-%d%s%s", loop, named ? "/" : "", named ? lane_name[lane] : "");
}

static void write_lane_of(struct scatter *s, int loop) {
    write_lane(s, loop, pick_of(s, s->loop[loop].lanes));
}

/* An item, or nothing: the total. */
static void write_maybe_item(struct scatter *s) {
    if (often(s, 70))
        fprintf(s->out, ", item: %s", item_name[pick_of(s, s->items)]);
}

static int marked(const bool *mark, int nth) {
    for (int i = 0; i < ITEMS_MAX; i++)
        if (mark[i] && nth-- == 0)
            return i;
    return -1;
}

static int marks(const bool *mark) {
    int count = 0;
    for (int i = 0; i < ITEMS_MAX; i++)
        count += mark[i];
    return count;
}

/* What a gate reads; returns a count that the reading may well reach. */
static int64_t write_reading(struct scatter *s) {
    int loop = s->loops > 0 ? pick_of(s, s->loops) : 0;
    int line = s->lines > 0 ? pick_of(s, s->lines) : 0;
    int station = s->stations > 0 ? pick_of(s, s->stations) : 0;
    int inputs = s->stations > 0 ? marks(s->station[station].takes) : 0;
    int outputs = s->stations > 0 ? marks(s->station[station].makes) : 0;
    const int weight[] = {35,
                          inputs > 0 ? 12 : 0,
                          outputs > 0 ? 12 : 0,
                          s->loops > 0 ? 15 : 0,
                          s->loops > 0 ? 15 : 0,
                          s->lines > 0 ? 15 : 0};
    switch (weighted(s, weight, 6)) {
    case 1:
        fprintf(s->out, "station: bench-%d, input: %s", station,
                item_name[marked(s->station[station].takes, pick_of(s, inputs))]);
        return 4;
    case 2:
        fprintf(s->out, "station: bench-%d, output: %s", station,
                item_name[marked(s->station[station].makes, pick_of(s, outputs))]);
        return 3;
    case 3:
        fprintf(s->out, "loop: ring-%d", loop);
        write_maybe_item(s);
        return s->loop[loop].cells;
    case 4:
        fputs("lane: ", s->out);
        write_lane_of(s, loop);
        write_maybe_item(s);
        return s->loop[loop].cells;
    case 5:
        fprintf(s->out, "line: slide-%d", line);
        write_maybe_item(s);
        return s->line_cells[line];
    default:
        fprintf(s->out, "chest: bin-%d", pick_of(s, s->chests));
        write_maybe_item(s);
        return 15;
    }
}

static struct owner_plan write_leaf(struct scatter *s) {
    struct owner_plan leaf = {.at_least = often(s, 30), .latch = often(s, 40)};
    fputs("{", s->out);
    int64_t reach = write_reading(s);
    int64_t threshold = between(s, often(s, 5) ? 0 : 1, reach > 30 ? 30 : reach);
    fprintf(s->out, ", %s: %" PRId64, leaf.at_least ? "at_least" : "below", threshold);
    leaf.latch = leaf.latch && !leaf.at_least;
    leaf.least_below = threshold;
    leaf.below_alone = SET_MOST;
    if (leaf.latch) {
        leaf.most_reopen = between(s, threshold > 0, threshold);
        fprintf(s->out, ", reopen_below: %" PRId64, leaf.most_reopen);
    }
    fputs("}", s->out);
    return leaf;
}

static void write_node(struct scatter *s, int depth) {
    if (depth == 2 || often(s, 40)) {
        write_leaf(s);
        return;
    }
    fprintf(s->out, "{%s: [", often(s, 50) ? "all" : "any");
    int children = 1 + pick_of(s, 3);
    for (int i = 0; i < children; i++) {
        if (i > 0)
            fputs(", ", s->out);
        write_node(s, depth + 1);
    }
    fputs("]}", s->out);
}

static void write_gate(struct scatter *s, int percent, const char *owner, int index) {
    if (!often(s, percent))
        return;
    fputs(", gate: ", s->out);
    if (often(s, 30)) {
        write_node(s, 0);
        return;
    }
    struct owner_plan leaf = write_leaf(s);
    snprintf(leaf.name, sizeof leaf.name, "%s-%d", owner, index);
    require(s->owners < OWNERS_MAX);
    s->owner[s->owners++] = leaf;
}

/* ---- stations ---- */

static void throw_recipe(struct scatter *s, struct station_plan *station) {
    *station = (struct station_plan){0};
    int inputs = often(s, 8) ? 0 : 1 + pick_of(s, 3), outputs = pick_of(s, 4);
    for (int k = 0; k < inputs; k++)
        station->takes[pick_of(s, s->items)] = true;
    for (int k = 0; k < (inputs == 0 ? 1 : outputs); k++)
        station->makes[pick_of(s, s->items)] = true;
}

static void write_takes(struct scatter *s, const struct station_plan *station) {
    const char *comma = "";
    fputs(", takes: {", s->out);
    for (int i = s->items - 1; i >= 0; i--)
        if (station->takes[i]) {
            fprintf(s->out, "%s%s: %d", comma, item_name[i], 1 + pick_of(s, often(s, 70) ? 1 : 3));
            comma = ", ";
        }
    fputs("}", s->out);
}

static void write_makes(struct scatter *s, const struct station_plan *station, int *made) {
    const char *comma = "";
    fputs(", makes: {", s->out);
    for (int i = s->items - 1; i >= 0; i--) {
        made[i] = station->makes[i] ? 1 + pick_of(s, often(s, 70) ? 1 : 3) : 0;
        if (made[i] == 0)
            continue;
        if (s->chance && often(s, 50))
            fprintf(s->out, "%s%s: {count: %d, chance: 0.%d}", comma, item_name[i], made[i],
                    1 + pick_of(s, 9));
        else
            fprintf(s->out, "%s%s: %d", comma, item_name[i], made[i]);
        comma = ", ";
    }
    fputs("}", s->out);
}

static void write_room(struct scatter *s, const int *made) {
    if (often(s, 60))
        return;
    if (often(s, 50)) {
        fprintf(s->out, ", room: %d", 1 + pick_of(s, 3));
        return;
    }
    const char *comma = "";
    fputs(", room: {", s->out);
    for (int i = 0; i < s->items; i++)
        if (made[i] > 0 && often(s, 70)) {
            fprintf(s->out, "%s%s: %d", comma, item_name[i], made[i] + pick_of(s, 4));
            comma = ", ";
        }
    fputs("}", s->out);
}

static void write_stations(struct scatter *s) {
    static const int weight[] = {15, 35, 30, 20};
    int count = weighted(s, weight, 4);
    if (count > 0)
        fputs("stations:\n", s->out);
    for (int i = 0; i < count; i++)
        throw_recipe(s, &s->station[i]);
    s->stations = count;
    for (int i = 0; i < count; i++) {
        int made[ITEMS_MAX];
        fprintf(s->out, "  - {name: bench-%d", i);
        write_takes(s, &s->station[i]);
        write_makes(s, &s->station[i], made);
        fputs(", ", s->out);
        write_span(s, "time", stretched(s, between(s, 1, 40), 50));
        if (often(s, 40))
            fprintf(s->out, ", ahead: %d", 1 + pick_of(s, 3));
        write_room(s, made);
        write_gate(s, 20, "bench", i);
        write_breaks(s, 8);
        fputs("}\n", s->out);
    }
}

/* ---- arms ---- */

static struct spot throw_spot(struct scatter *s, int kind) {
    struct spot spot = {.kind = kind};
    if (kind == TO_CHEST) {
        spot.index = pick_of(s, s->chests);
    } else if (kind == TO_STATION) {
        spot.index = pick_of(s, s->stations);
    } else if (kind == TO_LOOP) {
        spot.index = pick_of(s, s->loops);
        spot.lane = pick_of(s, s->loop[spot.index].lanes);
        spot.cell = between(s, 0, s->loop[spot.index].cells - 1);
    } else {
        int64_t end = s->line_cells[spot.index = pick_of(s, s->lines)] - 1;
        spot.cell = often(s, 35) ? end : between(s, 0, end);
    }
    return spot;
}

static void write_spot(struct scatter *s, const char *key, struct spot spot) {
    fprintf(s->out, ", %s: ", key);
    if (spot.kind == TO_CHEST)
        fprintf(s->out, "bin-%d", spot.index);
    else if (spot.kind == TO_STATION)
        fprintf(s->out, "bench-%d", spot.index);
    else if (spot.kind == TO_LOOP)
        write_lane(s, spot.index, spot.lane);
    else
        fprintf(s->out, "slide-%d", spot.index);
    if (spot.kind == TO_LOOP || spot.kind == TO_LINE)
        fprintf(s->out, "@%" PRId64, spot.cell);
}

static bool fits_on(const struct scatter *s, struct spot spot, int item) {
    if (spot.kind == TO_LOOP)
        return s->length[item] <= s->loop[spot.index].cells;
    return spot.kind != TO_LINE || s->length[item] <= spot.cell + 1;
}

static bool can_have(const struct scatter *s, struct spot from, struct spot to, int item) {
    return fits_on(s, from, item) && fits_on(s, to, item) &&
           (to.kind != TO_STATION || s->station[to.index].takes[item]);
}

static void move_to_loop(struct scatter *s, struct spot *spot, int loop) {
    spot->index = loop;
    spot->lane = s->loop[loop].lanes - 1;
    spot->cell = between(s, 0, s->loop[loop].cells - 1);
}

/* Source and destination: the first arms make sure of a way round, the others go anywhere. */
static void throw_ends(struct scatter *s, int index, bool guided, struct spot *from,
                       struct spot *to) {
    int bench = s->stations > 0;
    const int source[] = {35, bench * 20, s->loops > 0 ? 35 : 0, s->lines > 0 ? 15 : 0};
    const int destination[] = {25, bench * 25, s->loops > 0 ? 35 : 0, s->lines > 0 ? 15 : 0};
    int from_kind = weighted(s, source, 4), to_kind = weighted(s, destination, 4);
    if (guided && index < 4 && s->loops > 0) {
        from_kind = index % 2 == 0 ? TO_CHEST : TO_LOOP;
        to_kind = index % 2 == 0 ? TO_LOOP : (bench && often(s, 60) ? TO_STATION : TO_CHEST);
    } else if (index < 6 && bench && often(s, 60)) {
        from_kind = TO_STATION;
    }
    *from = throw_spot(s, from_kind);
    *to = throw_spot(s, to_kind);
    if (guided && index < 4 && s->loops > 0)
        move_to_loop(s, index % 2 == 0 ? to : from, index / 2 % s->loops);
}

/* Some of what the arm may carry, in any order; all are allowed items. */
static void write_carried(struct scatter *s, const bool *allowed) {
    bool left[ITEMS_MAX];
    for (int i = 0; i < ITEMS_MAX; i++)
        left[i] = allowed[i];
    fputs(", items: [", s->out);
    int count = 1 + pick_of(s, marks(allowed));
    for (int k = 0; k < count; k++) {
        int item = marked(left, pick_of(s, marks(left)));
        left[item] = false;
        fprintf(s->out, "%s%s", k > 0 ? ", " : "", item_name[item]);
    }
    fputs("]", s->out);
}

/* Some are so long that they outlast a revolution of the coarser wheels of an agenda. */
static int64_t throw_swing(struct scatter *s) {
    int64_t swing = stretched(s, between(s, 1, often(s, 70) ? 12 : 40), 40);
    return s->stretch > 1 && often(s, 5) ? swing * 50 : swing;
}

static int throw_reach(struct scatter *s) {
    static const int weight[] = {85, 10, 5}, most[] = {4, 20, 300};
    return most[weighted(s, weight, 3)];
}

static void write_swing(struct scatter *s) {
    fputs(", ", s->out);
    if (often(s, 22)) {
        write_time(s, "swing", 0);
    } else if (s->chance && often(s, 15)) { /* often 0, often 1 tick */
        fputs("swing: ", s->out);
        write_two(s, "normal", 1, 1);
    } else {
        write_span(s, "swing", throw_swing(s));
    }
    if (often(s, 40))
        fprintf(s->out, ", hand: %d", 2 + pick_of(s, throw_reach(s)));
    if (!often(s, 40))
        return;
    fputs(", ", s->out);
    write_time(s, "linger", often(s, 30) ? 0 : stretched(s, between(s, 1, 50), 30));
}

/* False when nothing can go that way. */
static bool write_arm(struct scatter *s, int index, bool guided) {
    struct spot from, to;
    bool allowed[ITEMS_MAX] = {false};
    throw_ends(s, index, guided, &from, &to);
    for (int i = 0; i < s->items; i++)
        allowed[i] = can_have(s, from, to, i);
    if (marks(allowed) == 0)
        return false;
    fprintf(s->out, "  - {name: arm-%d", index);
    write_spot(s, "from", from);
    write_spot(s, "to", to);
    if (often(s, 45))
        write_carried(s, allowed);
    write_swing(s);
    if (s->chance && often(s, 40))
        fputs(", choose: random", s->out);
    write_gate(s, 28, "arm", index);
    write_breaks(s, 8);
    fputs("}\n", s->out);
    return true;
}

static void write_arms(struct scatter *s) {
    int count = 2 + pick_of(s, s->stretch == 1 && often(s, 12) ? ARMS_MAX - 1 : 11);
    fputs("arms:\n", s->out);
    for (int tries = 0; s->arms < count && (tries < 400 || s->arms == 0); tries++)
        s->arms += write_arm(s, s->arms, tries < 50);
}

/* ---- supplies and demands ---- */

static void write_stream(struct scatter *s, const char *name, int index) {
    fprintf(s->out, "  - {name: %s-%d, chest: bin-%d, item: %s, ", name, index,
            pick_of(s, s->chests), item_name[pick_of(s, s->items)]);
    write_span(s, "every", stretched(s, between(s, often(s, 20) ? 1 : 5, 120), 50));
    if (often(s, 40))
        fprintf(s->out, ", batch: %d", 2 + pick_of(s, 5));
    static const char *const key[] = {", first", ", from", ", until"};
    static const int percent[] = {30, 20, 55};
    for (int k = 0; k < 3; k++)
        if (often(s, percent[k]))
            write_time(s, key[k], between(s, 0, s->run_ticks / (k == 2 ? 2 : 4)));
}

static void write_supplies(struct scatter *s) {
    s->supplies = pick_of(s, often(s, 8) ? STREAMS_MAX : 4);
    if (s->supplies > 0)
        fputs("supplies:\n", s->out);
    for (int i = 0; i < s->supplies; i++) {
        write_stream(s, "post", i);
        if (often(s, 40))
            fprintf(s->out, ", when_full: %s", often(s, 70) ? "lose" : "hold");
        write_gate(s, 25, "post", i);
        write_breaks(s, 10);
        fputs("}\n", s->out);
    }
}

static void write_demands(struct scatter *s) {
    s->demands = pick_of(s, often(s, 8) ? STREAMS_MAX : 4);
    if (s->demands > 0)
        fputs("demands:\n", s->out);
    for (int i = 0; i < s->demands; i++) {
        write_stream(s, "order", i);
        if (often(s, 25))
            fputs(", outlet: true", s->out);
        else if (often(s, 40))
            fprintf(s->out, ", when_short: %s", often(s, 70) ? "lose" : "backlog");
        fputs("}\n", s->out);
    }
}

/* ---- incidents ---- */

static int64_t throw_tick(struct scatter *s) {
    int64_t tick = between(s, 0, s->run_ticks);
    return s->grid ? tick - tick % (s->run_ticks / 8 + 1) : tick;
}

static void write_when(struct scatter *s, int index) {
    fputs("  - {", s->out);
    if (often(s, 40))
        fprintf(s->out, "name: mishap-%d, ", index);
    if (often(s, 65)) {
        if (!often(s, 20)) /* else in the tick of the one before */
            s->at_tick = often(s, 10) ? 0 : throw_tick(s);
        write_time(s, "at", s->at_tick);
    } else {
        write_span(s, "every", between(s, often(s, 10) ? 1 : 40, s->run_ticks / 2));
        if (often(s, 40)) {
            fputs(", ", s->out);
            write_time(s, "first", often(s, 40) ? 0 : between(s, 0, s->run_ticks / 2));
        }
    }
}

static void write_track(struct scatter *s, const char *key) {
    fprintf(s->out, "%s: ", key);
    int line = s->lines > 0 ? pick_of(s, s->lines) : 0;
    if (s->loops == 0 || (s->lines > 0 && often(s, 30)))
        fprintf(s->out, "slide-%d", line);
    else
        write_lane_of(s, pick_of(s, s->loops));
}

static void write_actor(struct scatter *s) {
    static const char *const name[] = {"arm", "bench", "ring", "slide", "post", "order"};
    const int count[] = {s->arms, s->stations, s->loops, s->lines, s->supplies, s->demands};
    int weight[6];
    for (int k = 0; k < 6; k++)
        weight[k] = count[k] > 0 ? 1 + (k == 0) * 2 : 0;
    int kind = weighted(s, weight, 6);
    fprintf(s->out, "%s-%d", name[kind], pick_of(s, count[kind]));
}

static void write_drop(struct scatter *s) {
    fprintf(s->out, ", drop: {item: %s, count: %" PRId64 ", ", item_name[pick_of(s, s->items)],
            often(s, 20) ? 100 : between(s, 1, 8));
    write_track(s, "lane");
    fputs("}", s->out);
}

static void write_clear(struct scatter *s) {
    fputs(", clear: {", s->out);
    write_track(s, "lane");
    write_maybe_item(s);
    fputs("}", s->out);
}

static int64_t least_of(int64_t a, int64_t b) { return a < b ? a : b; }
static int64_t most_of(int64_t a, int64_t b) { return a > b ? a : b; }

/* A `set` of both thresholds meets only what is set alone. */
static void write_set_both(struct scatter *s, struct owner_plan *owner) {
    int64_t below = between(s, most_of(owner->reopen_alone, 1), SET_MOST);
    int64_t reopen = between(s, 0, least_of(below, owner->below_alone));
    owner->least_below = least_of(owner->least_below, below);
    owner->most_reopen = most_of(owner->most_reopen, reopen);
    fprintf(s->out, "below: %" PRId64 ", reopen_below: %" PRId64 "}", below, reopen);
}

static void write_set_reopen(struct scatter *s, struct owner_plan *owner) {
    int64_t value = between(s, owner->least_below > 0, owner->least_below);
    owner->most_reopen = most_of(owner->most_reopen, value);
    owner->reopen_alone = most_of(owner->reopen_alone, value);
    fprintf(s->out, "reopen_below: %" PRId64 "}", value);
}

static void write_set_one(struct scatter *s, struct owner_plan *owner) {
    int64_t value = between(s, owner->latch ? owner->most_reopen : 1, SET_MOST);
    owner->least_below = least_of(owner->least_below, value);
    owner->below_alone = least_of(owner->below_alone, value);
    fprintf(s->out, "%s: %" PRId64 "}", owner->at_least ? "at_least" : "below", value);
}

static void write_set_gate(struct scatter *s) {
    struct owner_plan *owner = &s->owner[pick_of(s, s->owners)];
    fprintf(s->out, ", set: {gate: %s, ", owner->name);
    if (owner->latch && often(s, 35))
        write_set_both(s, owner);
    else if (owner->latch && often(s, 50))
        write_set_reopen(s, owner);
    else
        write_set_one(s, owner);
}

static void write_what(struct scatter *s) {
    int tracks = s->loops + s->lines;
    const int weight[] = {tracks > 0 ? 25 : 0,   tracks > 0 ? 12 : 0, 24, 24, 8,
                          s->owners > 0 ? 12 : 0};
    int what = weighted(s, weight, 6);
    if (what == 0) {
        write_drop(s);
    } else if (what == 1) {
        write_clear(s);
    } else if (what == 4) {
        fprintf(s->out, ", set: {chest: bin-%d, capacity: %d}", pick_of(s, s->chests),
                pick_of(s, 40));
    } else if (what == 5) {
        write_set_gate(s);
    } else {
        fputs(what == 2 ? ", stop: " : ", start: ", s->out);
        write_actor(s);
    }
}

static void write_incidents(struct scatter *s) {
    int count = often(s, 25) ? 0 : 1 + pick_of(s, often(s, 15) ? 80 : 8);
    if (count > 0)
        fputs("incidents:\n", s->out);
    for (int i = 0; i < count; i++) {
        write_when(s, i);
        write_what(s);
        fputs("}\n", s->out);
    }
}

static char *scatter_whole(struct scatter s) {
    char *text = NULL;
    size_t length = 0;
    s.out = open_memstream(&text, &length);
    require(s.out != NULL);
    write_clock(&s);
    write_watch(&s);
    write_items(&s);
    write_loops(&s);
    write_lines(&s);
    write_chests(&s);
    write_stations(&s);
    write_arms(&s);
    write_supplies(&s);
    write_demands(&s);
    write_incidents(&s);
    require(fclose(s.out) == 0);
    return text;
}

char *scatter_scenario(uint64_t seed, bool chance) {
    return scatter_whole((struct scatter){.state = seed, .chance = chance});
}

char *scatter_from_bytes(const unsigned char *byte, size_t length, bool chance) {
    return scatter_whole(
        (struct scatter){.byte = byte, .left = length, .state = length, .chance = chance});
}
