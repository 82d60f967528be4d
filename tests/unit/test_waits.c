/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_waits.c - graphs of waits against published deadlocks, counted by exhaustion; and
 * the graph of a world against what its scenario was built to show. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "model/cause/graph.h"
#include "model/cause/waits.h"
#include "model/engine/world.h"
#include "tests/common/suite.h"
#include "tests/unit/scene.h"

enum { VERTICES_MOST = 32 };

static uint32_t stuck_count(const struct graph *graph, bool *stuck) {
    uint32_t count = 0;
    graph_stuck(graph, stuck);
    for (uint32_t i = 0; i < graph->vertex_count; i++)
        count += stuck[i];
    return count;
}

/* ---- dining philosophers ---- */

/* E. W. Dijkstra, "Hierarchical ordering of sequential processes", Acta Informatica 1 (1971)
 * 115-138. Each has no fork, one, or eats with two and then puts both down. The numbers of
 * reachable states are the companion Pell numbers (1 + sqrt 2)^N + (1 - sqrt 2)^N, with one
 * left-handed philosopher the Pell number P(N+1); two model checkers count the same. Exactly one
 * state is dead, or none. */
enum { PHILOSOPHERS_MOST = 10, STATES_MOST = 59049 };

struct table {
    uint32_t count;
    bool left_handed; /* philosopher 0 takes the other fork first */
};

static uint32_t fork_of(const struct table *table, uint32_t who, uint32_t which) {
    bool swapped = table->left_handed && who == 0;
    return (who + (which ^ (uint32_t)swapped)) % table->count;
}

/* Who holds a fork, table->count: nobody. */
static uint32_t holder(const struct table *table, const uint8_t *has, uint32_t fork) {
    for (uint32_t who = 0; who < table->count; who++)
        for (uint32_t which = 0; which < has[who]; which++)
            if (fork_of(table, who, which) == fork)
                return who;
    return table->count;
}

static void unpack(uint32_t state, uint32_t count, uint8_t *has) {
    for (uint32_t i = 0; i < count; i++, state /= 3)
        has[i] = (uint8_t)(state % 3);
}

static uint32_t pack(uint32_t count, const uint8_t *has) {
    uint32_t state = 0;
    for (uint32_t i = count; i-- > 0;)
        state = 3 * state + has[i];
    return state;
}

/* One who wants a fork that another holds waits for him; nobody else waits. */
static uint32_t stuck_at_table(const struct table *table, const uint8_t *has) {
    struct graph graph;
    bool stuck[VERTICES_MOST];
    graph_init(&graph, table->count);
    for (uint32_t who = 0; who < table->count; who++) {
        uint32_t other =
            has[who] == 2 ? table->count : holder(table, has, fork_of(table, who, has[who]));
        graph.need[who] = other < table->count;
        if (other < table->count)
            graph_add(&graph, who, other, 1);
    }
    graph_sort(&graph);
    uint32_t count = stuck_count(&graph, stuck);
    graph_free(&graph);
    return count;
}

struct counted {
    uint32_t states, dead, part_stuck;
};

static struct counted count_states(const struct table *table) {
    static bool seen[STATES_MOST];
    static uint32_t list[STATES_MOST];
    struct counted counted = {0};
    memset(seen, 0, sizeof seen);
    list[counted.states++] = 0;
    seen[0] = true;
    for (uint32_t i = 0; i < counted.states; i++) {
        uint8_t has[PHILOSOPHERS_MOST];
        unpack(list[i], table->count, has);
        uint32_t stuck = stuck_at_table(table, has);
        counted.dead += stuck == table->count;
        counted.part_stuck += stuck > 0 && stuck < table->count;
        for (uint32_t who = 0; who < table->count; who++) {
            uint8_t before = has[who];
            bool may =
                before == 2 || holder(table, has, fork_of(table, who, before)) == table->count;
            has[who] = before == 2 ? 0 : (uint8_t)(before + 1);
            uint32_t next = pack(table->count, has);
            has[who] = before;
            if (may && !seen[next]) {
                seen[next] = true;
                list[counted.states++] = next;
            }
        }
    }
    return counted;
}

START_TEST(one_state_of_the_philosophers_is_dead) {
    static const uint32_t states[] = {14, 34, 82, 198, 478, 1154, 2786, 6726};
    struct counted found = count_states(&(struct table){(uint32_t)_i + 3, false});
    ck_assert_uint_eq(found.states, states[_i]);
    ck_assert_uint_eq(found.dead, 1);
    ck_assert_uint_eq(found.part_stuck, 0);
}
END_TEST

START_TEST(a_left_handed_philosopher_keeps_all_alive) {
    static const uint32_t states[] = {12, 29, 70, 169, 408, 985, 2378, 5741};
    struct counted found = count_states(&(struct table){(uint32_t)_i + 3, true});
    ck_assert_uint_eq(found.states, states[_i]);
    ck_assert_uint_eq(found.dead + found.part_stuck, 0);
}
END_TEST

/* ---- a ring of cells ---- */

/* M items on N cells, each may go on into a free cell: C(N, M) states, dead if and only if M = N.
 * */
static struct counted count_ring(uint32_t cells, uint32_t items) {
    struct counted counted = {0};
    for (uint32_t state = 0; state < UINT32_C(1) << cells; state++) {
        if ((uint32_t)__builtin_popcount(state) != items)
            continue;
        struct graph graph;
        bool stuck[VERTICES_MOST];
        graph_init(&graph, cells);
        for (uint32_t i = 0; i < cells; i++) {
            bool waits = (state >> i & 1) != 0 && (state >> (i + 1) % cells & 1) != 0;
            graph.need[i] = waits;
            if (waits)
                graph_add(&graph, i, (i + 1) % cells, 1);
        }
        graph_sort(&graph);
        uint32_t count = stuck_count(&graph, stuck);
        counted.states++;
        counted.dead += count == cells;
        counted.part_stuck += count > 0 && count < cells;
        graph_free(&graph);
    }
    return counted;
}

START_TEST(a_ring_of_cells_is_dead_only_when_full) {
    static const struct {
        uint32_t cells, items, states, dead;
    } row[] = {{8, 4, 70, 0},   {8, 7, 8, 0}, {10, 5, 252, 0},
               {12, 6, 924, 0}, {8, 8, 1, 1}, {12, 12, 1, 1}};
    struct counted found = count_ring(row[_i].cells, row[_i].items);
    ck_assert_uint_eq(found.states, row[_i].states);
    ck_assert_uint_eq(found.dead, row[_i].dead);
    ck_assert_uint_eq(found.part_stuck, 0);
}
END_TEST

START_TEST(the_ring_is_told_in_the_order_of_waiting) {
    struct graph graph;
    bool among[VERTICES_MOST];
    uint32_t ring[VERTICES_MOST];
    graph_init(&graph, 6);
    graph_add(&graph, 0, 3, 1);
    graph_add(&graph, 3, 4, 1); /* a dead end, tried first */
    graph_add(&graph, 3, 1, 1);
    graph_add(&graph, 1, 5, 1);
    graph_add(&graph, 5, 0, 1);
    graph_sort(&graph);
    memset(among, true, sizeof among);
    ck_assert_uint_eq(graph_ring(&graph, 3, among, ring), 4);
    static const uint32_t expected[] = {3, 1, 5, 0};
    ck_assert_mem_eq(ring, expected, sizeof expected);
    ck_assert_uint_eq(graph_ring(&graph, 4, among, ring), 0);
    among[5] = false;
    ck_assert_uint_eq(graph_ring(&graph, 3, among, ring), 0);
    graph_free(&graph);
}
END_TEST

/* ---- several units of a resource ---- */

/* The table of deadlock detection in A. Silberschatz, P. Galvin, G. Gagne, Operating System
 * Concepts, chapter Deadlocks: totals (7, 2, 6), all allotted; then P2 asks for one more C. A
 * request is a vertex of its own, which needs as many units as are asked for; what a process holds
 * is what it is worth. */
enum { PROCESSES = 5, RESOURCES = 3 };

static void make_bankers_graph(struct graph *graph, const int (*request)[RESOURCES]) {
    static const int holds[PROCESSES][RESOURCES] = {
        {0, 1, 0}, {2, 0, 0}, {3, 0, 3}, {2, 1, 1}, {0, 0, 2}};
    graph_init(graph, PROCESSES + PROCESSES * RESOURCES);
    for (uint32_t p = 0; p < PROCESSES; p++) {
        graph->need[p] = 0;
        for (uint32_t r = 0; r < RESOURCES; r++) {
            uint32_t wish = PROCESSES + p * RESOURCES + r;
            graph->need[wish] = request[p][r];
            if (request[p][r] == 0)
                continue;
            graph->need[p]++;
            graph_add(graph, p, wish, 1);
            for (uint32_t q = 0; q < PROCESSES; q++)
                graph_add(graph, wish, q, holds[q][r]);
        }
    }
    graph_sort(graph);
}

START_TEST(detection_tells_the_bankers_deadlock) {
    static const int request[2][PROCESSES][RESOURCES] = {
        {{0, 0, 0}, {2, 0, 2}, {0, 0, 0}, {1, 0, 0}, {0, 0, 2}},
        {{0, 0, 0}, {2, 0, 2}, {0, 0, 1}, {1, 0, 0}, {0, 0, 2}}};
    for (int i = 0; i < 2; i++) {
        struct graph graph;
        bool stuck[VERTICES_MOST];
        make_bankers_graph(&graph, request[i]);
        graph_stuck(&graph, stuck);
        ck_assert(!stuck[0]);
        for (int p = 1; p < PROCESSES; p++)
            ck_assert_int_eq(stuck[p], i == 1);
        graph_free(&graph);
    }
}
END_TEST

/* ---- a Petri net ---- */

/* Two product lines through two resources in opposite order (after T. Murata, "Petri nets", Proc.
 * IEEE 77 (1989) 541-580): line a takes r1, then r2 and gives r1 back, then gives r2 back; line b
 * takes r2 first. With one unit of each 6 markings are reachable and one is dead, a1 b1; with two
 * units of r1 8 and none; with at most one of a1, b1 at a time 5 and none. */
struct net {
    int units_of_first;
    bool controlled;
};

static int used(int first, int second, int at, int resource) {
    return (at == 1 && first == resource) || (at == 2 && second == resource);
}

static int free_units(const struct net *net, const int *at, int resource) {
    int units = resource == 0 ? net->units_of_first : 1;
    return units - used(0, 1, at[0], resource) - used(1, 0, at[1], resource);
}

static bool may_go_on(const struct net *net, const int *at, int line) {
    if (at[line] == 2)
        return true;
    int wanted = (at[line] == 0) == (line == 0) ? 0 : 1;
    bool held_back = net->controlled && at[line] == 0 && at[1 - line] == 1;
    return free_units(net, at, wanted) > 0 && !held_back;
}

static bool is_stuck(const struct net *net, const int *at) {
    struct graph graph;
    bool stuck[VERTICES_MOST];
    graph_init(&graph, 2);
    for (int line = 0; line < 2; line++) {
        graph.need[line] = !may_go_on(net, at, line);
        if (graph.need[line] > 0)
            graph_add(&graph, (uint32_t)line, (uint32_t)(1 - line), 1);
    }
    graph_sort(&graph);
    uint32_t count = stuck_count(&graph, stuck);
    graph_free(&graph);
    return count == 2;
}

START_TEST(two_lines_through_two_resources) {
    static const struct {
        struct net net;
        uint32_t markings, dead;
    } row[] = {{{1, false}, 6, 1}, {{2, false}, 8, 0}, {{1, true}, 5, 0}};
    bool seen[3][3] = {{true}};
    int list[9][2] = {{0, 0}};
    uint32_t count = 1, dead = 0;
    for (uint32_t i = 0; i < count; i++) {
        dead += is_stuck(&row[_i].net, list[i]);
        for (int line = 0; line < 2; line++) {
            int next[2] = {list[i][0], list[i][1]};
            next[line] = (next[line] + 1) % 3;
            if (!may_go_on(&row[_i].net, list[i], line) || seen[next[0]][next[1]])
                continue;
            seen[next[0]][next[1]] = true;
            memcpy(list[count++], next, sizeof next);
        }
    }
    ck_assert_uint_eq(count, row[_i].markings);
    ck_assert_uint_eq(dead, row[_i].dead);
}
END_TEST

/* ---- components ---- */

static uint32_t next_random(uint32_t *seed) {
    *seed = *seed * 1664525 + 1013904223;
    return *seed >> 8;
}

/* By definition: two vertices are in one component when each can be reached from the other. */
START_TEST(components_are_those_of_the_definition) {
    uint32_t seed = (uint32_t)_i + 1, component[VERTICES_MOST], count = 20;
    bool reaches[VERTICES_MOST][VERTICES_MOST] = {{false}};
    struct graph graph;
    graph_init(&graph, count);
    for (uint32_t i = 0; i < 12 + (uint32_t)_i % 24; i++) {
        uint32_t from = next_random(&seed) % count, to = next_random(&seed) % count;
        graph_add(&graph, from, to, 1);
        reaches[from][to] = true;
    }
    graph_sort(&graph);
    for (uint32_t k = 0; k < count; k++)
        for (uint32_t i = 0; i < count; i++)
            for (uint32_t j = 0; j < count; j++)
                reaches[i][j] |= reaches[i][k] && reaches[k][j];
    graph_components(&graph, component);
    for (uint32_t i = 0; i < count; i++)
        for (uint32_t j = 0; j < count; j++) {
            bool together = i == j || (reaches[i][j] && reaches[j][i]);
            ck_assert_int_eq(component[i] == component[j], together);
            ck_assert(!reaches[i][j] || component[j] <= component[i]);
        }
    graph_free(&graph);
}
END_TEST

/* ---- worlds ---- */

/* One of everything that can wait. Items are numbered as they stand. */
enum { COMB, SPRING, NAIL, BOX };
static const char everything[] =
    "run: {for: 10 min}\n"
    "items: [comb, spring, nail, box]\n"
    "loops: [{name: ring, cells: 20, rate: 5}]\n"
    "lines: [{name: belt, cells: 4, rate: 2}]\n"
    "chests:\n"
    "  - {name: comb-bin, capacity: 30, start: {comb: 30}}\n"
    "  - {name: spring-bin, start: {spring: 50}}\n"
    "  - {name: shelf, capacity: 2}\n"
    "  - {name: store}\n"
    "stations:\n"
    "  - {name: bench, takes: {spring: 1, nail: 1}, makes: {box: 1}, time: 1 s}\n"
    "  - {name: packer, takes: {comb: 1}, makes: {box: 1}, time: 1 s, room: 1}\n"
    "arms:\n"
    "  - {name: spring-feeder, from: spring-bin, to: ring@2, items: [spring], swing: 1 s}\n"
    "  - {name: nail-feeder, from: store, to: ring@4, items: [nail], swing: 1 s}\n"
    "  - {name: bench-taker, from: ring@10, to: bench, swing: 1 s}\n"
    "  - {name: comb-mover, from: comb-bin, to: packer, items: [comb], swing: 1 s}\n"
    "  - {name: packer-mover, from: packer, to: belt@1, swing: 1 s}\n"
    "  - {name: belt-taker, from: belt@3, to: shelf, swing: 1 s}\n"
    "  - {name: pair-mover, from: spring-bin, to: store, items: [spring], swing: 1 s,\n"
    "     gate: {station: packer, output: box, below: 1}}\n"
    "  - {name: gated-mover, from: spring-bin, to: store, items: [spring], swing: 1 s,\n"
    "     gate: {all: [{chest: shelf, below: 2}, {chest: store, item: nail, at_least: 3}]}}\n"
    "supplies:\n"
    "  - {name: combs, chest: comb-bin, item: comb, every: 1 s, batch: 40}\n"
    "  - {name: ended, chest: store, item: comb, every: 1 s, until: 0}\n"
    "demands:\n"
    "  - {name: nails, chest: store, item: nail, every: 2 s, batch: 3}\n"
    "  - {name: boxes, chest: shelf, item: box, every: 5 min, first: 8 min}\n"
    "incidents: [{at: 1 min, stop: nail-feeder}]\n";
enum {
    SPRING_FEEDER,
    NAIL_FEEDER,
    BENCH_TAKER,
    COMB_MOVER,
    PACKER_MOVER,
    BELT_TAKER,
    PAIR_MOVER,
    GATED_MOVER
};
enum { COMB_BIN, SPRING_BIN, SHELF, STORE };
enum { RING, BELT };

START_TEST(everybody_says_for_what_he_waits) {
    struct scene scene = scene_of(everything, 120);
#define EDGE(from_kind, from, to_kind, to, why, item)                                              \
    ck_assert_ptr_nonnull(scene_edge(&scene, scene_vertex(&scene, from_kind, from),                \
                                     scene_vertex(&scene, to_kind, to), why, item))
    EDGE(WAITS_ARM, SPRING_FEEDER, WAITS_TRACK, RING, WAITS_FOR_CELL, NO_INDEX);
    EDGE(WAITS_TRACK, RING, WAITS_ARM, BENCH_TAKER, WAITS_TO_TAKE, SPRING);
    EDGE(WAITS_ARM, BENCH_TAKER, WAITS_STATION, 0, WAITS_FOR_ROOM, SPRING);
    EDGE(WAITS_STATION, 0, WAITS_TRACK, RING, WAITS_FOR_ITEM, NAIL);
    EDGE(WAITS_TRACK, RING, WAITS_ARM, NAIL_FEEDER, WAITS_TO_BRING, NAIL);
    EDGE(WAITS_ARM, BELT_TAKER, WAITS_CHEST, SHELF, WAITS_FOR_ROOM, BOX);
    EDGE(WAITS_CHEST, SHELF, WAITS_DEMAND, 1, WAITS_TO_TAKE, BOX);
    EDGE(WAITS_ARM, PACKER_MOVER, WAITS_TRACK, BELT, WAITS_FOR_CELL, NO_INDEX);
    EDGE(WAITS_TRACK, BELT, WAITS_ARM, BELT_TAKER, WAITS_TO_TAKE, BOX);
    EDGE(WAITS_STATION, 1, WAITS_ARM, PACKER_MOVER, WAITS_TO_TAKE, BOX);
    EDGE(WAITS_ARM, COMB_MOVER, WAITS_STATION, 1, WAITS_FOR_ROOM, COMB);
    EDGE(WAITS_SUPPLY, 0, WAITS_CHEST, COMB_BIN, WAITS_FOR_ROOM, COMB);
    EDGE(WAITS_CHEST, COMB_BIN, WAITS_ARM, COMB_MOVER, WAITS_TO_TAKE, COMB);
    EDGE(WAITS_ARM, GATED_MOVER, WAITS_ARM_GATE, GATED_MOVER, WAITS_FOR_GATE, NO_INDEX);
    EDGE(WAITS_ARM_GATE, GATED_MOVER, WAITS_CHEST, SHELF, WAITS_FOR_FALL, NO_INDEX);
    EDGE(WAITS_ARM_GATE, GATED_MOVER, WAITS_CHEST, STORE, WAITS_FOR_RISE, NAIL);
    EDGE(WAITS_ARM_GATE, PAIR_MOVER, WAITS_STATION, 1, WAITS_FOR_FALL, BOX);
    EDGE(WAITS_DEMAND, 0, WAITS_CHEST, STORE, WAITS_FOR_ITEM, NAIL);
#undef EDGE
    const struct waits_edge *edge = scene_edge(&scene, scene_vertex(&scene, WAITS_CHEST, STORE),
                                               WAITS_NOBODY, WAITS_TO_BRING, NAIL);
    ck_assert_ptr_nonnull(edge);
    scene_free(&scene);
}
END_TEST

START_TEST(everybody_stands_as_he_does) {
    struct scene scene = scene_of(everything, 120);
    const enum actor_status *standing = scene.waits.status;
    ck_assert_int_eq(standing[scene_vertex(&scene, WAITS_ARM, NAIL_FEEDER)], STATUS_STOPPED);
    ck_assert_int_eq(standing[scene_vertex(&scene, WAITS_SUPPLY, 1)], STATUS_ENDED);
    ck_assert_int_eq(standing[scene_vertex(&scene, WAITS_DEMAND, 1)], STATUS_ACTIVE);
    ck_assert_int_eq(standing[scene_vertex(&scene, WAITS_ARM, SPRING_FEEDER)], STATUS_WAITING);
    /* The box orders still come: what waits for them gets on one day. The ring never does, for want
     * of a nail. */
    ck_assert(!scene.waits.stuck[scene_vertex(&scene, WAITS_STATION, 1)]);
    ck_assert(!scene.waits.stuck[scene_vertex(&scene, WAITS_ARM, COMB_MOVER)]);
    ck_assert(scene.waits.stuck[scene_vertex(&scene, WAITS_ARM, SPRING_FEEDER)]);
    ck_assert(scene.waits.stuck[scene_vertex(&scene, WAITS_STATION, 0)]);
    scene_free(&scene);
}
END_TEST

/* The feeder has been placing since it last carried something, and for moments before that, when a
 * cell came by a little late: a second or two in all, with a swing of a second. */
START_TEST(waits_begin_when_the_state_began) {
    struct scene scene = scene_of(everything, 120);
    const struct waits_edge *edge =
        scene_edge(&scene, scene_vertex(&scene, WAITS_ARM, SPRING_FEEDER),
                   scene_vertex(&scene, WAITS_TRACK, RING), WAITS_FOR_CELL, NO_INDEX);
    int64_t placing = world_arm_totals(scene.world, SPRING_FEEDER).ticks[ARM_PLACING];
    ck_assert_ptr_nonnull(edge);
    ck_assert_int_eq(edge->count, 1);
    ck_assert_int_ge(placing, world_tick(scene.world) - edge->since);
    ck_assert_int_le(placing, world_tick(scene.world) - edge->since + 200); /* short waits before */
    scene_free(&scene);
}
END_TEST

/* ---- all of it ---- */

static Suite *suite(void) {
    Suite *all = suite_begin("waits");
    TCase *tests = tcase_create("graphs");
    tcase_add_loop_test(tests, one_state_of_the_philosophers_is_dead, 0, 8);
    tcase_add_loop_test(tests, a_left_handed_philosopher_keeps_all_alive, 0, 8);
    tcase_add_loop_test(tests, a_ring_of_cells_is_dead_only_when_full, 0, 6);
    tcase_add_test(tests, the_ring_is_told_in_the_order_of_waiting);
    tcase_add_test(tests, detection_tells_the_bankers_deadlock);
    tcase_add_loop_test(tests, two_lines_through_two_resources, 0, 3);
    tcase_add_loop_test(tests, components_are_those_of_the_definition, 0, 200);
    suite_add_tcase(all, tests);
    tests = tcase_create("worlds");
    tcase_add_test(tests, everybody_says_for_what_he_waits);
    tcase_add_test(tests, everybody_stands_as_he_does);
    tcase_add_test(tests, waits_begin_when_the_state_began);
    suite_add_tcase(all, tests);
    return all;
}

int main(void) { return suite_end(suite()); }
