/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_gates.c - thresholds: kits of two kinds, a loop of two kinds that jams, a
 * station that feeds itself, stocks that are filled up by a rule, and how long it takes to drain.
 */
#include <math.h>
#include <stdio.h>

#include "tests/outside/ledger.h"
#include "tests/outside/network.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

enum { TICKS = 100000, RUNS = 20, BEAT = 73171 };

/* ---- kits of two gated kinds ---- */

static const struct ledger_source latouche = {
    "Latouche 1981",
    "G. Latouche, Queues with paired customers, Journal of Applied Probability 18 (1981) "
    "684-696; the difference of the two counts is a birth and death walk on -N .. N",
    "recalled; by hand, confirmed by an independent simulation"};

struct kit {
    double rate_a, rate_b;
    int64_t most;
    double rate, shut_a, shut_b, unmatched;
};

enum { CHEST_A, CHEST_B };
enum { SHUT_A, SHUT_B, UNMATCHED, KITS, KIT_FOUND };
enum { KIT_SECONDS = 5000 };

static void look_at_kit(const struct world *world, const void *of, double *seen) {
    const struct kit *kit = of;
    int64_t a = world_chest_count(world, CHEST_A, 0), b = world_chest_count(world, CHEST_B, 1);
    seen[SHUT_A] += a == kit->most;
    seen[SHUT_B] += b == kit->most;
    seen[UNMATCHED] += (double)(a + b);
}

static void run_kit(struct world *world, const struct scenario *scenario, const void *of,
                    double *found) {
    (void)scenario;
    const int64_t from = 200 * TICKS, to = from + (int64_t)KIT_SECONDS * TICKS;
    world_advance(world, from);
    int64_t before = world_station_totals(world, 0).batches;
    trial_average(world, (struct trial_window){from, to, BEAT}, look_at_kit, of, KITS, found);
    found[KITS] = (double)(world_station_totals(world, 0).batches - before) / KIT_SECONDS;
}

/* Each kind waits in a chest of its own until the other is there; then both go to the kit station.
 */
static struct scenario *open_kit(const struct kit *kit) {
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "lid", 1);
    shop_item(&shop, "box", 1);
    shop_part(&shop, SHOP_CHESTS, "name: lids, capacity: %lld", (long long)kit->most);
    shop_part(&shop, SHOP_CHESTS, "name: boxes, capacity: %lld", (long long)kit->most);
    shop_part(&shop, SHOP_STATIONS, "name: kit, takes: {lid: 1, box: 1}, time: 0.00001 s");
    shop_part(&shop, SHOP_ARMS,
              "name: lid-arm, from: lids, to: kit, swing: 0, gate: {chest: boxes, at_least: 1}");
    shop_part(&shop, SHOP_ARMS,
              "name: box-arm, from: boxes, to: kit, swing: 0, gate: {station: kit, input: lid, "
              "at_least: 1}");
    shop_part(
        &shop, SHOP_SUPPLIES,
        "name: lid-source, chest: lids, item: lid, every: {exponential: %.9f}, when_full: lose",
        1 / kit->rate_a);
    shop_part(
        &shop, SHOP_SUPPLIES,
        "name: box-source, chest: boxes, item: box, every: {exponential: %.9f}, when_full: lose",
        1 / kit->rate_b);
    return shop_open(&shop);
}

static void kits(void) {
    ledger_group(
        "Kits of two kinds",
        "Poisson deliveries of two kinds, each shut off while N of it wait unmatched; a kit "
        "goes as soon as both are there. 20 runs of 5000 s.");
    static const struct kit row[] = {
        {1, 1, 1, 0.6666666667, 0.3333333333, 0.3333333333, 0.66666667},
        {1, 1, 3, 0.8571428571, 0.1428571429, 0.1428571429, 1.71428571},
        {1, 1, 10, 0.9523809524, 0.0476190476, 0.0476190476, 5.23809524},
        {1, .8, 5, 0.7812057139, 0.2187942861, 0.0234928576, 3.02203759},
        {1.2, 1, 4, 0.9519205383, 0.2067328847, 0.0480794617, 2.33748391},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        double value[KIT_FOUND][RUNS];
        struct scenario *scenario = open_kit(&row[i]);
        trial_repeat(scenario, run_kit, &row[i], KIT_FOUND, RUNS, &value[0][0]);
        scenario_free(scenario);
        const double expected[] = {row[i].shut_a, row[i].shut_b, row[i].unmatched, row[i].rate};
        static const char *const what[] = {"first kind shut off", "second kind shut off",
                                           "mean number unmatched", "kits a second"};
        static const double error_most[] = {0.005, 0.005, 0.08, 0.006};
        for (int k = 0; k < KIT_FOUND; k++)
            ledger_sample(&latouche, expected[k], value[k], RUNS, error_most[k],
                          "λ = %g and %g, N = %lld: %s", row[i].rate_a, row[i].rate_b,
                          (long long)row[i].most, what[k]);
    }
}

/* ---- two kinds on one loop, nothing gated ---- */

static const struct ledger_source feller = {
    "Feller vol. 1",
    "W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, ch. XIV: the "
    "fair gambler's ruin between -(N + 1) and N + 1 lasts (N + 1)² games",
    "recalled; confirmed by an independent simulation of the belt"};

enum { LOOPS = 500 }; /* in each of the 20 batches */

struct jam {
    bool began;
};

static void notice_jam(void *self, const struct event *event) {
    struct jam *jam = self;
    jam->began = jam->began || event->kind == EVENT_JAM;
}

/* Items fed until the loop jams: it is full of one kind then, and the bench holds one of it. The
 * first of them is counted separately, for which kind won. */
static void run_until_jam(struct world *world, const struct scenario *scenario, double *found) {
    struct jam jam = {false};
    struct listener listener = {.self = &jam, .began = notice_jam};
    world_listen(world, &listener);
    while (!jam.began)
        world_advance(world, world_tick(world) + 100);
    const struct place lane = {.kind = PLACE_LANE};
    found[0] += (double)world_arm_totals(world, 0).moved;
    found[1] += world_track_count(world, lane, 0) == scenario->loop[0].cell_count;
}

static void run_jams(struct world *world, const struct scenario *scenario, const void *of,
                     double *found) {
    (void)world;
    (void)of;
    struct scenario own = *scenario;
    for (uint64_t i = 0; i < LOOPS; i++) {
        own.seed = scenario->seed * 1000000 + i;
        struct world *each = world_new(&own);
        run_until_jam(each, &own, found);
        world_free(each);
    }
    found[0] /= LOOPS;
    found[1] /= LOOPS;
}

static void ungated_loop(void) {
    ledger_group(
        "Two kinds on one loop, nothing gated",
        "A ring of N cells. A feeder puts one of two kinds, each equally likely, into every "
        "free cell; a bench half-way round has room for one of each and uses up a pair. The "
        "loop jams (the program's own watcher says so) when all of it is of one kind. 20 "
        "batches of 500.");
    static const struct {
        uint32_t cells;
        double fed, error_most;
    } row[] = {{4, 25, 0.4}, {7, 64, 1}, {12, 169, 3}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 10};
        shop_item(&shop, "lid", 1);
        shop_item(&shop, "box", 1);
        shop_part(&shop, SHOP_LOOPS, "name: ring, cells: %u, rate: 10", row[i].cells);
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {lid: 1000000000, box: 1000000000}");
        shop_part(&shop, SHOP_STATIONS,
                  "name: bench, takes: {lid: 1, box: 1}, ahead: 1, time: 0.1 s");
        shop_part(&shop, SHOP_ARMS,
                  "name: feeder, from: bin, to: ring@0, swing: 0, choose: random");
        shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@%u, to: bench, swing: 0",
                  row[i].cells / 2);
        struct scenario *scenario = shop_open(&shop);
        double value[2][RUNS];
        trial_repeat(scenario, run_jams, NULL, 2, RUNS, &value[0][0]);
        scenario_free(scenario);
        ledger_sample(&feller, row[i].fed, value[0], RUNS, row[i].error_most,
                      "N = %u: mean number fed until the jam", row[i].cells);
        ledger_sample(&feller, 0.5, value[1], RUNS, 0.01, "N = %u: share of jams by the first kind",
                      row[i].cells);
    }
}

/* ---- a station that feeds itself ---- */

static const struct ledger_source palmer = {
    "Palmer et al. 2018",
    "G. I. Palmer, P. R. Harper, V. A. Knight, Modelling deadlock in open restricted queueing "
    "networks, European Journal of Operational Research 266 (2018) 609-621",
    "abstract read; worked out by an absorbing Markov chain, the first two also by a simulation"};

struct self_feeding {
    double arrivals, rate;
    int64_t places;
    double again, mean, error_most;
};

enum { SELF_RUNS = 100 }; /* in each of the 20 batches */

struct stand {
    int64_t since;
};

static void notice_stand(void *self, const struct event *event) {
    struct stand *stand = self;
    if (event->kind == EVENT_BLOCKED && stand->since < 0)
        stand->since = event->since_tick;
}

static void run_self_feeding(struct world *world, const struct scenario *scenario, const void *of,
                             double *found) {
    (void)world;
    (void)of;
    struct scenario own = *scenario;
    for (uint64_t i = 0; i < SELF_RUNS; i++) {
        own.seed = scenario->seed * 1000000 + i;
        struct world *each = world_new(&own);
        struct stand stand = {-1};
        struct listener listener = {.self = &stand, .began = notice_stand};
        world_listen(each, &listener);
        while (stand.since < 0)
            world_advance(each, world_tick(each) + 10 * TICKS);
        found[0] += (double)stand.since / TICKS;
        world_free(each);
    }
    found[0] /= SELF_RUNS;
}

static void self_feeding(void) {
    ledger_group(
        "A station that feeds itself",
        "Poisson jobs of rate Λ, lost when the n waiting places are taken; work of rate μ; a "
        "finished job wants to go back with chance r, and when it finds no place all stands for "
        "good: the station is blocked. Mean time until then; 20 batches of 100 runs.");
    static const struct self_feeding row[] = {{10, 5, 3, .25, 1.8164062500, 0.06},
                                              {4, 5, 2, .25, 4.3507812500, 0.12},
                                              {6, 5, 3, .5, 1.6220293210, 0.06},
                                              {2, 3, 5, .1, 87.5802848958, 3}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = TICKS};
        shop_item(&shop, "job", 1);
        /* One of the n places is the station's own, for the next batch. */
        shop_part(&shop, SHOP_CHESTS, "name: queue, capacity: %lld", (long long)row[i].places - 1);
        shop_part(
            &shop, SHOP_STATIONS,
            "name: node, takes: {job: 1}, makes: {job: {count: 1, chance: %g}}, ahead: 1, room: "
            "1, time: {exponential: %.9f}",
            row[i].again, 1 / row[i].rate);
        shop_part(&shop, SHOP_ARMS, "name: back, from: node, to: queue, swing: 0");
        shop_part(&shop, SHOP_ARMS, "name: feed, from: queue, to: node, swing: 0");
        shop_part(
            &shop, SHOP_SUPPLIES,
            "name: source, chest: queue, item: job, every: {exponential: %.9f}, when_full: lose",
            1 / row[i].arrivals);
        struct scenario *scenario = shop_open(&shop);
        double value[RUNS];
        trial_repeat(scenario, run_self_feeding, NULL, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&palmer, row[i].mean, value, RUNS, row[i].error_most,
                      "Λ = %g, μ = %g, n = %lld, r = %g: seconds until it stands", row[i].arrivals,
                      row[i].rate, (long long)row[i].places, row[i].again);
    }
}

/* ---- stock filled up by a rule ---- */

static const struct ledger_source buzacott = {"Buzacott & Shanthikumar 1993",
                                              "J. A. Buzacott, J. G. Shanthikumar, Stochastic "
                                              "Models of Manufacturing Systems, Englewood Cliffs "
                                              "1993 (make to stock, M/M/1: out of stock ρ^S)",
                                              "recalled; by hand"};
static const struct ledger_source hadley = {"Hadley & Whitin 1963",
                                            "G. Hadley, T. M. Whitin, Analysis of Inventory "
                                            "Systems, Englewood Cliffs 1963, ch. 4 (lost sales, "
                                            "one order under way, exponential lead time)",
                                            "recalled; worked out by a Markov chain"};
static const struct ledger_source sawtooth = {"sawtooth", "arithmetic of a stock that falls evenly",
                                              "by hand"};

enum { OUT, ON_HAND, OWED, STOCK_FOUND };

static void look_at_stock(const struct world *world, const void *of, double *seen) {
    (void)of;
    int64_t on_hand = world_chest_count(world, 0, 0);
    seen[OUT] += on_hand == 0;
    seen[ON_HAND] += (double)on_hand;
    seen[OWED] += (double)world_demand_owed(world, 0);
}

static void run_stock(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)scenario;
    const struct trial_window window = {500 * TICKS, 20500 * (int64_t)TICKS, BEAT};
    trial_average(world, window, look_at_stock, of, STOCK_FOUND, found);
}

static void run_lost_sales(struct world *world, const struct scenario *scenario, const void *of,
                           double *found) {
    (void)scenario;
    (void)of;
    world_advance(world, 500 * TICKS);
    struct item_totals before = world_item_totals(world, 0);
    world_advance(world, 10500 * (int64_t)TICKS);
    struct item_totals after = world_item_totals(world, 0);
    found[0] = (double)(after.lost - before.lost) / (double)(after.demanded - before.demanded);
}

static void make_to_stock(double load, int64_t most, double out, double on_hand, double owed) {
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "clock", 1);
    shop_part(&shop, SHOP_CHESTS, "name: shelf, start: {clock: %lld}", (long long)most);
    shop_part(
        &shop, SHOP_STATIONS,
        "name: bench, makes: {clock: 1}, time: {exponential: 1}, gate: {chest: shelf, below: %lld}",
        (long long)most);
    shop_part(&shop, SHOP_ARMS, "name: shelver, from: bench, to: shelf, swing: 0");
    shop_part(&shop, SHOP_DEMANDS,
              "name: orders, chest: shelf, item: clock, every: {exponential: %.9f}", 1 / load);
    struct scenario *scenario = shop_open(&shop);
    double value[STOCK_FOUND][RUNS];
    trial_repeat(scenario, run_stock, NULL, STOCK_FOUND, RUNS, &value[0][0]);
    scenario_free(scenario);
    ledger_sample(&buzacott, out, value[OUT], RUNS, 0.01,
                  "ρ = %g, S = %lld: share of time out of stock", load, (long long)most);
    ledger_sample(&buzacott, on_hand, value[ON_HAND], RUNS, 0.06, "ρ = %g, S = %lld: mean stock",
                  load, (long long)most);
    ledger_sample(&buzacott, owed, value[OWED], RUNS, 0.12, "ρ = %g, S = %lld: mean number owed",
                  load, (long long)most);
}

/* An order of Q goes out when r or fewer are left; what is asked for and not there is lost. */
static void lost_sales(int64_t quantity, int64_t reorder, double demand, double lead, double lost) {
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "clock", 1);
    shop_part(&shop, SHOP_CHESTS, "name: shelf, start: {clock: %lld}", (long long)quantity);
    shop_part(&shop, SHOP_STATIONS,
              "name: maker, makes: {clock: %lld}, room: 1, time: {exponential: %.9f}, gate: "
              "{chest: shelf, below: %lld}",
              (long long)quantity, 1 / lead, (long long)reorder + 1);
    shop_part(&shop, SHOP_ARMS, "name: shelver, from: maker, to: shelf, hand: %lld, swing: 0",
              (long long)quantity);
    shop_part(
        &shop, SHOP_DEMANDS,
        "name: orders, chest: shelf, item: clock, every: {exponential: %.9f}, when_short: lose",
        1 / demand);
    struct scenario *scenario = shop_open(&shop);
    double value[RUNS];
    trial_repeat(scenario, run_lost_sales, NULL, 1, RUNS, value);
    scenario_free(scenario);
    ledger_sample(&hadley, lost, value, RUNS, 0.004,
                  "Q = %lld, r = %lld, λ = %g, μ = %g: share lost", (long long)quantity,
                  (long long)reorder, demand, lead);
}

/* One is used each 1/d min; at s an arm fetches S - s, which are there L later (and a tick, so that
 * the last one before them is seen to go). */
static void even_use(int64_t least, int64_t most, const char *each, const char *swing, double low,
                     double high, double orders_a_minute) {
    struct shop shop = {.ticks_per_second = 100};
    shop_item(&shop, "pin", 1);
    shop_part(&shop, SHOP_CHESTS, "name: shelf, start: {pin: %lld}", (long long)most);
    shop_part(&shop, SHOP_CHESTS, "name: store, start: {pin: 1000000}");
    shop_part(&shop, SHOP_ARMS,
              "name: fetcher, from: store, to: shelf, hand: %lld, swing: %s, gate: {chest: shelf, "
              "below: %lld}",
              (long long)(most - least), swing, (long long)least + 1);
    shop_part(&shop, SHOP_DEMANDS, "name: use, chest: shelf, item: pin, every: %s", each);
    struct scenario *scenario = shop_open(&shop);
    struct world *world = world_new(scenario);
    const int64_t minute = 6000;
    int64_t seen_low = INT64_MAX, seen_high = 0;
    world_advance(world, 100 * minute);
    int64_t before = world_arm_totals(world, 0).swings;
    for (int64_t tick = 100 * minute; tick <= 900 * minute; tick++) {
        world_advance(world, tick);
        int64_t count = world_chest_count(world, 0, 0);
        seen_low = count < seen_low ? count : seen_low;
        seen_high = count > seen_high ? count : seen_high;
    }
    double orders = (double)(world_arm_totals(world, 0).swings - before) / 800;
    ledger_exact(&sawtooth, low, (double)seen_low, "s = %lld, S = %lld: least stock",
                 (long long)least, (long long)most);
    ledger_exact(&sawtooth, high, (double)seen_high, "s = %lld, S = %lld: greatest stock",
                 (long long)least, (long long)most);
    ledger_exact(&sawtooth, orders_a_minute, orders, "s = %lld, S = %lld: orders a minute",
                 (long long)least, (long long)most);
    world_free(world);
    scenario_free(scenario);
}

static void stocks(void) {
    ledger_group(
        "A stock filled up by a rule",
        "A gate on the stock opens the way of what fills it up: a station's work (exponential, "
        "mean 1 s), a maker's order of Q (exponential, rate μ), or an arm that is under way for "
        "a fixed time. 20 runs of 20 000 s (share lost: 10 000 s).");
    make_to_stock(.8, 5, .32768, 2.31072, 1.31072);
    make_to_stock(.8, 10, .1073741824, 6.4294967296, .4294967296);
    make_to_stock(.5, 3, .125, 2.125, .125);
    lost_sales(3, 0, 1, 1, .25);
    lost_sales(5, 2, 1, .5, .1509433962);
    lost_sales(10, 3, 2, 1, .0559440559);
    even_use(10, 50, "30 s", "360.02 s", 4, 44, 0.05);
    even_use(20, 100, "12 s", "480.02 s", 0, 80, 0.0625);
}

/* ---- how long until all is gone, or all has been seen ---- */

static const struct ledger_source harmonic = {"Feller vol. 1, ch. IX",
                                              "W. Feller, An Introduction to Probability Theory "
                                              "and Its Applications, vol. 1, ch. IX: all of n "
                                              "kinds have been seen after n (1 + 1/2 + ... + "
                                              "1/n) draws in the mean; the last of n exponential "
                                              "times comes after 1 + 1/2 + ... + 1/n of them",
                                              "recalled; by hand"};
static const struct ledger_source takacs = {
    "Takács 1962",
    "L. Takács, Introduction to the Theory of Queues, New York 1962: from n on an M/M/1 queue is "
    "empty after n/(μ - λ) in the mean",
    "recalled; by hand"};

enum { DRAWS = 100 }; /* in each of the 20 batches */

typedef double draw_time(struct world *world, const struct scenario *scenario);

static void run_draws(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)world;
    draw_time *const *draw = of;
    struct scenario own = *scenario;
    for (uint64_t i = 0; i < DRAWS; i++) {
        own.seed = scenario->seed * 1000000 + i;
        struct world *each = world_new(&own);
        found[0] += (*draw)(each, &own) / DRAWS;
        world_free(each);
    }
}

static void check_draws(const struct ledger_source *source, struct shop *shop, draw_time *draw,
                        double mean, double error_most, const char *name, int n) {
    struct scenario *scenario = shop_open(shop);
    double value[RUNS];
    trial_repeat(scenario, run_draws, &draw, 1, RUNS, value);
    scenario_free(scenario);
    ledger_sample(source, mean, value, RUNS, error_most, name, n);
}

static bool all_seen(const struct world *world, const struct scenario *scenario) {
    for (uint32_t item = 0; item < scenario->item_count; item++)
        if (world_chest_count(world, 1, item) == 0)
            return false;
    return true;
}

static double draws_until_all_seen(struct world *world, const struct scenario *scenario) {
    while (!all_seen(world, scenario))
        world_advance(world, world_tick(world) + 1);
    return (double)world_arm_totals(world, 0).moved;
}

static double seconds_until_all_made(struct world *world, const struct scenario *scenario) {
    int64_t made = scenario->chest[0].start.entry[0].count;
    while (world_item_totals(world, 0).consumed < made || world_item_totals(world, 1).made < made)
        world_advance(world, world_tick(world) + TICKS / 1000);
    return (double)world_tick(world) / TICKS;
}

static double seconds_until_idle(struct world *world, const struct scenario *scenario) {
    (void)scenario;
    do
        world_advance(world, world_tick(world) + TICKS / 100);
    while (world_chest_count(world, 0, 0) > 0 || world_arm_state(world, 0) != ARM_REACHING);
    return (double)world_tick(world) / TICKS;
}

static void draining(void) {
    ledger_group(
        "How long until all is gone, or seen",
        "20 batches of 100 runs each; looked at each 1 ms (servers) or 10 ms (a queue), which "
        "adds half of that.");
    static const struct {
        int kinds;
        double draws, error_most;
    } coupon[] = {{2, 3, 0.08}, {5, 11.4166667, 0.2}, {10, 29.2896825, 0.4}, {20, 71.9547931, 0.8}};
    for (size_t i = 0; i < LENGTH(coupon); i++) {
        struct shop shop = {.ticks_per_second = 1};
        char start[1000];
        size_t length = 0;
        for (int k = 0; k < coupon[i].kinds; k++) {
            char name[24];
            snprintf(name, sizeof name, "kind-%d", k);
            shop_item(&shop, name, 1);
            length += (size_t)snprintf(start + length, sizeof start - length, "%s%s: 1000000",
                                       k == 0 ? "" : ", ", name);
        }
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {%s}", start);
        shop_part(&shop, SHOP_CHESTS, "name: seen");
        shop_part(&shop, SHOP_ARMS, "name: arm, from: bin, to: seen, swing: 0, choose: random");
        check_draws(&harmonic, &shop, draws_until_all_seen, coupon[i].draws, coupon[i].error_most,
                    "%d kinds taken at random: draws until all were seen", coupon[i].kinds);
    }
    static const struct {
        int jobs;
        double seconds;
    } drain[] = {{5, 2.2833333}, {10, 2.9289683}, {20, 3.5977397}};
    for (size_t i = 0; i < LENGTH(drain); i++) {
        struct shop shop = {.ticks_per_second = TICKS};
        shop_item(&shop, "job", 1);
        shop_item(&shop, "done", 1);
        shop_part(&shop, SHOP_CHESTS, "name: queue, start: {job: %d}", drain[i].jobs);
        for (int k = 0; k < drain[i].jobs; k++) {
            shop_part(&shop, SHOP_STATIONS,
                      "name: server-%d, takes: {job: 1}, makes: {done: 1}, ahead: 1, time: "
                      "{exponential: 1}",
                      k);
            shop_part(&shop, SHOP_ARMS, "name: feed-%d, from: queue, to: server-%d, swing: 0", k,
                      k);
        }
        check_draws(&harmonic, &shop, seconds_until_all_made, drain[i].seconds, 0.04,
                    "%d jobs, a server each: seconds to the last", drain[i].jobs);
    }
    static const struct {
        int jobs;
        double interval, seconds, error_most;
    } queue[] = {{10, 2, 20, 0.5}, {1, 2, 2, 0.15}, {4, 1.25, 20, 1}};
    for (size_t i = 0; i < LENGTH(queue); i++) {
        struct shop shop = {.ticks_per_second = TICKS};
        shop_item(&shop, "job", 1);
        shop_part(&shop, SHOP_CHESTS, "name: queue, start: {job: %d}", queue[i].jobs);
        shop_part(&shop, SHOP_CHESTS, "name: done");
        shop_part(&shop, SHOP_ARMS, "name: server, from: queue, to: done, swing: {exponential: 1}");
        shop_part(&shop, SHOP_SUPPLIES,
                  "name: source, chest: queue, item: job, every: {exponential: %g}",
                  queue[i].interval);
        char name[96];
        snprintf(name, sizeof name, "M/M/1, ρ = %g, from %%d on: seconds until it is empty",
                 1 / queue[i].interval);
        check_draws(&takacs, &shop, seconds_until_idle, queue[i].seconds, queue[i].error_most, name,
                    queue[i].jobs);
    }
}

int main(void) {
    kits();
    ungated_loop();
    self_feeding();
    stocks();
    draining();
    return ledger_end();
}
