/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_belts.c - what a belt carries, to the item: Kwo's rules, Muth's carriers, and
 * the arithmetic of rings. Nothing here is left to chance. */
#include <stdio.h>
#include <stdlib.h>

#include "sim/require.h"
#include "tests/outside/ledger.h"
#include "tests/outside/shop.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static const struct place lane = {.kind = PLACE_LANE};

/* ---- Kwo ---- */

static const struct ledger_source groover = {
    "Kwo 1958, Groover",
    "T. T. Kwo, A theory of conveyors, Management Science 5 (1958) 51-71; the example is that of "
    "M. P. Groover, Automation, Production Systems, and Computer-Integrated Manufacturing, "
    "Conveyor analysis: 300 m, 60 m/min, carriers each 12 m with 2 parts, 0.20 min to load and "
    "to unload one, 4 parts/min",
    "rules read in lecture slides; data recalled; by hand"};
static const struct ledger_source exercise = {
    "Kwo 1958, exercises",
    "exercises on Kwo's three rules that are handed round with courses: 200 m, 50 m/min, "
    "carriers each 5 m, 0.15 min a carrier; legs of 150 m and 100 m, a part each 3 m, 0.3 m/s; "
    "300 ft of rollers, 30 ft/min, 20 parts a container, 30 s to load one",
    "texts read; by hand"};

struct kwo {
    uint32_t carriers;
    const char *feed, *swing; /* s; of the supply, of both arms */
};

/* Feeder at 0, taker opposite, what it misses is cleared before it comes round. A step is 1 s. */
static struct world *start_kwo(const struct kwo *kwo, struct scenario **scenario) {
    struct shop shop = {.ticks_per_second = 100};
    shop_item(&shop, "load", 1);
    shop_part(&shop, SHOP_LOOPS, "name: ring, cells: %u, rate: 1", kwo->carriers);
    shop_part(&shop, SHOP_CHESTS, "name: taken");
    shop_part(&shop, SHOP_CHESTS, "name: missed");
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@%u, to: taken, swing: %s",
              kwo->carriers / 2, kwo->swing);
    shop_part(&shop, SHOP_ARMS, "name: clearer, from: ring@%u, to: missed, swing: 0",
              kwo->carriers - 1);
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0, swing: %s", kwo->swing);
    shop_part(&shop, SHOP_SUPPLIES, "name: source, chest: bin, item: load, every: %s", kwo->feed);
    *scenario = shop_open(&shop);
    return world_new(*scenario);
}

enum { TAKEN, MISSED, FEEDER = 2 };

static void three_rules_hold(void) {
    struct scenario *scenario;
    struct kwo kwo = {25, "2.5 s", "1 s"}; /* 0.2 min is a second here: 4 parts/min, 2 a carrier */
    struct world *world = start_kwo(&kwo, &scenario);
    world_advance(world, 10000);
    int64_t before = world_chest_count(world, TAKEN, 0);
    world_advance(world, 60000);
    double minutes = 500 / 5.0; /* of 5 s */
    ledger_exact(&groover, 4, (double)(2 * (world_chest_count(world, TAKEN, 0) - before)) / minutes,
                 "all rules hold: parts a minute at the taker");
    ledger_exact(&groover, 0, (double)world_chest_count(world, MISSED, 0),
                 "carriers that the taker misses");
    ledger_exact(&groover, 0, (double)world_arm_totals(world, FEEDER).ticks[ARM_PLACING],
                 "time that the feeder waits for a carrier");
    world_free(world);
    scenario_free(scenario);
}

/* The upper bound of the speed rule: carriers come faster (0.1 min) than an arm can turn (0.15). */
static void too_fast(void) {
    struct scenario *scenario;
    struct kwo kwo = {40, "0.5 s", "1.5 s"}; /* 0.1 min is a second here */
    struct world *world = start_kwo(&kwo, &scenario);
    world_advance(world, 10000);
    int64_t before = world_arm_totals(world, FEEDER).moved;
    world_advance(world, 70000);
    double carriers = (double)(world_arm_totals(world, FEEDER).moved - before) / (600 / 10.0);
    ledger_near(&exercise, 6.6666667, carriers, 1e-6, "digits given",
                "speed rule broken above: carriers a minute that get a load, of 10");
    world_free(world);
    scenario_free(scenario);
}

/* On the loop, before the feeder, in its hand, and in the tray after the taker. */
static int64_t parts_there(const struct world *world) {
    return world_track_count(world, lane, NO_INDEX) + world_chest_count(world, 0, 0) +
           world_hand_count(world, 1, 0) + world_chest_count(world, 1, 0);
}

/* More is fed (5 parts/min) than taken (4): 50 places fill by one a minute, then the feeder waits.
 * A minute is 10 s here, so that a place comes by each second. The taker stands just before the
 * feeder: holes on their way from one to the other would be places that are never filled. */
static void overfed(void) {
    struct shop shop = {.ticks_per_second = 2};
    shop_item(&shop, "part", 1);
    shop_part(&shop, SHOP_LOOPS, "name: ring, cells: 50, rate: 1");
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_CHESTS, "name: tray, capacity: 1");
    shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@0, to: tray, swing: 0");
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0, swing: 0");
    shop_part(&shop, SHOP_SUPPLIES, "name: source, chest: bin, item: part, every: 2 s");
    shop_part(&shop, SHOP_DEMANDS, "name: use, chest: tray, item: part, every: 2.5 s, first: 50 s");
    struct scenario *scenario = shop_open(&shop);
    struct world *world = world_new(scenario);
    const int64_t minute = 20;
    world_advance(world, 10 * minute);
    int64_t before = parts_there(world);
    world_advance(world, 25 * minute);
    ledger_exact(&groover, 15, (double)(parts_there(world) - before),
                 "fed 5, taken 4 a minute: parts more after 15 minutes");
    world_advance(world, 60 * minute);
    ledger_exact(&groover, 50, (double)world_track_count(world, lane, NO_INDEX),
                 "then: parts on the loop, all its places");
    int64_t fed = world_arm_totals(world, 1).moved;
    world_advance(world, 160 * minute);
    ledger_exact(&groover, 4, (double)(world_arm_totals(world, 1).moved - fed) / 100,
                 "then: parts a minute that the feeder gets on");
    world_free(world);
    scenario_free(scenario);
}

/* 150 m to the taker at 0.3 m/s, a part of three metres each 10 s; a cell is a metre. */
static void two_legs(void) {
    struct shop shop = {.ticks_per_second = 100};
    shop_item(&shop, "part", 3);
    shop_part(&shop, SHOP_LOOPS, "name: ring, cells: 250, rate: 0.3");
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_CHESTS, "name: taken");
    shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@150, to: taken, swing: 0");
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0, swing: 0");
    shop_part(&shop, SHOP_SUPPLIES, "name: source, chest: bin, item: part, every: 10 s");
    struct scenario *scenario = shop_open(&shop);
    struct world *world = world_new(scenario);
    while (world_chest_count(world, 1, 0) == 0)
        world_advance(world, world_tick(world) + 1);
    ledger_exact(&exercise, 500, (double)world_tick(world) / 100 - 10,
                 "legs of 150 m and 100 m: delivery takes so many seconds");
    ledger_exact(&exercise, 50, (double)world_track_count(world, lane, NO_INDEX),
                 "parts on the delivery leg");
    world_advance(world, 200000);
    int64_t before = world_chest_count(world, 1, 0);
    world_advance(world, 300000);
    ledger_exact(&exercise, 0.1, (double)(world_chest_count(world, 1, 0) - before) / 1000,
                 "parts a second");
    world_free(world);
    scenario_free(scenario);
}

/* 300 ft, a container each 15 ft: 20 places; loading takes as long as one goes by. */
static void rollers(int step, double parts_an_hour) {
    struct shop shop = {.ticks_per_second = step}; /* so that a place is a second here */
    shop_item(&shop, "container", 1);
    shop_part(&shop, SHOP_LOOPS, "name: ring, cells: 20, rate: 1");
    shop_part(&shop, SHOP_CHESTS, "name: bin, start: {container: 1000000}");
    shop_part(&shop, SHOP_CHESTS, "name: taken");
    shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@10, to: taken, swing: 0");
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0, swing: 1 s");
    struct scenario *scenario = shop_open(&shop);
    struct world *world = world_new(scenario);
    world_advance(world, 3600);
    int64_t before = world_chest_count(world, 1, 0);
    world_advance(world, 11 * 3600);
    ledger_exact(&exercise, parts_an_hour,
                 (double)(20 * (world_chest_count(world, 1, 0) - before)) / 10,
                 "300 ft of rollers, %d s a container: parts an hour", step);
    world_free(world);
    scenario_free(scenario);
}

static void kwo(void) {
    ledger_group(
        "Kwo's three rules",
        "Carriers are cells; times are scaled so that they are whole ticks. An arm need not "
        "begin with a carrier, so one that turns slower than carriers come serves 1/T of them, "
        "not every second one.");
    three_rules_hold();
    too_fast();
    overfed();
    two_legs();
    rollers(30, 2400);
    rollers(20, 3600);
}

/* ---- greatest common divisors ---- */

static const struct ledger_source muth = {
    "Muth 1975",
    "E. J. Muth, Modelling and system analysis of multistation closed-loop conveyors, "
    "International Journal of Production Research 13 (1975) 559-566; example as in J. A. "
    "Tompkins, J. A. White et al., Facilities Planning, Conveyor models: 7 periods, loads 1 1 2 "
    "2 2 1 1 and takes 0 0 0 0 0 5 5",
    "titles and an abstract read; data recalled; recursion by program, confirmed by a "
    "simulation of laps"};

static void every_few_slots(void) {
    ledger_group(
        "An arm that acts every few slots",
        "N cells, a step a tick; the arm is up in every P-th tick only, and puts down where the "
        "cell is free. It comes to N/gcd(N, P) cells, to the last at tick P (N/gcd - 1).");
    static const struct {
        int64_t cells, every, filled, last;
    } row[] = {{12, 5, 12, 55},  {12, 4, 3, 8},    {12, 8, 3, 16},
               {12, 6, 2, 6},    {9, 7, 9, 56},    {60, 7, 60, 413},
               {60, 8, 15, 112}, {64, 24, 8, 168}, {100, 30, 10, 270}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 1};
        shop_item(&shop, "part", 1);
        shop_part(&shop, SHOP_LOOPS, "name: ring, cells: %lld, rate: 1", (long long)row[i].cells);
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {part: 1000000}");
        shop_part(
            &shop, SHOP_ARMS,
            "name: feeder, from: bin, to: ring@0, swing: 0, breaks: {after: 1 s, repair: %lld s}",
            (long long)row[i].every - 1);
        struct scenario *scenario = shop_open(&shop);
        struct world *world = world_new(scenario);
        int64_t last = 0, count = 0;
        for (int64_t tick = 0; tick < 3 * row[i].cells * row[i].every; tick++) {
            world_advance(world, tick);
            int64_t now = world_track_count(world, lane, NO_INDEX);
            last = now > count ? tick : last;
            count = now;
        }
        ledger_exact(&muth, (double)row[i].filled, (double)count,
                     "N = %lld, P = %lld: cells filled", (long long)row[i].cells,
                     (long long)row[i].every);
        ledger_exact(&muth, (double)row[i].last, (double)last,
                     "N = %lld, P = %lld: the last at tick", (long long)row[i].cells,
                     (long long)row[i].every);
        world_free(world);
        scenario_free(scenario);
    }
}

/* ---- carriers with several places ---- */

enum { PERIODS = 7, STEP = 10 }; /* ticks of a step */
static const int loads[PERIODS] = {1, 1, 2, 2, 2, 1, 1}, takes[PERIODS] = {0, 0, 0, 0, 0, 5, 5};

struct carriers {
    int count, places; /* `places` cells of the belt are a carrier */
    int load[PERIODS]; /* on the carrier of period n when it has been loaded */
};

/* In period n, `places` steps long, carrier n mod count passes the taker at cell 0, and one period
 * later the feeder at cell `places`. Both are served by deliveries as the carrier comes: parts, and
 * permits of which the taker's station uses one for each part. In the first lap the feeder makes
 * the loads of the steady state. */
static struct scenario *open_carriers(const struct carriers *carriers) {
    struct shop shop = {.ticks_per_second = 1};
    int places = carriers->places, period = places * STEP, lap = carriers->count * period;
    shop_item(&shop, "part", 1);
    shop_item(&shop, "permit", 1);
    shop_part(&shop, SHOP_LOOPS, "name: ring, cells: %d, rate: 0.1", carriers->count * places);
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_CHESTS, "name: permits");
    shop_part(&shop, SHOP_STATIONS,
              "name: outlet, takes: {part: 1, permit: 1}, ahead: 1, time: 1 s");
    shop_part(&shop, SHOP_ARMS, "name: allow, from: permits, to: outlet, swing: 0");
    shop_part(&shop, SHOP_ARMS,
              "name: taker, from: ring@0, to: outlet, items: [part], swing: 0, gate: {station: "
              "outlet, input: permit, at_least: 1}");
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@%d, items: [part], swing: 0",
              places);
    for (int n = 0; n < carriers->count; n++) {
        int load = carriers->load[n % PERIODS];
        if (load > 0)
            shop_part(&shop, SHOP_SUPPLIES,
                      "name: lay-%d, chest: bin, item: part, batch: %d, every: 1 d, first: %d s, "
                      "until: %d s",
                      n, load, (n + 1) * period, (n + 1) * period);
    }
    for (int n = 0; n < PERIODS; n++) {
        int first = n - carriers->count % PERIODS,
            at = lap + ((first + PERIODS) % PERIODS) * period;
        if (loads[n] > 0)
            shop_part(&shop, SHOP_SUPPLIES,
                      "name: load-%d, chest: bin, item: part, batch: %d, every: %d s, first: %d s",
                      n, loads[n], PERIODS * period, at + period);
        if (takes[n] > 0)
            shop_part(
                &shop, SHOP_SUPPLIES,
                "name: take-%d, chest: permits, item: permit, batch: %d, every: %d s, first: %d s",
                n, takes[n], PERIODS * period, at);
    }
    return shop_open(&shop);
}

/* Parts on the carrier that has just left the feeder. */
static int carrier_load(const struct world *world, int places) {
    int load = 0;
    for (int i = 0; i < places; i++)
        load += world_track_item(world, lane, (uint32_t)(places + i)) != NO_INDEX;
    return load;
}

static void check_carriers(const struct carriers *carriers) {
    struct scenario *scenario = open_carriers(carriers);
    struct world *world = world_new(scenario);
    int period = carriers->places * STEP, off = 0, most = 0;
    for (int n = 0; n < 9 * PERIODS * carriers->count; n++) {
        /* Carrier n is at the feeder in period n + 1, with its last cell in that one's last step.
         */
        world_advance(world, (n + 2) * period - 1);
        int load = carrier_load(world, carriers->places);
        off += load != carriers->load[n % PERIODS];
        most = load > most ? load : most;
    }
    int greatest = 0;
    for (int n = 0; n < PERIODS; n++)
        greatest = carriers->load[n] > greatest ? carriers->load[n] : greatest;
    ledger_exact(&muth, 0, off, "k = %d: carriers whose load differs, of %d passes",
                 carriers->count, 9 * PERIODS * carriers->count);
    ledger_exact(&muth, greatest, most, "k = %d: places that a carrier needs", carriers->count);
    world_free(world);
    scenario_free(scenario);
}

static void carriers_with_places(void) {
    ledger_group(
        "Muth's carriers",
        "A carrier of B places is B neighbouring cells; a period of 7 at the feeder and at the "
        "taker, k carriers. Where k mod 7 and 7 have no common divisor one steady state fits "
        "all; loads behind the feeder in nine laps.");
    static const struct carriers row[] = {
        {8, 9, {2, 3, 5, 7, 9, 5, 1}},  {9, 6, {2, 3, 4, 5, 6, 1, 2}},
        {10, 7, {5, 2, 5, 7, 4, 1, 3}}, {11, 7, {4, 7, 5, 3, 6, 3, 1}},
        {12, 6, {6, 5, 5, 4, 3, 2, 1}}, {13, 9, {9, 8, 7, 5, 3, 1, 5}},
    };
    for (size_t i = 0; i < LENGTH(row); i++)
        check_carriers(&row[i]);
}

/* ---- flow past a point ---- */

static const struct ledger_source kinematics = {
    "kinematics", "a belt of speed v, full of items of k cells, carries v/k past each point",
    "by hand"};

static const struct ledger_source little = {
    "Little 1961",
    "J. Little, A proof for the queuing formula L = λW, Operations Research 9 (1961) "
    "383-387: a ride of 49 steps, times what comes in a step",
    "by hand"};

/* What passes a line, and what lies on it, over four hundred steps. */
static void line_in_flow(int every) {
    struct shop shop = {.ticks_per_second = 1};
    shop_item(&shop, "part", 1);
    shop_part(&shop, SHOP_LINES, "name: line, cells: 50, rate: 1");
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_CHESTS, "name: end");
    shop_part(&shop, SHOP_ARMS, "name: taker, from: line@49, to: end, swing: 0");
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: line@0, swing: 0");
    shop_part(&shop, SHOP_SUPPLIES, "name: source, chest: bin, item: part, every: %d s", every);
    struct scenario *scenario = shop_open(&shop);
    struct world *world = world_new(scenario);
    const struct place line = {PLACE_LINE, 0, 0};
    world_advance(world, 100);
    int64_t out = world_chest_count(world, 1, 0);
    double held = world_track_totals(world, line).cell_ticks;
    world_advance(world, 500);
    ledger_exact(&kinematics, 400.0 / every, (double)(world_chest_count(world, 1, 0) - out),
                 "line of 50, fed every %d steps: out in 400 steps", every);
    ledger_exact(&little, 49.0 / every, (world_track_totals(world, line).cell_ticks - held) / 400,
                 "line of 50, fed every %d steps: parts on it, mean", every);
    world_free(world);
    scenario_free(scenario);
}

static void full_belt(void) {
    ledger_group("Flow past a point",
                 "A full ring, heads seen at cell 0 after each step of a lap; a line fed as "
                 "fast as it goes, or at every second and fourth step.");
    for (uint32_t k = 1; k <= 5; k++) {
        struct shop shop = {.ticks_per_second = 1};
        shop_item(&shop, "rod", k);
        shop_part(&shop, SHOP_LOOPS, "name: ring, cells: 60, rate: 1");
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {rod: 100}");
        shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0, swing: 0");
        struct scenario *scenario = shop_open(&shop);
        struct world *world = world_new(scenario);
        int heads = 0;
        for (int tick = 200; tick < 260; tick++) {
            world_advance(world, tick);
            heads += world_track_item(world, lane, 0) != NO_INDEX;
        }
        ledger_exact(&kinematics, 60.0 / k, heads,
                     "ring of 60, items of %u: heads past a point in a lap", k);
        world_free(world);
        scenario_free(scenario);
    }
    for (int every = 1; every <= 4; every *= 2)
        line_in_flow(every);
}

/* ---- a line that stood ---- */

static void line_that_stood(void) {
    ledger_group("A line that stood",
                 "Fifty parts close up on a line of 50 whose exit is stopped, and leave when it is "
                 "started: the row moves as one, a part each step (where each must wait until the "
                 "cell before it has been free for a step, as in rule 184, it would be every "
                 "second step).");
    struct shop shop = {.ticks_per_second = 1};
    shop_item(&shop, "part", 1);
    shop_part(&shop, SHOP_LINES, "name: line, cells: 50, rate: 1");
    shop_part(&shop, SHOP_CHESTS, "name: bin, start: {part: 50}");
    shop_part(&shop, SHOP_CHESTS, "name: end");
    shop_part(&shop, SHOP_ARMS, "name: taker, from: line@49, to: end, swing: 0");
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: line@0, swing: 0");
    shop_part(&shop, SHOP_INCIDENTS, "at: 0, stop: taker");
    shop_part(&shop, SHOP_INCIDENTS, "at: 200, start: taker");
    struct scenario *scenario = shop_open(&shop);
    struct world *world = world_new(scenario);
    const struct place line = {PLACE_LINE, 0, 0};
    static const struct {
        int tick, left;
    } row[] = {{25, 0}, {49, 0}, {199, 0}, {200, 1}, {224, 25}, {248, 49}, {249, 50}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        world_advance(world, row[i].tick);
        ledger_exact(&kinematics, row[i].left, (double)world_chest_count(world, 1, 0),
                     "tick %d: parts that have left", row[i].tick);
    }
    ledger_exact(&kinematics, 0, (double)world_track_count(world, line, NO_INDEX),
                 "tick 249: parts on the line");
    world_free(world);
    scenario_free(scenario);
}

int main(void) {
    kwo();
    every_few_slots();
    carriers_with_places();
    full_belt();
    line_that_stood();
    return ledger_end();
}
