/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_breaks.c - availability of parts that break down and are repaired. */
#include <stdio.h>

#include "tests/outside/ledger.h"
#include "tests/outside/shop.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

enum { TICKS = 100, RUNS = 20, MANY_RUNS = 1000, ARMS = 1000 };

static const struct ledger_source takacs = {"Takács 1957",
                                            "L. Takács, On certain sojourn time problems in the "
                                            "theory of stochastic processes, Acta Mathematica "
                                            "Academiae Scientiarum Hungaricae 8 (1957) 169-191; "
                                            "R. E. Barlow, F. Proschan, Mathematical Theory of "
                                            "Reliability, New York 1965; terms as in IEC 61703",
                                            "recalled; confirmed by an independent simulation"};

struct breaking {
    double up, down; /* means, s */
};

/* `count` arms with nothing to do, each with breakdowns of its own. */
static struct scenario *open_arms(uint32_t count, const char *breaks) {
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "part", 1);
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_CHESTS, "name: end");
    for (uint32_t i = 0; i < count; i++)
        shop_part(&shop, SHOP_ARMS, "name: arm-%u, from: bin, to: end, swing: 1 s, breaks: {%s}", i,
                  breaks);
    return shop_open(&shop);
}

static double up_share(const struct world *world, uint32_t arm, int64_t from,
                       int64_t stopped_before) {
    int64_t stopped = world_arm_totals(world, arm).ticks[ARM_STOPPED] - stopped_before;
    return 1 - (double)stopped / (double)(world_tick(world) - from);
}

static void run_share(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)scenario;
    (void)of;
    const int64_t from = 1000 * TICKS;
    world_advance(world, from);
    int64_t before = world_arm_totals(world, 0).ticks[ARM_STOPPED];
    world_advance(world, from + 50000 * (int64_t)TICKS);
    found[0] = up_share(world, 0, from, before);
}

enum { VARIANCE_SECONDS = 5000 };

static void run_up_time(struct world *world, const struct scenario *scenario, const void *of,
                        double *found) {
    (void)scenario;
    (void)of;
    const int64_t from = 500 * TICKS;
    world_advance(world, from);
    int64_t before = world_arm_totals(world, 0).ticks[ARM_STOPPED];
    world_advance(world, from + VARIANCE_SECONDS * TICKS);
    /* Up time scaled so that its variance is that of the up time, by the time watched. */
    found[0] = up_share(world, 0, from, before) * 70.710678118654752; /* sqrt(VARIANCE_SECONDS) */
}

static void run_moment(struct world *world, const struct scenario *scenario, const void *of,
                       double *found) {
    const double *seconds = of;
    world_advance(world, (int64_t)(*seconds * TICKS));
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        found[0] += world_arm_state(world, i) != ARM_STOPPED;
    found[0] /= scenario->arm_count;
}

static void breaks_of(char *text, size_t size, double up, double down, bool constant) {
    if (constant)
        snprintf(text, size, "after: {exponential: %g}, repair: %g", up, down);
    else
        snprintf(text, size, "after: {exponential: %g}, repair: {exponential: %g}", up, down);
}

static void availability(void) {
    static const struct {
        double up, down, share, share_at_down, variance, variance_constant;
    } row[] = {{90, 10, 0.9, 0.9329192988, 1.62, 0.81},
               {100, 25, 0.8, 0.8573009594, 6.4, 3.2},
               {480, 20, 0.96, 0.9741146433, 1.47456, 0.73728}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        static double value[MANY_RUNS];
        char text[128], name[64];
        snprintf(name, sizeof name, "up %g s, down %g s", row[i].up, row[i].down);
        breaks_of(text, sizeof text, row[i].up, row[i].down, false);
        struct scenario *scenario = open_arms(1, text);
        trial_repeat(scenario, run_share, NULL, 1, RUNS, value);
        ledger_sample(&takacs, row[i].share, value, RUNS, 0.003, "%s: share up", name);
        trial_repeat(scenario, run_up_time, NULL, 1, MANY_RUNS, value);
        scenario_free(scenario);
        ledger_variance(&takacs, row[i].variance, value, MANY_RUNS,
                        "%s: variance of the up time a second", name);
        breaks_of(text, sizeof text, row[i].up, row[i].down, true);
        scenario = open_arms(1, text);
        trial_repeat(scenario, run_up_time, NULL, 1, MANY_RUNS, value);
        scenario_free(scenario);
        ledger_variance(&takacs, row[i].variance_constant, value, MANY_RUNS,
                        "%s always: variance of the up time a second", name);
        breaks_of(text, sizeof text, row[i].up, row[i].down, false);
        scenario = open_arms(ARMS, text);
        trial_repeat(scenario, run_moment, &row[i].down, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&takacs, row[i].share_at_down, value, RUNS, 0.003,
                      "%s: share up after %g s, of arms that begin up", name, row[i].down);
    }
}

/* ---- other things that break ---- */

static void run_flow(struct world *world, const struct scenario *scenario, const void *of,
                     double *found) {
    (void)of;
    uint32_t end = shop_chest(scenario, "end");
    const int64_t seconds = 20000;
    world_advance(world, 1000 * TICKS);
    int64_t before = world_chest_count(world, end, 0);
    world_advance(world, (1000 + seconds) * TICKS);
    found[0] = (double)(world_chest_count(world, end, 0) - before) / (double)seconds;
}

/* A station of a batch a second, a full belt of ten cells a second: what they give is their share
 * up. A station's batch keeps its remaining time; a belt begins a new grid, which costs half a step
 * in the mean each time, 0.05 % here. */
static void flows(void) {
    static const struct {
        const char *name, *section_keys;
        enum shop_section section;
        const char *from, *to;
        double share, error_most;
    } row[] = {
        {"a station", "name: thing, makes: {part: 1}, time: 1 s", SHOP_STATIONS, "thing", "end",
         0.9, 0.003},
        {"a loop", "name: thing, cells: 10, rate: 10", SHOP_LOOPS, NULL, NULL, 9, 0.03},
        {"a line", "name: thing, cells: 10, rate: 10", SHOP_LINES, NULL, NULL, 9, 0.03},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = TICKS};
        shop_item(&shop, "part", 1);
        shop_part(&shop, SHOP_CHESTS, "name: end");
        shop_part(&shop, SHOP_CHESTS, "name: bin, start: {part: 1000000000}");
        shop_part(&shop, row[i].section,
                  "%s, breaks: {after: {exponential: 90}, repair: {exponential: 10}}",
                  row[i].section_keys);
        if (row[i].from != NULL)
            shop_part(&shop, SHOP_ARMS, "name: out, from: thing, to: end, swing: 0");
        else {
            shop_part(&shop, SHOP_ARMS, "name: out, from: thing@9, to: end, swing: 0");
            shop_part(&shop, SHOP_ARMS, "name: in, from: bin, to: thing@0, swing: 0");
        }
        struct scenario *scenario = shop_open(&shop);
        double value[RUNS];
        trial_repeat(scenario, run_flow, NULL, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&takacs, row[i].share, value, RUNS, row[i].error_most,
                      "up 90 s, down 10 s: items a second of %s", row[i].name);
    }
}

/* ---- several ---- */

static const struct ledger_source series = {
    "series of three",
    "independent clocks: the product of the shares up, 0.9 · 0.96 · 0.9; if a stop of one held "
    "the clocks of the others it would be 1/(1 + Σ down/up) = 0.7912",
    "by hand; rules, Incidents and breakdowns: in calendar time"};

static void look_at_series(const struct world *world, const void *of, double *seen) {
    (void)of;
    bool up = true;
    for (uint32_t i = 0; i < 3; i++)
        up = up && world_arm_state(world, i) != ARM_STOPPED;
    seen[0] += up;
}

static void run_series(struct world *world, const struct scenario *scenario, const void *of,
                       double *found) {
    (void)scenario;
    const struct trial_window window = {2000 * TICKS, 102000 * (int64_t)TICKS, 317};
    trial_average(world, window, look_at_series, of, 1, found);
}

static void three_in_series(void) {
    static const struct breaking three[] = {{90, 10}, {480, 20}, {9, 1}};
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "part", 1);
    shop_part(&shop, SHOP_CHESTS, "name: bin");
    shop_part(&shop, SHOP_CHESTS, "name: end");
    for (int i = 0; i < 3; i++)
        shop_part(&shop, SHOP_ARMS,
                  "name: arm-%d, from: bin, to: end, swing: 1 s, breaks: {after: {exponential: "
                  "%g}, repair: {exponential: %g}}",
                  i, three[i].up, three[i].down);
    struct scenario *scenario = shop_open(&shop);
    double value[RUNS];
    trial_repeat(scenario, run_series, NULL, 1, RUNS, value);
    scenario_free(scenario);
    ledger_sample(&series, 0.7776, value, RUNS, 0.002,
                  "90/10, 480/20 and 9/1: share of time with all up");
}

int main(void) {
    ledger_group(
        "Availability",
        "`breaks` with exponential times, or an exponential time up and a fixed one down. "
        "Shares in 20 runs of 50 000 s; variances of the up time in 1000 runs of 5000 s, their "
        "relative standard error taken as √(2/999); shares at a moment of 1000 arms in 20 runs; "
        "flows in 20 runs of 20 000 s.");
    availability();
    flows();
    three_in_series();
    return ledger_end();
}
