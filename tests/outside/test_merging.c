/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_merging.c - who gets the free cells of a belt: chance at feeders and takers.
 *
 * An arm with a swing of 0 that is up for spans `geometric: 1 - p` and down for spans `geometric:
 * p` is up in each tick with chance p, independent of the others. */
#include <math.h>
#include <stdio.h>

#include "tests/outside/ledger.h"
#include "tests/outside/shop.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

enum { RUNS = 20 };
static const struct place lane = {.kind = PLACE_LANE};

/* The keys of an arm that acts in a tick with chance p. */
struct keys {
    char text[96];
};

static struct keys by_chance(double p) {
    struct keys keys = {""};
    if (p < 1)
        snprintf(keys.text, sizeof keys.text,
                 ", swing: 0, breaks: {after: {geometric: %.9f}, repair: {geometric: %.9f}}", 1 - p,
                 p);
    else
        snprintf(keys.text, sizeof keys.text, ", swing: 0");
    return keys;
}

static void open_belt(struct shop *shop, uint32_t cells, const char *rate) {
    shop_part(shop, SHOP_LOOPS, "name: ring, cells: %u, rate: %s", cells, rate);
    shop_part(shop, SHOP_CHESTS, "name: end");
}

/* ---- one feeder, one taker ---- */

static const struct ledger_source two_state = {
    "two-state chain",
    "each cell of the belt is a Markov chain of two states, one step a lap: x = p/(p + q - pq)",
    "by hand; confirmed by an independent simulation"};

struct two_arms {
    double feed, take;
    uint32_t cells;
    double share, taken, seen_empty;
};

enum { SHARE, SEEN_EMPTY, TAKEN, TWO_ARMS_FOUND };
enum { TWO_ARMS_TICKS = 20000 };

static void look_at_two_arms(const struct world *world, const void *of, double *seen) {
    const struct two_arms *two = of;
    seen[SHARE] += world_track_item(world, lane, 1) != NO_INDEX;
    seen[SEEN_EMPTY] += world_track_item(world, lane, two->cells - 1) == NO_INDEX;
}

static void run_two_arms(struct world *world, const struct scenario *scenario, const void *of,
                         double *found) {
    const struct two_arms *two = of;
    int64_t from = 20 * two->cells;
    uint32_t taker = shop_arm(scenario, "taker");
    world_advance(world, from);
    int64_t before = world_arm_totals(world, taker).moved;
    struct trial_window window = {from, from + TWO_ARMS_TICKS, 1};
    trial_average(world, window, look_at_two_arms, two, TAKEN, found);
    found[TAKEN] = (double)(world_arm_totals(world, taker).moved - before) / TWO_ARMS_TICKS;
}

static void feeder_and_taker(void) {
    ledger_group(
        "A feeder and a taker on a ring",
        "A feeder fills a free cell with chance p, a taker half-way round empties a held one "
        "with chance q; a step a tick. 20 runs of 20 000 ticks after 20 laps.");
    static const struct two_arms row[] = {
        {1, 0.5, 40, 1, 0.5, 0.5},
        {0.5, 0.5, 40, 0.6666666667, 0.3333333333, 0.6666666667},
        {0.3, 0.7, 40, 0.3797468354, 0.2658227848, 0.8860759494},
        {0.3, 0.7, 7, 0.3797468354, 0.2658227848, 0.8860759494},
        {0.2, 0.1, 40, 0.7142857143, 0.0714285714, 0.3571428571},
        {0.9, 0.25, 40, 0.9729729730, 0.2432432432, 0.2702702703},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 1};
        shop_item(&shop, "part", 1);
        open_belt(&shop, row[i].cells, "1");
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {part: 1000000000}");
        shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0%s",
                  by_chance(row[i].feed).text);
        shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@%u, to: end%s", row[i].cells / 2,
                  by_chance(row[i].take).text);
        struct scenario *scenario = shop_open(&shop);
        double value[TWO_ARMS_FOUND][RUNS];
        trial_repeat(scenario, run_two_arms, &row[i], TWO_ARMS_FOUND, RUNS, &value[0][0]);
        scenario_free(scenario);
        const double expected[] = {row[i].share, row[i].seen_empty, row[i].taken};
        static const char *const what[] = {"held from feeder to taker", "free before the feeder",
                                           "taken a tick"};
        for (int k = 0; k < TWO_ARMS_FOUND; k++)
            ledger_sample(&two_state, expected[k], value[k], RUNS, 0.004,
                          "p = %g, q = %g, N = %u: %s", row[i].feed, row[i].take, row[i].cells,
                          what[k]);
    }
}

/* ---- several feeders, carriers that come empty ---- */

static const struct ledger_source mayer = {
    "Mayer 1960",
    "H. E. Mayer, An introduction to conveyor theory, Western Electric Engineer 4 (1960) 42-47; "
    "summary in E. J. Muth, J. A. White, Conveyor theory: a survey, AIIE Transactions 11 (1979) "
    "270-277",
    "recalled; by hand"};

enum { MAYER_TICKS = 20000, MAYER_ARMS_MAX = 5 };

static void run_mayer(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)of;
    int64_t before[MAYER_ARMS_MAX + 1];
    world_advance(world, 100);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        before[i] = world_arm_totals(world, i).moved;
    world_advance(world, 100 + MAYER_TICKS);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        found[i] = (double)(world_arm_totals(world, i).moved - before[i]) / MAYER_TICKS;
}

static void several_feeders(void) {
    ledger_group(
        "Several feeders, carriers that come empty",
        "m arms in a row, each of which would load a passing carrier with chance p; what was "
        "loaded is taken off further on. 20 runs of 20 000 carriers.");
    static const struct {
        uint32_t arms;
        double chance, success[MAYER_ARMS_MAX + 1]; /* at the end: of a carrier to leave loaded */
    } row[] = {{3, 0.2, {0.2, 0.16, 0.128, 0.488}},
               {5, 0.1, {0.1, 0.09, 0.081, 0.0729, 0.06561, 0.40951}}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 1};
        shop_item(&shop, "part", 1);
        open_belt(&shop, row[i].arms + 3, "1");
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {part: 1000000000}");
        for (uint32_t a = 0; a < row[i].arms; a++)
            shop_part(&shop, SHOP_ARMS, "name: feeder-%u, from: bin, to: ring@%u%s", a, a,
                      by_chance(row[i].chance).text);
        shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@%u, to: end, swing: 0",
                  row[i].arms + 1);
        struct scenario *scenario = shop_open(&shop);
        double value[MAYER_ARMS_MAX + 1][RUNS];
        trial_repeat(scenario, run_mayer, NULL, row[i].arms + 1, RUNS, &value[0][0]);
        scenario_free(scenario);
        for (uint32_t a = 0; a < row[i].arms; a++)
            ledger_sample(&mayer, row[i].success[a], value[a], RUNS, 0.001,
                          "m = %u, p = %g: loaded by arm %u", row[i].arms, row[i].chance, a + 1);
        ledger_sample(&mayer, row[i].success[row[i].arms], value[row[i].arms], RUNS, 0.001,
                      "m = %u, p = %g: leave loaded", row[i].arms, row[i].chance);
    }
}

/* ---- takers in a row that have no queue ---- */

static const struct ledger_source disney = {
    "Disney 1963",
    "R. L. Disney, Some multichannel queueing problems with ordered entry - an application to "
    "conveyor theory, Journal of Industrial Engineering 14 (1963) 105-108: the j-th is busy for "
    "A (B(j-1) - B(j)), B Erlang's loss",
    "recalled; worked out by octave-queueing 1.2.7 (erlangb), confirmed by an independent "
    "simulation"};
static const struct ledger_source pritsker = {
    "Pritsker 1964",
    "A. A. B. Pritsker, An Analysis of Conveyor Systems, RAND Corporation 1964, AD0608996: "
    "delays between the channels change nothing; regular arrivals do better than random ones. "
    "Values for regular ones by the loss formula of L. Takács",
    "statements read in the abstract; formula recalled, confirmed by an independent simulation"};

enum { TAKERS = 4, ORDERED_SECONDS = 5000 };

static void run_ordered(struct world *world, const struct scenario *scenario, const void *of,
                        double *found) {
    (void)of;
    int64_t ticks = scenario->ticks_per_second, from = 50 * ticks;
    struct arm_totals before[TAKERS + 1];
    world_advance(world, from);
    for (uint32_t i = 0; i <= TAKERS; i++)
        before[i] = world_arm_totals(world, i);
    int64_t fed = world_item_totals(world, 0).supplied;
    world_advance(world, from + ORDERED_SECONDS * ticks);
    for (uint32_t i = 0; i < TAKERS; i++)
        found[i] = 1 - (double)(world_arm_totals(world, i).ticks[ARM_REACHING] -
                                before[i].ticks[ARM_REACHING]) /
                           (double)(ORDERED_SECONDS * ticks);
    found[TAKERS] = (double)(world_arm_totals(world, TAKERS).moved - before[TAKERS].moved) /
                    (double)(world_item_totals(world, 0).supplied - fed);
}

static const struct {
    const struct ledger_source *source;
    const char *name, *every;
    uint32_t cells, at[TAKERS];
    double busy[TAKERS], lost;
} ordered[] = {
    {&disney,
     "A = 1, near",
     "{exponential: 1}",
     60,
     {10, 20, 30, 40},
     {0.5, 0.3, 0.1375, 0.0471153846},
     0.0153846154},
    {&disney,
     "A = 2, near",
     "{exponential: 0.5}",
     60,
     {10, 20, 30, 40},
     {0.6666666667, 0.5333333333, 0.3789473684, 0.2305764411},
     0.0952380952},
    {&pritsker,
     "A = 2, far",
     "{exponential: 0.5}",
     6000,
     {10, 900, 1200, 5900},
     {0.6666666667, 0.5333333333, 0.3789473684, 0.2305764411},
     0.0952380952},
    {&disney,
     "A = 3, near",
     "{exponential: 0.333333333}",
     60,
     {10, 20, 30, 40},
     {0.75, 0.6617647059, 0.5497737557, 0.4201409278},
     0.2061068702},
    {&pritsker,
     "regular, A = 2, near",
     "0.5 s",
     60,
     {10, 20, 30, 40},
     {0.78693868, 0.62691693, 0.38951099, 0.15710992},
     0.01976174},
    {&pritsker,
     "regular, A = 2, far",
     "0.5 s",
     6000,
     {10, 900, 1200, 5900},
     {0.78693868, 0.62691693, 0.38951099, 0.15710992},
     0.01976174},
};

static void ordered_entry(void) {
    ledger_group(
        "Takers in a row without a queue",
        "Items come on a belt of 1000 cells a second, in a Poisson stream of rate A or at equal "
        "intervals; four arms one after another take what comes while they are free, each for "
        "an exponential swing of mean 1 s; the rest is cleared at the end. The same near "
        "together (N = 60) and far apart (N = 6000). 20 runs of 5000 s.");
    for (size_t i = 0; i < LENGTH(ordered); i++) {
        struct shop shop = {.ticks_per_second = 1000};
        shop_item(&shop, "part", 1);
        open_belt(&shop, ordered[i].cells, "1000");
        shop_part(&shop, SHOP_CHESTS, "name: bin");
        for (uint32_t a = 0; a < TAKERS; a++)
            shop_part(&shop, SHOP_ARMS,
                      "name: taker-%u, from: ring@%u, to: end, swing: {exponential: 1}", a,
                      ordered[i].at[a]);
        shop_part(&shop, SHOP_ARMS, "name: clearer, from: ring@%u, to: end, swing: 0",
                  ordered[i].cells - 1);
        shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0, swing: 0");
        shop_part(&shop, SHOP_SUPPLIES, "name: source, chest: bin, item: part, every: %s",
                  ordered[i].every);
        struct scenario *scenario = shop_open(&shop);
        double value[TAKERS + 1][RUNS];
        trial_repeat(scenario, run_ordered, NULL, TAKERS + 1, RUNS, &value[0][0]);
        scenario_free(scenario);
        for (int a = 0; a < TAKERS; a++)
            ledger_sample(ordered[i].source, ordered[i].busy[a], value[a], RUNS, 0.004,
                          "%s: taker %d is busy", ordered[i].name, a + 1);
        ledger_sample(ordered[i].source, ordered[i].lost, value[TAKERS], RUNS, 0.003, "%s: lost",
                      ordered[i].name);
    }
}

/* ---- windows that come to loaders ---- */

static const struct ledger_source bozer = {"Bozer & Hsieh 2005",
                                           "Y. A. Bozer, Y.-J. Hsieh, Throughput performance "
                                           "analysis and machine layout for discrete-space "
                                           "closed-loop conveyors, IIE Transactions 37 (2005) "
                                           "77-89 (flow balance: stable where every segment "
                                           "carries less than the windows that pass)",
                                           "abstract read; own data, balance by hand"};

enum { LOADERS = 4, SPACING = 10, WINDOW_SECONDS = 1000 };
static const double flow[LOADERS][LOADERS] = {
    {0, 2, 1, 1}, {1, 0, 2, 0}, {0, 1, 0, 3}, {2, 1, 1, 0}};

static struct scenario *open_windows(int64_t ticks_per_second, const char *rate) {
    struct shop shop = {.ticks_per_second = ticks_per_second};
    for (int i = 0; i < LOADERS; i++) {
        char name[16];
        snprintf(name, sizeof name, "to-%d", i);
        shop_item(&shop, name, 1);
    }
    open_belt(&shop, LOADERS * SPACING, rate);
    for (int i = 0; i < LOADERS; i++) {
        shop_part(&shop, SHOP_CHESTS, "name: dock-%d", i);
        shop_part(&shop, SHOP_ARMS,
                  "name: taker-%d, from: ring@%d, to: end, items: [to-%d], swing: 0", i,
                  SPACING * i, i);
        shop_part(&shop, SHOP_ARMS, "name: loader-%d, from: dock-%d, to: ring@%d, swing: 0", i, i,
                  SPACING * i + 1);
        for (int j = 0; j < LOADERS; j++)
            if (flow[i][j] > 0)
                shop_part(
                    &shop, SHOP_SUPPLIES,
                    "name: load-%d-%d, chest: dock-%d, item: to-%d, every: {exponential: %.9f}", i,
                    j, i, j, 1 / flow[i][j]);
    }
    return shop_open(&shop);
}

static void look_at_windows(const struct world *world, const void *of, double *seen) {
    (void)of;
    for (uint32_t i = 0; i < LOADERS; i++)
        seen[i] += world_track_item(world, lane, SPACING * i) != NO_INDEX;
}

static void run_windows(struct world *world, const struct scenario *scenario, const void *of,
                        double *found) {
    (void)of;
    int64_t ticks = scenario->ticks_per_second, step = ticks / 12;
    struct trial_window window = {20 * ticks, (20 + WINDOW_SECONDS) * ticks, step};
    trial_average(world, window, look_at_windows, NULL, LOADERS, found);
}

static int64_t waiting_at_first(const struct world *world) {
    int64_t count = 0;
    for (uint32_t item = 0; item < LOADERS; item++)
        count += world_chest_count(world, 1, item);
    return count;
}

static void run_growth(struct world *world, const struct scenario *scenario, const void *of,
                       double *found) {
    (void)of;
    int64_t ticks = scenario->ticks_per_second;
    world_advance(world, 500 * ticks);
    int64_t before = waiting_at_first(world);
    world_advance(world, (500 + 2 * WINDOW_SECONDS) * ticks);
    found[0] = (double)(waiting_at_first(world) - before) / (2 * WINDOW_SECONDS);
}

static void windows(void) {
    ledger_group(
        "Windows of a closed loop",
        "Four stations; from i to j go f(i, j) items a second, f = "
        "[[0,2,1,1],[1,0,2,0],[0,1,0,3],[2,1,1,0]], Poisson, each taken off at its goal; w "
        "windows a second. The segments behind the stations carry 7, 6, 6, 6. Windows seen just "
        "before the loader; 20 runs of 1000 s (growth: of 2000 s).");
    static const double occupied[LOADERS] = {0.25, 0.25, 0.1666666667, 0.1666666667};
    double value[LOADERS][RUNS];
    struct scenario *scenario = open_windows(1200, "12");
    trial_repeat(scenario, run_windows, NULL, LOADERS, RUNS, &value[0][0]);
    scenario_free(scenario);
    for (int i = 0; i < LOADERS; i++)
        ledger_sample(&bozer, occupied[i], value[i], RUNS, 0.003,
                      "w = 12: occupied before loader %d", i + 1);
    static const struct {
        int64_t ticks_per_second;
        const char *rate;
        double growth;
    } row[] = {{1500, "7.5", 0}, {1300, "6.5", 0.5}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        scenario = open_windows(row[i].ticks_per_second, row[i].rate);
        trial_repeat(scenario, run_growth, NULL, 1, RUNS, value[0]);
        scenario_free(scenario);
        ledger_sample(&bozer, row[i].growth, value[0], RUNS, 0.03,
                      "w = %s: growth of the first queue, items a second", row[i].rate);
    }
}

/* ---- a side feeder beside a stream ---- */

static const struct ledger_source hunter = {
    "Hunter 1983",
    "J. J. Hunter, Mathematical Techniques of Applied Probability, vol. 2: Discrete Time Models, "
    "New York 1983 (Geo/Geo/1: a(1 - a)/(1 - u - a) where an arrival can use a later slot only, "
    "a less where it can use its own)",
    "formula recalled; confirmed by an independent simulation"};

struct side {
    double arrivals, stream;
    bool late;
    double waiting;
};

static void look_at_side(const struct world *world, const void *of, double *seen) {
    const uint32_t *arm = of;
    seen[0] += (double)(world_chest_count(world, 1, 1) + world_hand_count(world, *arm, 1));
}

static void run_side(struct world *world, const struct scenario *scenario, const void *of,
                     double *found) {
    (void)of;
    uint32_t arm = shop_arm(scenario, "side");
    struct trial_window window = {1000, 101000, 1};
    trial_average(world, window, look_at_side, &arm, 1, found);
}

static void side_feeder(void) {
    ledger_group(
        "A side feeder beside a stream",
        "Each cell comes held with chance u; the side feeder, to whom one comes in a tick with "
        "chance a, uses the free ones. Deliveries come before arms act, so a delivery can use "
        "the cell of its tick (early); one that an arm declared later passes on cannot (late). "
        "Number at the feeder, its hand included, at the end of a tick; 20 runs of 100 000.");
    static const struct side row[] = {
        {0.3, 0.5, false, 0.75}, {0.2, 0.6, false, 0.6},  {0.4, 0.4, false, 0.8},
        {0.25, 0.7, false, 3.5}, {0.3, 0.5, true, 1.05},  {0.2, 0.6, true, 0.8},
        {0.4, 0.4, true, 1.2},   {0.25, 0.7, true, 3.75},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 1};
        shop_item(&shop, "main", 1);
        shop_item(&shop, "part", 1);
        open_belt(&shop, 6, "1");
        shop_part(&shop, SHOP_CHESTS, "name: feed");
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {main: 1000000000}");
        shop_part(&shop, SHOP_ARMS, "name: stream, from: bin, to: ring@0%s",
                  by_chance(row[i].stream).text);
        shop_part(&shop, SHOP_ARMS, "name: side, from: feed, to: ring@2, swing: 0");
        shop_part(&shop, SHOP_ARMS, "name: clearer, from: ring@4, to: end, swing: 0");
        if (row[i].late) {
            shop_part(&shop, SHOP_CHESTS, "name: dock");
            shop_part(&shop, SHOP_ARMS, "name: pass, from: dock, to: feed, swing: 0");
        }
        shop_part(&shop, SHOP_SUPPLIES,
                  "name: source, chest: %s, item: part, every: {geometric: %g}",
                  row[i].late ? "dock" : "feed", row[i].arrivals);
        struct scenario *scenario = shop_open(&shop);
        double value[RUNS];
        trial_repeat(scenario, run_side, NULL, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&hunter, row[i].waiting, value, RUNS, 0.06, "a = %g, u = %g, %s: mean number",
                      row[i].arrivals, row[i].stream, row[i].late ? "late" : "early");
    }
}

/* ---- waiting for a slot ---- */

static const struct ledger_source slotted = {"slotted M/D/1",
                                             "Poisson arrivals that start at slot limits only "
                                             "wait 1/(2(1 - ρ)) slots in the mean: half a slot, "
                                             "and then as in M/D/1",
                                             "by hand; confirmed by an independent simulation"};

static void look_at_slots(const struct world *world, const void *of, double *seen) {
    (void)of;
    seen[0] += (double)(world_chest_count(world, 1, 0) + world_hand_count(world, 0, 0));
}

static void run_slots(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)scenario;
    const double *load = of;
    struct trial_window window = {500000, 10500000, 371}; /* of 1000 ticks a slot, all in turn */
    trial_average(world, window, look_at_slots, NULL, 1, found);
    found[0] /= *load;
}

static void slots(void) {
    ledger_group(
        "Waiting for the next cell",
        "Poisson deliveries of rate ρ a step; the arm acts at the steps only (it is up for one "
        "tick in a thousand), and every cell comes free. Mean wait by Little's law; 20 runs of "
        "10 000 steps.");
    static const struct {
        double load, wait, error_most;
    } row[] = {{0.3, 0.7142857143, 0.01}, {0.5, 1, 0.02}, {0.8, 2.5, 0.06}, {0.9, 5, 0.3}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 1000};
        shop_item(&shop, "part", 1);
        open_belt(&shop, 5, "1");
        shop_part(&shop, SHOP_CHESTS, "name: feed");
        shop_part(
            &shop, SHOP_ARMS,
            "name: side, from: feed, to: ring@0, swing: 0, breaks: {after: 1 ms, repair: 999 ms}");
        shop_part(&shop, SHOP_ARMS, "name: clearer, from: ring@3, to: end, swing: 0");
        shop_part(&shop, SHOP_SUPPLIES,
                  "name: source, chest: feed, item: part, every: {exponential: %.9f}",
                  1 / row[i].load);
        struct scenario *scenario = shop_open(&shop);
        double value[RUNS];
        trial_repeat(scenario, run_slots, &row[i].load, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&slotted, row[i].wait, value, RUNS, row[i].error_most,
                      "ρ = %g: mean wait, steps", row[i].load);
    }
}

/* ---- attempts while an arm is away ---- */

static const struct ledger_source dead_time = {
    "Feller vol. 2",
    "W. Feller, An Introduction to Probability Theory and Its Applications, vol. 2, ch. XI (a "
    "counter with a dead time τ that attempts do not lengthen): λ/(1 + λτ)",
    "recalled; by hand"};

static void run_attempts(struct world *world, const struct scenario *scenario, const void *of,
                         double *found) {
    (void)of;
    int64_t ticks = scenario->ticks_per_second;
    world_advance(world, 100 * ticks);
    int64_t before = world_arm_totals(world, 0).swings;
    world_advance(world, 5100 * ticks);
    found[0] = (double)(world_arm_totals(world, 0).swings - before) / 5000;
}

static void attempts(void) {
    ledger_group("Attempts while an arm is away",
                 "Poisson attempts of rate λ; an arm with a swing of τ takes what comes while it "
                 "reaches, the rest is cleared in the same tick. 20 runs of 5000 s.");
    static const struct {
        double rate, swing, placed;
    } row[] = {{1, 1, 0.5}, {2, 0.5, 1}, {0.5, 4, 0.1666666667}, {3, 1, 0.75}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 100000};
        shop_item(&shop, "part", 1);
        shop_part(&shop, SHOP_CHESTS, "name: dock");
        shop_part(&shop, SHOP_CHESTS, "name: end");
        shop_part(&shop, SHOP_ARMS, "name: arm, from: dock, to: end, swing: %g", row[i].swing);
        shop_part(&shop, SHOP_ARMS, "name: clearer, from: dock, to: end, swing: 0, hand: 100");
        shop_part(&shop, SHOP_SUPPLIES,
                  "name: source, chest: dock, item: part, every: {exponential: %.9f}",
                  1 / row[i].rate);
        struct scenario *scenario = shop_open(&shop);
        double value[RUNS];
        trial_repeat(scenario, run_attempts, NULL, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&dead_time, row[i].placed, value, RUNS, 0.005,
                      "λ = %g, τ = %g: taken a second", row[i].rate, row[i].swing);
    }
}

/* ---- gaps of a stream ---- */

static const struct ledger_source adams = {
    "Adams 1936",
    "W. F. Adams, Road traffic considered as a random series, Journal of the Institution of "
    "Civil Engineers 4 (1936) 121-130: a saturated side stream that needs gaps of T gets "
    "q/(exp(qT) - 1)",
    "recalled; confirmed by an independent simulation"};

static void run_gaps(struct world *world, const struct scenario *scenario, const void *of,
                     double *found) {
    (void)of;
    int64_t ticks = scenario->ticks_per_second;
    uint32_t side = shop_arm(scenario, "side");
    world_advance(world, 100 * ticks);
    int64_t before = world_arm_totals(world, side).moved;
    world_advance(world, 10100 * ticks);
    found[0] = (double)(world_arm_totals(world, side).moved - before) / 10000;
}

static void gaps(void) {
    ledger_group(
        "Gaps of a stream on a belt",
        "A Poisson stream of items of one cell, q a second, on a belt of 250 cells a second; a "
        "side feeder that always has some puts items T seconds long wherever there is room. 20 "
        "runs of 10 000 s; with so fine cells the value is 0.05 % less than in the limit.");
    static const struct {
        double stream, gap, placed;
    } row[] = {{0.2, 2, 0.4066494}, {0.1, 5, 0.1541494}, {0.5, 1, 0.7707470}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        int64_t cells = (int64_t)(row[i].gap * 250);
        struct shop shop = {.ticks_per_second = 1000};
        shop_item(&shop, "main", 1);
        shop_item(&shop, "rod", cells);
        open_belt(&shop, (uint32_t)(3 * cells), "250");
        shop_part(&shop, SHOP_CHESTS, "name: bin");
        shop_part(&shop, SHOP_CHESTS, "name: rods, start: {rod: 1000000000}");
        shop_part(&shop, SHOP_ARMS, "name: stream, from: bin, to: ring@0, items: [main], swing: 0");
        shop_part(&shop, SHOP_ARMS, "name: side, from: rods, to: ring@%lld, items: [rod], swing: 0",
                  (long long)(cells + 10));
        shop_part(&shop, SHOP_ARMS, "name: clearer, from: ring@%lld, to: end, swing: 0",
                  (long long)(2 * cells + 100));
        shop_part(&shop, SHOP_SUPPLIES,
                  "name: source, chest: bin, item: main, every: {exponential: %.9f}",
                  1 / row[i].stream);
        struct scenario *scenario = shop_open(&shop);
        double value[RUNS];
        trial_repeat(scenario, run_gaps, NULL, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&adams, row[i].placed, value, RUNS, 0.002,
                      "q = %g, T = %g: side items a second", row[i].stream, row[i].gap);
    }
}

/* ---- what an open belt holds ---- */

static const struct ledger_source khinchin = {"Palm 1938",
                                              "C. Palm, Analysis of the Erlang traffic formulae "
                                              "for busy-signal arrangements, Ericsson Technics 6 "
                                              "(1938) 39-58 (M/G/∞: the number is Poisson "
                                              "whatever the time of stay is); with S pieces of "
                                              "base stock and that lead time the number within S "
                                              "- 1 is the fill rate (G. J. Feeney, C. C. "
                                              "Sherbrooke, Management Science 12 (1966) 391-411)",
                                              "recalled; worked out by scipy 1.10.1"};

enum { BELT_COUNTS = 6 };

static void look_at_belt(const struct world *world, const void *of, double *seen) {
    (void)of;
    int64_t count = world_track_count(world, lane, NO_INDEX);
    if (count < BELT_COUNTS)
        seen[count]++;
}

static void run_belt(struct world *world, const struct scenario *scenario, const void *of,
                     double *found) {
    (void)scenario;
    (void)of;
    struct trial_window window = {20000, 4020000, 737};
    trial_average(world, window, look_at_belt, NULL, BELT_COUNTS, found);
}

static struct scenario *open_open_belt(const char *every, const char *more) {
    struct shop shop = {.ticks_per_second = 1000};
    shop_item(&shop, "part", 1);
    open_belt(&shop, 3500, "1000");
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_ARMS, "name: feeder, from: bin, to: ring@0, swing: 0");
    shop_part(&shop, SHOP_ARMS, "name: taker, from: ring@3000, to: end, swing: 0");
    shop_part(&shop, SHOP_SUPPLIES, "name: source, chest: bin, item: part, every: %s%s", every,
              more);
    return shop_open(&shop);
}

static int64_t emptied_ticks(int64_t last) {
    struct scenario *scenario = open_open_belt("0.25 s", ", until: 100 s");
    struct world *world = world_new(scenario);
    world_advance(world, last);
    while (world_track_count(world, lane, NO_INDEX) > 0)
        world_advance(world, world_tick(world) + 1);
    int64_t tick = world_tick(world);
    world_free(world);
    scenario_free(scenario);
    return tick - last;
}

static void open_belt_holds(void) {
    ledger_group(
        "What an open belt holds",
        "A Poisson feed of 1 a second, 3000 cells at 1000 a second to the taker. Share of time "
        "with so many on the belt; 20 runs of 4000 s.");
    static const double share[] = {0.0497870684, 0.1493612051, 0.2240418077, 0.2240418077,
                                   0.1680313557};
    static const double within[] = {0.1991482735,
                                    0.6472318888}; /* S = 2 and 4, lead time demand 3 */
    double value[BELT_COUNTS][RUNS], sum[2][RUNS] = {{0}};
    struct scenario *scenario = open_open_belt("{exponential: 1}", "");
    trial_repeat(scenario, run_belt, NULL, BELT_COUNTS, RUNS, &value[0][0]);
    scenario_free(scenario);
    for (size_t k = 0; k < LENGTH(share); k++)
        ledger_sample(&khinchin, share[k], value[k], RUNS, 0.004, "λT = 3: share of time with %zu",
                      k);
    for (int r = 0; r < RUNS; r++) {
        sum[0][r] = value[0][r] + value[1][r];
        sum[1][r] = sum[0][r] + value[2][r] + value[3][r];
    }
    for (int s = 0; s < 2; s++)
        ledger_sample(&khinchin, within[s], sum[s], RUNS, 0.005,
                      "λT = 3: fill rate of a base stock of %d", 2 + 2 * s);
    static const struct ledger_source transit = {
        "transit", "the belt is empty a transit after the last feed", "by hand"};
    ledger_exact(&transit, 3000, (double)emptied_ticks(100000),
                 "ticks from the last feed to empty");
}

int main(void) {
    feeder_and_taker();
    several_feeders();
    ordered_entry();
    windows();
    side_feeder();
    slots();
    attempts();
    gaps();
    open_belt_holds();
    return ledger_end();
}
