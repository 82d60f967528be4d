/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_states.c - how many states a small system can be in, and which of them are
 * dead ends: found by letting it run at random until it has been everywhere, counted against
 * theorems and against exhaustive searches by other programs.
 *
 * An arm whose breakdowns and repairs are `geometric: 0.5` acts or not in each tick as a coin
 * falls; the moves of a tick come one after another, so what is seen after a tick can be reached
 * step by step as well. A run is short; a state is dead when a run has stood in it for as long as
 * another run. */
#include <stdio.h>
#include <stdlib.h>

#include "model/cause/graph.h"
#include "model/cause/waits.h"
#include "sim/require.h"
#include "tests/outside/ledger.h"
#include "tests/outside/shop.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

#define COIN "swing: 0, breaks: {after: {geometric: 0.5}, repair: {geometric: 0.5}}"

/* ---- a set of states, each a number ---- */

enum { SLOTS = 1 << 14 };

struct states {
    uint64_t slot[SLOTS]; /* state + 1, 0: free */
    int64_t count;
};

static void note_state(struct states *states, uint64_t state) {
    uint64_t at = state * UINT64_C(0x9E3779B97F4A7C15) >> 50;
    while (states->slot[at] != 0 && states->slot[at] != state + 1)
        at = (at + 1) % SLOTS;
    if (states->slot[at] != 0)
        return;
    states->slot[at] = state + 1;
    states->count++;
    require(states->count < SLOTS / 2);
}

/* The state of a world as a number, at the end of a tick. */
typedef uint64_t state_of(const struct world *world, const struct scenario *scenario);

struct tour {
    int64_t seen, dead;
};

/* Runs of `ticks` ticks until `quiet` of them in a row have shown no new state. */
static struct tour explore(struct scenario *scenario, state_of *state_now, int64_t ticks,
                           int quiet) {
    static struct states seen, dead;
    seen = dead = (struct states){0};
    uint64_t seed = 0;
    for (int calm = 0; calm < quiet; calm++) {
        scenario->seed = ++seed;
        struct world *world = world_new(scenario);
        int64_t before = seen.count, changed = 0;
        uint64_t last = UINT64_MAX;
        for (int64_t tick = 0; tick <= ticks; tick++) {
            world_advance(world, tick);
            uint64_t state = state_now(world, scenario);
            note_state(&seen, state);
            changed = state == last ? changed : tick;
            last = state;
        }
        if (changed < ticks / 2)
            note_state(&dead, last);
        world_free(world);
        calm = seen.count > before ? 0 : calm;
    }
    return (struct tour){seen.count, dead.count};
}

/* ---- philosophers ---- */

static const struct ledger_source dijkstra = {
    "Dijkstra 1971",
    "E. W. Dijkstra, Hierarchical ordering of sequential processes, Acta Informatica 1 (1971) "
    "115-138; (1 + √2)^N + (1 - √2)^N states, with one that begins with the other hand a Pell "
    "number",
    "recalled; counted by spin 6.5.2 (N ≤ 6) and by an exhaustive search"};

enum { VERTICES_MAX = 256, PHILOSOPHERS_MAX = 6 };

/* Station i needs forks i and i + 1. Arm first-i brings the one of them, second-i the other when
 * the first is there; what is laid down goes back at once. */
static struct scenario *open_table(int count, bool one_left_handed, bool all_at_once) {
    struct shop shop = {.ticks_per_second = 1};
    for (int i = 0; i < count; i++) {
        char name[32];
        snprintf(name, sizeof name, "fork-%d", i);
        shop_item(&shop, name, 1);
        shop_part(&shop, SHOP_CHESTS, "name: place-%d, start: {fork-%d: 1}", i, i);
        shop_part(&shop, SHOP_STATIONS,
                  "name: seat-%d, takes: {fork-%d: 1, fork-%d: 1}, makes: {fork-%d: 1, fork-%d: "
                  "1}, ahead: 1, time: {geometric: 0.5}",
                  i, i, (i + 1) % count, i, (i + 1) % count);
    }
    for (int i = 0; i < count; i++) {
        shop_part(&shop, SHOP_ARMS,
                  "name: down-%d, from: seat-%d, to: place-%d, items: [fork-%d], swing: 0", i, i, i,
                  i);
        int other = (i + 1) % count;
        shop_part(&shop, SHOP_ARMS,
                  "name: also-down-%d, from: seat-%d, to: place-%d, items: [fork-%d], swing: 0", i,
                  i, other, other);
    }
    const char *pace = all_at_once ? "swing: 0" : COIN;
    for (int n = 0; n < 2 * count; n++) {
        /* Each its two arms in turn; or all first arms, then all second ones. */
        int i = all_at_once ? n % count : n / 2, first = i, second = (i + 1) % count;
        bool is_first = all_at_once ? n < count : n % 2 == 0;
        if (one_left_handed && i == 0)
            first = 1, second = 0;
        if (is_first)
            shop_part(&shop, SHOP_ARMS,
                      "name: first-%d, from: place-%d, to: seat-%d, items: [fork-%d], %s", i, first,
                      i, first, pace);
        else
            shop_part(
                &shop, SHOP_ARMS,
                "name: second-%d, from: place-%d, to: seat-%d, items: [fork-%d], gate: {station: "
                "seat-%d, input: fork-%d, at_least: 1}, %s",
                i, second, i, second, i, first, pace);
    }
    return shop_open(&shop);
}

/* 0: no fork, 1: the first, 2: eats. */
static uint64_t table_state(const struct world *world, const struct scenario *scenario) {
    uint64_t state = 0;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        int64_t forks = world_input_count(world, i, 0) + world_input_count(world, i, 1);
        bool eats = world_station_state(world, i) == STATION_WORKING;
        state = state * 3 + (eats ? 2 : (uint64_t)forks);
    }
    return state;
}

/* Seats in the strongly connected component of the first. */
static int seats_in_circle(const struct waits *waits, uint32_t seats) {
    struct graph graph;
    uint32_t component[VERTICES_MAX];
    int together = 0;
    require(waits_vertices(waits) <= VERTICES_MAX);
    graph_init(&graph, waits_vertices(waits));
    for (uint32_t from = 0; from < waits_vertices(waits); from++)
        for (uint32_t i = waits->first[from]; i < waits->first[from + 1]; i++)
            if (waits->edge[i].to != WAITS_NOBODY)
                graph_add(&graph, from, waits->edge[i].to, 1);
    graph_sort(&graph);
    graph_components(&graph, component);
    for (uint32_t i = 0; i < seats; i++)
        together += component[waits_vertex(waits, WAITS_STATION, i)] ==
                    component[waits_vertex(waits, WAITS_STATION, 0)];
    graph_free(&graph);
    return together;
}

struct stuck_seats {
    int stuck, in_circle;
};

/* All take the first fork at once. Seats that model/waits then finds stuck, and in one circle. */
static struct stuck_seats stuck_seats(int count) {
    struct scenario *scenario = open_table(count, false, true);
    struct world *world = world_new(scenario);
    struct stuck_seats seats = {0, 0};
    struct waits waits;
    waits_init(&waits, scenario);
    world_advance(world, 50);
    waits_look(&waits, world);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        seats.stuck += waits.stuck[waits_vertex(&waits, WAITS_STATION, i)];
    seats.in_circle = seats_in_circle(&waits, scenario->station_count);
    waits_free(&waits);
    world_free(world);
    scenario_free(scenario);
    return seats;
}

static void all_at_once(int count) {
    struct stuck_seats seats = stuck_seats(count);
    ledger_exact(&dijkstra, count, seats.stuck, "N = %d, all at once: stuck", count);
    ledger_exact(&dijkstra, count, seats.in_circle, "N = %d, all at once: in one circle", count);
}

static void philosophers(void) {
    ledger_group(
        "Dining philosophers",
        "N stations that need two forks of a table of N, taken one after the other and laid "
        "down together. Where all reach at once, the wait-for graph of model/waits says who is "
        "stuck.");
    static const int64_t states[] = {14, 34, 82, 198}, left_handed[] = {12, 29, 70, 169};
    for (int n = 3; n <= PHILOSOPHERS_MAX; n++)
        for (int left = 0; left <= 1; left++) {
            struct scenario *scenario = open_table(n, left == 1, false);
            struct tour tour = explore(scenario, table_state, 60, 2000);
            scenario_free(scenario);
            const char *hand = left == 1 ? ", one left-handed" : "";
            ledger_exact(&dijkstra, (double)(left == 1 ? left_handed : states)[n - 3],
                         (double)tour.seen, "N = %d%s: states", n, hand);
            ledger_exact(&dijkstra, 1 - left, (double)tour.dead, "N = %d%s: of them dead", n, hand);
            if (left == 0)
                all_at_once(n);
        }
}

/* ---- items that move round through places for one ---- */

static const struct ledger_source ring_of_cells = {
    "ring of cells",
    "M alike items in N places, each may move on where the next is free: C(N, M) states, dead "
    "where M = N (a marked graph with capacities is live for 0 < M < N)",
    "binomials; counted by spin 6.5.2 and by an exhaustive search"};

static uint64_t places_state(const struct world *world, const struct scenario *scenario) {
    uint64_t state = 0;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        state = state * 4 + (uint64_t)world_chest_count(world, i, 0);
    return state;
}

static void places(void) {
    ledger_group(
        "Items that move round",
        "N chests that hold one each in a ring, arms with a swing of 0 from each to the next.");
    static const struct {
        int places, items;
        int64_t states, dead;
    } row[] = {{8, 3, 56, 0},   {8, 4, 70, 0},   {8, 7, 8, 0},
               {10, 5, 252, 0}, {12, 6, 924, 0}, {6, 6, 1, 1}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 1};
        shop_item(&shop, "part", 1);
        for (int p = 0; p < row[i].places; p++) {
            shop_part(&shop, SHOP_CHESTS, "name: place-%d, capacity: 1, start: {part: %d}", p,
                      p < row[i].items);
            shop_part(&shop, SHOP_ARMS, "name: on-%d, from: place-%d, to: place-%d, " COIN, p, p,
                      (p + 1) % row[i].places);
        }
        struct scenario *scenario = shop_open(&shop);
        struct tour tour = explore(scenario, places_state, 300, 100);
        scenario_free(scenario);
        ledger_exact(&ring_of_cells, (double)row[i].states, (double)tour.seen,
                     "N = %d, M = %d: states", row[i].places, row[i].items);
        ledger_exact(&ring_of_cells, (double)row[i].dead, (double)tour.dead,
                     "N = %d, M = %d: of them dead", row[i].places, row[i].items);
    }
}

/* ---- two lines that share two resources in opposite order ---- */

static const struct ledger_source ezpeleta = {
    "Ezpeleta et al. 1995",
    "J. Ezpeleta, J. M. Colom, J. Martínez, A Petri net based deadlock prevention policy for "
    "flexible manufacturing systems, IEEE Transactions on Robotics and Automation 11 (1995) "
    "173-184 (two lines, two resources in opposite order; a siphon that can run empty)",
    "recalled; markings counted by an exhaustive search"};

struct crossing {
    const char *name;
    int parts;
    bool one_each, guarded;
    int64_t states, dead;
};

/* Places a-0, a-1, a-2 and b-0, b-1, b-2; a-1 and b-2 use the first resource, a-2 and b-1 the
 * second. One resource of each: a gate on either user. The guard lets one in at a time. */
static struct scenario *open_crossing(const struct crossing *crossing) {
    struct shop shop = {.ticks_per_second = 1};
    shop_item(&shop, "part", 1);
    static const char *const line = "ab";
    for (int l = 0; l < 2; l++)
        for (int p = 0; p < 3; p++)
            shop_part(&shop, SHOP_CHESTS, "name: %c-%d, start: {part: %d}", line[l], p,
                      p == 0 ? crossing->parts : 0);
    for (int l = 0; l < 2; l++) {
        char own = line[l], other = line[1 - l];
        const char *guard =
            crossing->guarded ? ", {chest: a-1, below: 1}, {chest: b-1, below: 1}" : "";
        /* Going in, line a uses the first resource, going on, line b; with two of it, it is never
         * short, because a line has one part then. */
        int in_below = crossing->one_each || own == 'b' ? 1 : 9;
        int on_below = crossing->one_each || own == 'a' ? 1 : 9;
        shop_part(&shop, SHOP_ARMS,
                  "name: %c-in, from: %c-0, to: %c-1, gate: {all: [{chest: %c-1, below: 1}, "
                  "{chest: %c-2, "
                  "below: %d}%s]}, " COIN,
                  own, own, own, own, other, in_below, guard);
        shop_part(&shop, SHOP_ARMS,
                  "name: %c-on, from: %c-1, to: %c-2, gate: {all: [{chest: %c-2, below: 1}, "
                  "{chest: %c-1, "
                  "below: %d}]}, " COIN,
                  own, own, own, own, other, on_below);
        shop_part(&shop, SHOP_ARMS, "name: %c-out, from: %c-2, to: %c-0, " COIN, own, own, own);
    }
    return shop_open(&shop);
}

static void crossings(void) {
    ledger_group(
        "Two lines that cross",
        "Two lines use two resources in opposite order; gates on chests are the resources, and "
        "the control place is one gate more.");
    static const struct crossing row[] = {
        {"one part a line, one of each resource", 1, true, false, 6, 1},
        {"two parts a line, one of each resource", 2, true, false, 8, 1},
        {"one part a line, two of the first resource", 1, false, false, 8, 0},
        {"one part a line, one in between at a time", 1, true, true, 5, 0},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct scenario *scenario = open_crossing(&row[i]);
        struct tour tour = explore(scenario, places_state, 60, 500);
        scenario_free(scenario);
        ledger_exact(&ezpeleta, (double)row[i].states, (double)tour.seen, "%s: markings",
                     row[i].name);
        ledger_exact(&ezpeleta, (double)row[i].dead, (double)tour.dead, "%s: of them dead",
                     row[i].name);
    }
}

/* ---- two kinds on a loop, gated or not ---- */

static const struct ledger_source mixed = {"mixed loop",
                                           "own model: a step, then either kind or none into a "
                                           "free cell 0, then the bench at N/2 takes what it "
                                           "lacks and uses up a pair",
                                           "counted by spin 6.5.2 and by an exhaustive search; "
                                           "thresholds N and above by the search alone"};

/* Below `most` of a kind on the belt and at the bench together; the bench holds one at most. */
static struct scenario *open_mixed(int cells, int most) {
    struct shop shop = {.ticks_per_second = 1};
    shop_item(&shop, "lid", 1);
    shop_item(&shop, "box", 1);
    shop_part(&shop, SHOP_LOOPS, "name: ring, cells: %d, rate: 1", cells);
    shop_part(&shop, SHOP_CHESTS, "name: bin, start: {lid: 1000000, box: 1000000}");
    shop_part(&shop, SHOP_STATIONS, "name: bench, takes: {lid: 1, box: 1}, ahead: 1, time: 1 s");
    static const char *const kind[] = {"lid", "box"};
    for (int k = 0; k < 2; k++)
        shop_part(&shop, SHOP_ARMS,
                  "name: %s-feeder, from: bin, to: ring@0, items: [%s], gate: {any: [{loop: ring, "
                  "item: %s, "
                  "below: %d}, {all: [{loop: ring, item: %s, below: %d}, {station: bench, input: "
                  "%s, below: "
                  "1}]}]}, " COIN,
                  kind[k], kind[k], kind[k], most - 1, kind[k], most, kind[k]);
    shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@%d, to: bench, swing: 0", cells / 2);
    return shop_open(&shop);
}

static uint64_t mixed_state(const struct world *world, const struct scenario *scenario) {
    const struct place lane = {.kind = PLACE_LANE};
    uint64_t state =
        (uint64_t)(world_input_count(world, 0, 0) * 2 + world_input_count(world, 0, 1));
    for (uint32_t cell = 0; cell < scenario->loop[0].cell_count; cell++)
        state = state * 3 + (world_track_item(world, lane, cell) + 1) % 3; /* none counts as 0 */
    return state;
}

static void mixed_loops(void) {
    ledger_group(
        "Two kinds on a loop",
        "N cells. A gate shuts a kind off from g of it on, belt and bench together; g = N is "
        "the greatest that is safe. A jam turns: its states are those in which the belt is full "
        "of a kind that the bench holds already.");
    static const struct {
        int cells, most;
        int64_t states, jams;
    } row[] = {
        {2, 9, 15, 2}, {3, 9, 33, 2}, {4, 9, 99, 2},  {5, 9, 225, 2}, {6, 9, 675, 2},
        {2, 1, 7, 0},  {3, 2, 21, 0}, {4, 3, 83, 0},  {5, 4, 207, 0}, {6, 5, 653, 0},
        {3, 3, 31, 0}, {4, 4, 97, 0}, {5, 5, 223, 0}, {6, 6, 673, 0}, {4, 5, 99, 2},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct scenario *scenario = open_mixed(row[i].cells, row[i].most);
        struct tour tour = explore(scenario, mixed_state, 100, 10000);
        scenario_free(scenario);
        ledger_exact(&mixed, (double)row[i].states, (double)tour.seen, "N = %d, g = %d: states",
                     row[i].cells, row[i].most);
        ledger_exact(&mixed, (double)row[i].jams, (double)tour.dead, "N = %d, g = %d: of them jams",
                     row[i].cells, row[i].most);
    }
}

/* ---- tables of resources ---- */

static const struct ledger_source silberschatz = {
    "Silberschatz et al.",
    "A. Silberschatz, P. B. Galvin, G. Gagne, Operating System Concepts, chapter Deadlocks: E. "
    "W. Dijkstra's banker with (10, 5, 7) of three kinds, and the detection example with (7, 2, "
    "6)",
    "data recalled; verdicts by full enumeration"};

enum { PROCESSES = 5, KINDS = 3 };

struct table {
    const char *name;
    int all[KINDS], holds[PROCESSES][KINDS], wants[PROCESSES][KINDS];
    int stuck;
};

/* A process needs all it wants; a want, a vertex of its own, needs what is missing of a kind, from
 * those that hold some of it. */
static int stuck_processes(const struct table *table) {
    struct graph graph;
    graph_init(&graph, PROCESSES * (1 + KINDS));
    for (int p = 0; p < PROCESSES; p++) {
        graph.need[p] = KINDS;
        for (int k = 0; k < KINDS; k++) {
            uint32_t want = (uint32_t)(PROCESSES + p * KINDS + k);
            int missing = table->wants[p][k] - table->all[k];
            for (int q = 0; q < PROCESSES; q++) {
                missing += table->holds[q][k];
                graph_add(&graph, want, (uint32_t)q, table->holds[q][k]);
            }
            graph.need[want] = missing > 0 ? missing : 0;
            graph_add(&graph, (uint32_t)p, want, 1);
        }
    }
    graph_sort(&graph);
    bool is_stuck[PROCESSES * (1 + KINDS)];
    graph_stuck(&graph, is_stuck);
    graph_free(&graph);
    int stuck = 0;
    for (int p = 0; p < PROCESSES; p++)
        stuck += is_stuck[p];
    return stuck;
}

static void tables(void) {
    ledger_group(
        "Tables of resources",
        "Reduction of the wait-for graph with several units (model/graph): processes that can "
        "never get on. The banker's state is safe where nobody is stuck who wants all that he "
        "may ever want.");
    static const struct table row[] = {
        {"banker, at the start",
         {10, 5, 7},
         {{0, 1, 0}, {2, 0, 0}, {3, 0, 2}, {2, 1, 1}, {0, 0, 2}},
         {{7, 4, 3}, {1, 2, 2}, {6, 0, 0}, {0, 1, 1}, {4, 3, 1}},
         0},
        {"banker, P1 was given (1, 0, 2)",
         {10, 5, 7},
         {{0, 1, 0}, {3, 0, 2}, {3, 0, 2}, {2, 1, 1}, {0, 0, 2}},
         {{7, 4, 3}, {0, 2, 0}, {6, 0, 0}, {0, 1, 1}, {4, 3, 1}},
         0},
        {"banker, then P0 (0, 2, 0): unsafe",
         {10, 5, 7},
         {{0, 3, 0}, {3, 0, 2}, {3, 0, 2}, {2, 1, 1}, {0, 0, 2}},
         {{7, 2, 3}, {0, 2, 0}, {6, 0, 0}, {0, 1, 1}, {4, 3, 1}},
         5},
        {"detection",
         {7, 2, 6},
         {{0, 1, 0}, {2, 0, 0}, {3, 0, 3}, {2, 1, 1}, {0, 0, 2}},
         {{0, 0, 0}, {2, 0, 2}, {0, 0, 0}, {1, 0, 0}, {0, 0, 2}},
         0},
        {"detection, P2 wants one more of the third kind",
         {7, 2, 6},
         {{0, 1, 0}, {2, 0, 0}, {3, 0, 3}, {2, 1, 1}, {0, 0, 2}},
         {{0, 0, 0}, {2, 0, 2}, {0, 0, 1}, {1, 0, 0}, {0, 0, 2}},
         4},
    };
    for (size_t i = 0; i < LENGTH(row); i++)
        ledger_exact(&silberschatz, row[i].stuck, stuck_processes(&row[i]), "%s: stuck",
                     row[i].name);
}

int main(void) {
    philosophers();
    places();
    crossings();
    mixed_loops();
    tables();
    return ledger_end();
}
