/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_budget.c - what is worked out without running comes true in a run.
 *
 * The outside of each comparison is the engine. Where nothing is random the two may differ by 2 %:
 * in 50 minutes ten to twenty items a minute are 500 to 1000, of which a few are on their way when
 * counting begins and when it ends. Where something is random the run is 20 hours long, some 15 000
 * items; with intervals whose standard deviation is their mean that is 0.8 % of standard error, and
 * 3 % are allowed. */
#include <check.h>
#include <fcntl.h>
#include <glob.h>
#include <jansson.h>
#include <limits.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

#define MANY "--set demands.orders.every='1 s' " /* more than can be made */
#define LONG "--set run.for=20h "

static char *shop, *exchange; /* texts of the scenarios, read before the errands begin */

static char tree[PATH_MAX]; /* the directory from which the test was started */

static void begin(void) {
    ck_assert_ptr_nonnull(getcwd(tree, sizeof tree));
    shop = story_text("tests/story/budget-shop.yaml");
    exchange = story_text("tests/story/budget-exchange.yaml");
    errand_begin();
    errand_write("shop.yaml", shop);
    errand_write("exchange.yaml", exchange);
    free(shop);
    free(exchange);
}

/* What the budget and a run say of a scenario with the same changes. */
struct pair {
    json_t *budget, *run;
};

static struct pair ask_both(const char *scenario, const char *change) {
    struct pair pair;
    ck_assert_int_le(errand_run("budget %s --json %s", scenario, change), 1);
    pair.budget = errand_json("out");
    ck_assert_int_le(errand_run("run %s --json %s", scenario, change), 1);
    pair.run = errand_json("out");
    return pair;
}

static void free_pair(struct pair *pair) {
    json_decref(pair->budget);
    json_decref(pair->run);
}

static void ck_near(const char *what, double predicted, double found, double share) {
    ck_assert_msg(fabs(found - predicted) <= share * predicted, "%s: %g predicted, %g found", what,
                  predicted, found);
}

/* ---- the greatest rate, and what limits it ---- */

static const struct {
    const char *change;
    double greatest; /* a minute, worked out by hand */
    const char *bottleneck;
    double tolerance;
} limit[] = {
    /* 60 s / 3 s */
    {"", 20, "bench", 0.02},
    /* 60 s / 4 s */
    {"--set arms.comb-feeder.swing='4 s'", 15, "comb-feeder", 0.02},
    /* two in 9 s, and the step (1 / 6.5 s) until the next cell comes: 0.0769 s of it are over when
     * the arm is back, since 9 s are 58.5 steps */
    {"--set arms.cylinder-feeder.swing='9 s' --set arms.cylinder-feeder.hand=2",
     120 / (9 + 0.5 / 6.5), "cylinder-feeder", 0.02},
    {"--set arms.comb-mover.swing='5 s'", 12, "comb-mover", 0.02},
    {"--set arms.shelver.swing='6 s'", 10, "shelver", 0.02},
    /* room for two batches: more than two never lie there to be taken */
    {"--set arms.shelver.swing='12 s' --set arms.shelver.hand=3", 10, "shelver", 0.02},
    {"--set supplies.combs.every='4 s'", 15, "combs", 0.02},
    /* three combs each, 50 combs a minute */
    {"--set stations.bench.takes.comb=3", 50. / 3, "comb-feeder", 0.02},
    {"--set stations.bench.makes.movement=2", 40, "bench", 0.02},
    {LONG "--set stations.bench.makes.movement='{count: 1, chance: 0.8}'", 16, "bench", 0.03},
    {LONG "--set stations.bench.time='{exponential: 4 s}'", 15, "bench", 0.03},
    {LONG "--set supplies.combs.every='{exponential: 4 s}'", 15, "combs", 0.03},
    /* up and down by turns, 9 minutes of 10 */
    {LONG
     "--set stations.bench.breaks='{after: {exponential: 9 min}, repair: {exponential: 1 min}}'",
     18, "bench", 0.03},
};

START_TEST(greatest_rate_is_what_comes_out) {
    char change[512];
    snprintf(change, sizeof change, MANY "%s", limit[_i].change);
    struct pair pair = ask_both("shop.yaml", change);
    json_t *product = json_object_get(json_object_get(pair.budget, "products"), "movement");
    double greatest = errand_number(product, "greatest_per_min", NULL);
    double made = errand_number(pair.run, "items", "movement", "made_per_min", NULL);
    ck_assert_str_eq(json_string_value(json_object_get(product, "bottleneck")),
                     limit[_i].bottleneck);
    ck_near("greatest", limit[_i].greatest, greatest, 1e-6);
    ck_near(limit[_i].change, greatest, made, limit[_i].tolerance);
    free_pair(&pair);
}
END_TEST

/* Half a cell a second carries 30 items a minute, and a movement needs two: 15 at most. The belt is
 * never quite full where the second feeder stands, since both are held by gates that see what has
 * come off half a revolution later; so this bound is one only from above, by up to a fifth. */
START_TEST(slow_belt_is_a_bound_from_above) {
    struct pair pair = ask_both("shop.yaml", MANY "--set loops.ring.rate=0.5");
    json_t *product = json_object_get(json_object_get(pair.budget, "products"), "movement");
    double greatest = errand_number(product, "greatest_per_min", NULL);
    double made = errand_number(pair.run, "items", "movement", "made_per_min", NULL);
    ck_assert_str_eq(json_string_value(json_object_get(product, "bottleneck")), "ring/lane");
    ck_near("greatest", 15, greatest, 1e-6);
    ck_assert(made <= greatest * 1.02 && made >= greatest * 0.8);
    free_pair(&pair);
}
END_TEST

/* ---- loads at the demanded rate ---- */

static const char *const load[] = {
    "",
    "--set demands.orders.every='3.5 s'",
    "--set demands.orders.every='8 s' --set arms.comb-feeder.to=ring@20",
    "--set demands.orders.every='8 s' --set stations.bench.takes.cylinder=2",
    "--set demands.orders.every='10 s' --set items.comb='{length: 2}'",
    LONG "--set demands.orders.every='{exponential: 5 s}'",
};

static void compare_arms(const struct pair *pair, double tolerance) {
    const char *name;
    json_t *arm;
    double minutes = errand_number(pair->run, "ticks", NULL) /
                     errand_number(pair->run, "ticks_per_second", NULL) / 60;
    json_object_foreach(json_object_get(pair->budget, "arms"), name, arm)
        ck_near(name, errand_number(arm, "needed_per_min", NULL),
                errand_number(pair->run, "arms", name, "moved", NULL) / minutes, tolerance);
}

/* The shelf is full at the start, so that what is moved is what is ordered, and some ten of 360 or
 * more that fill trays and the bench's stock: 5 %. A part that is put down between two steps lies
 * there for half a step on the average, which the budget counts as a whole one: of a ride of 15
 * cells that is 3.3 %. */
START_TEST(loads_are_what_is_carried) {
    char change[512];
    snprintf(change, sizeof change, "--set chests.shelf.start.movement=40 %s", load[_i]);
    struct pair pair = ask_both("shop.yaml", change);
    double tolerance = strstr(change, "20h") != NULL ? 0.03 : 0.02;
    ck_near("bench", errand_number(pair.budget, "stations", "bench", "utilisation", NULL),
            errand_number(pair.run, "stations", "bench", "working", NULL), tolerance);
    ck_near("lane", errand_number(pair.budget, "lanes", "ring/lane", "share", NULL),
            errand_number(pair.run, "lanes", "ring/lane", "mean_share", NULL), 0.035);
    compare_arms(&pair, 0.05);
    free_pair(&pair);
}
END_TEST

/* ---- a loop of places that send to each other ---- */

/* Y. A. Bozer, Y.-J. Hsieh, Throughput performance analysis and machine layout for discrete-space
 * closed-loop conveyors, IIE Transactions 37 (2005) 77-89, abstract; the flows are our own, what
 * follows from them is flow balance: 0.25, 0.25, 1/6 and 1/6 of the places that come to the loaders
 * are taken. On the stretches between, 7, 6, 6 and 6 of 12 places a second are; 37.5 cells of 40
 * are such, the rest is between a taker and a loader. */
START_TEST(places_that_send_to_each_other) {
    static const char *const loader[] = {"loader-1", "loader-2", "loader-3", "loader-4"};
    static const double taken[] = {0.25, 0.25, 1. / 6, 1. / 6};
    struct pair pair = ask_both("exchange.yaml", "");
    json_t *lane = json_object_get(json_object_get(pair.budget, "lanes"), "ring/lane");
    /* 0.33 s for a third of a second, as the clock allows: 1 % more of one flow in four. */
    for (int i = 0; i < 4; i++)
        ck_near(loader[i], 12 * (1 - taken[i]),
                errand_number(lane, "free_at_feeders_per_s", loader[i], NULL), 0.01);
    ck_near("most of a stretch", 7, errand_number(lane, "needed_per_s", NULL), 0.01);
    /* 23 000 items at random intervals: 0.7 % of standard error */
    ck_near("share", errand_number(lane, "share", NULL),
            errand_number(pair.run, "lanes", "ring/lane", "mean_share", NULL), 0.03);
    free_pair(&pair);
}
END_TEST

/* ---- what is reported ---- */

START_TEST(status_says_whether_it_fits) {
    ck_assert_int_eq(errand_run("budget shop.yaml"), 0);
    ck_assert(errand_says("out", "It holds"));
    ck_assert_int_eq(errand_run("budget shop.yaml " MANY), 1);
    ck_assert(errand_says("out", "It does not hold"));
    ck_assert_int_eq(errand_run("budget shop.yaml --set arms.shelver=null"), 1);
    ck_assert(errand_says("out", "outputs-have-exit"));
    ck_assert_int_eq(errand_run("budget shop.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("budget nowhere.yaml"), 4);
    ck_assert_int_eq(errand_run("budget shop.yaml --set arms.shelver.hnd=2"), 3);
    ck_assert_int_eq(errand_run("budget"), 2);
}
END_TEST

/* It waits for a scenario that nobody writes; nothing asks whether a signal came. */
START_TEST(signal_ends_it) {
    ck_assert_int_eq(mkfifo("pipe.yaml", 0600), 0);
    pid_t child = errand_start("budget pipe.yaml");
    int pipe = open("pipe.yaml", O_WRONLY); /* comes back when the program has opened it, too */
    ck_assert_int_ge(pipe, 0);
    ck_assert_int_eq(kill(child, SIGTERM), 0);
    ck_assert_int_eq(errand_wait(child), 128 + SIGTERM);
    close(pipe);
}
END_TEST

/* A movement that is made of two movements can't be had at any rate. */
START_TEST(impossible_recipe_is_told_in_words) {
    ck_assert_int_eq(errand_run("budget shop.yaml --set stations.bench.takes.movement=2"), 1);
    ck_assert(errand_says("out", "12 movement a minute are needed that nothing can bring"));
}
END_TEST

START_TEST(supply_that_ends_before_the_orders_is_named) {
    ck_assert_int_eq(errand_run("budget shop.yaml --set supplies.combs.until=90s"), 0);
    ck_assert(errand_says("out", "combs ends at 0:01:30, orders go on: all this holds until then"));
    ck_assert_int_eq(errand_run("budget shop.yaml --set supplies.combs.until=90s "
                                "--set demands.orders.until=80s"),
                     0);
    ck_assert(!errand_says("out", "orders go on"));
}
END_TEST

/* ---- changes that mend ---- */

/* Asks of a scenario with all changes of a `mend` how a rule is judged. Nothing in a change may be
 * warned of. */
static bool rule_holds_with(const char *scenario, size_t rule, const json_t *mend) {
    char sets[8192] = "";
    size_t used = 0, count = json_is_string(mend) ? 1 : json_array_size(mend);
    for (size_t i = 0; i < count; i++) {
        const char *set = json_string_value(json_is_string(mend) ? mend : json_array_get(mend, i));
        int length = snprintf(sets + used, sizeof sets - used, " --set '%s'", set);
        ck_assert(length > 0 && used + (size_t)length < sizeof sets);
        used += (size_t)length;
    }
    ck_assert_int_le(errand_run("budget %s --json%s", scenario, sets), 1);
    ck_assert_msg(!errand_says("err", "--set "), "%s: %s", scenario, sets);
    json_t *found = errand_json("out");
    const char *verdict = json_string_value(
        json_object_get(json_array_get(json_object_get(found, "rules"), rule), "verdict"));
    bool holds = strcmp(verdict, "holds") == 0;
    json_decref(found);
    return holds;
}

/* True when the texts of a rule name an item. */
static bool is_named(const json_t *rule, const char *item) {
    const json_t *also = json_object_get(rule, "also"), *text;
    size_t i;
    bool found = strstr(json_string_value(json_object_get(rule, "why")), item) != NULL;
    json_array_foreach(also, i, text) found =
        found || strstr(json_string_value(text), item) != NULL;
    return found;
}

/* Each item that a new arm of a mend takes is named by what it is to mend. */
static void check_items_are_named(const char *scenario, const json_t *rule) {
    const json_t *mend = json_object_get(rule, "mend"), *set;
    size_t i;
    json_array_foreach(mend, i, set) {
        const char *items = strstr(json_string_value(set), "items: ["), *end;
        if (items == NULL || strstr(json_string_value(set), "={from: ") == NULL)
            continue;
        items += strlen("items: [");
        end = strchr(items, ']');
        ck_assert_ptr_nonnull(end);
        char item[64];
        snprintf(item, sizeof item, "%.*s", (int)(end - items), items);
        ck_assert_msg(is_named(rule, item), "%s: %s: %s", scenario,
                      json_string_value(json_object_get(rule, "rule")), item);
    }
}

/* Counts the rules of a scenario that do not hold, and those of them that have a mend; each mend is
 * applied, and the budget is asked again. */
static void try_mends(const char *scenario, size_t *broken, size_t *mended) {
    ck_assert_int_le(errand_run("budget %s --json", scenario), 1);
    json_t *found = errand_json("out"), *rule;
    size_t i;
    json_array_foreach(json_object_get(found, "rules"), i, rule) {
        const json_t *mend = json_object_get(rule, "mend");
        if (strcmp(json_string_value(json_object_get(rule, "verdict")), "holds") == 0) {
            ck_assert(json_is_null(mend));
            continue;
        }
        ++*broken;
        *mended += !json_is_null(mend);
        check_items_are_named(scenario, rule);
        if (!json_is_null(mend))
            ck_assert_msg(rule_holds_with(scenario, i, mend), "%s: %s", scenario,
                          json_string_value(json_object_get(rule, "rule")));
    }
    json_decref(found);
}

/* Of all scenarios that are written by hand. That there is a mend for nine in ten is what the
 * program could do when the test was written: it shows that the test has something to try. */
START_TEST(rules_hold_with_their_mends) {
    static const char *const pattern[] = {"scenarios/*.yaml", "tests/story/*.yaml",
                                          "tests/story/gallery/*.yaml"};
    size_t broken = 0, mended = 0, asked = 0;
    for (size_t i = 0; i < sizeof pattern / sizeof *pattern; i++) {
        char path[PATH_MAX];
        glob_t found;
        snprintf(path, sizeof path, "%.3000s/%s", tree, pattern[i]);
        ck_assert_int_eq(glob(path, 0, NULL, &found), 0);
        for (size_t k = 0; k < found.gl_pathc; k++, asked++)
            try_mends(found.gl_pathv[k], &broken, &mended);
        globfree(&found);
    }
    ck_assert_uint_gt(asked, 30);
    ck_assert_uint_ge(10 * mended, 9 * broken);
}
END_TEST

/* A batch of three chips and a case in 4 s: 15 batches and 45 chips a minute, of which nobody wants
 * any. An outlet that takes 45 mends the rule, one that takes 44 does not. */
START_TEST(outlet_is_given_its_number) {
    errand_write("chips.yaml",
                 "items: [board, case, chip]\nloops: [{name: ring, cells: 50, rate: 5}]\n"
                 "chests: [{name: bin, start: {board: 4000}}, {name: shelf, capacity: 20},\n"
                 "  {name: box, capacity: 100}]\n"
                 "stations: [{name: cutter, takes: {board: 1}, makes: {case: 1, chip: 3},\n"
                 "  time: 4 s, gate: {chest: shelf, item: case, below: 10}}]\n"
                 "arms: [{name: feeder, from: bin, to: ring@0, swing: 2 s},\n"
                 "  {name: taker, from: ring@20, to: cutter, swing: 1 s},\n"
                 "  {name: shelver, from: cutter, to: shelf, items: [case], swing: 1 s},\n"
                 "  {name: chip-arm, from: cutter, to: box, items: [chip], hand: 3, swing: 1 s}]\n"
                 "demands: [{name: orders, chest: shelf, item: case, every: 6 s}]\n");
    ck_assert_int_eq(errand_run("budget chips.yaml --json"), 1);
    ck_assert(errand_says("out", "cutter makes up to 45 chip a minute (15 batches of 3), at the "
                                 "demanded rates 0 are used of all that is made, and box has room "
                                 "for 100"));
    ck_assert(errand_says("out",
                          "an outlet at box, or an arm from it into a chest without a bound, "
                          "that takes at least 45 chip a minute, or a gate for cutter on "
                          "box"));
    for (int batch = 44; batch <= 45; batch++) {
        errand_run("budget chips.yaml --json --set 'demands.away={chest: box, item: chip, "
                   "every: 1 min, batch: %d, outlet: true}'",
                   batch);
        ck_assert(errand_says("out", "cutter makes up to 45 chip") == (batch < 45));
    }
    /* a second cutter of 9 chips in 6 s, which are 90 a minute: 135 together */
    errand_run("budget chips.yaml --json --set 'stations.saw={takes: {board: 1}, makes: {chip: 9}, "
               "time: 6 s}' --set 'arms.saw-arm={from: saw, to: box, swing: 1 s}'");
    ck_assert(errand_says("out",
                          "that takes at least 135 chip a minute, which is what all stations "
                          "make that put into it, or a gate for cutter on box"));
    ck_assert_int_eq(errand_run("budget chips.yaml --json --set arms.chip-arm=null"), 1);
    ck_assert(errand_says("out", "45 chip a minute (15 batches of 3), and no arm takes them"));
}
END_TEST

/* A gate alone makes the exit unsure: a chest without a bound has no number for its room. */
START_TEST(gate_before_a_chest_without_a_bound_is_what_is_unsure) {
    errand_write("gated.yaml",
                 "items: [spring]\nloops: [{name: ring, cells: 50, rate: 5}]\n"
                 "chests: [{name: bin, start: {spring: 4000}}, {name: box}, {name: tray}]\n"
                 "arms: [{name: feeder, from: bin, to: ring@0, swing: 2 s},\n"
                 "       {name: taker, from: ring@20, to: box, swing: 1 s,\n"
                 "        gate: {chest: tray, at_least: 1}}]\n");
    ck_assert_int_le(errand_run("budget gated.yaml --json"), 1);
    ck_assert(errand_says("out", "spring leaves ring/lane into box, which has room, but through a "
                                 "gate"));
}
END_TEST

/* A taker puts springs into a box that a supply fills, another one onto a second loop, which is the
 * better way off; whether that has room is not certain, and the box has no part in it. */
START_TEST(a_way_off_by_another_loop_is_not_judged_by_a_chest) {
    errand_write("loops.yaml",
                 "items: [spring]\n"
                 "loops: [{name: ring, cells: 50, rate: 5}, {name: second, cells: 50, rate: 5}]\n"
                 "chests: [{name: bin, start: {spring: 90}}, {name: box, capacity: 14},\n"
                 "         {name: end}]\n"
                 "arms: [{name: feeder, from: bin, to: ring@0, swing: 2 s},\n"
                 "       {name: taker, from: ring@20, to: box, swing: 1 s},\n"
                 "       {name: mover, from: ring@30, to: second@0, swing: 1 s},\n"
                 "       {name: clearer, from: second@20, to: end, swing: 1 s}]\n"
                 "supplies: [{name: springs, chest: box, item: spring, every: 1 min}]\n");
    ck_assert_int_le(errand_run("budget loops.yaml --json"), 1);
    ck_assert(errand_says("out", "spring leaves ring/lane into what has room at times; that it "
                                 "always has is not certain"));
}
END_TEST

/* A feeder's gate counts the bin from which it takes. What is proposed counts the item where it
 * ends, at the bench; a count of lanterns on the shelf would hold the rule as well, and the loop
 * would fill with wicks. */
START_TEST(feeder_is_gated_on_the_station_that_it_serves) {
    errand_write(
        "lanterns.yaml",
        "run: {for: 1 h}\nitems: [wick, pane, lantern]\n"
        "loops: [{name: ring, cells: 64, rate: 5}]\n"
        "chests: [{name: bin, limits: {wick: 60, pane: 60}, start: {wick: 60, pane: 60}},\n"
        "         {name: shelf, capacity: 25}]\n"
        "stations: [{name: bench, takes: {wick: 1, pane: 1}, makes: {lantern: 1},\n"
        "            time: 5 s, ahead: 4, gate: {chest: shelf, below: 12}}]\n"
        "arms:\n"
        "  - {name: wick-feeder, from: bin, to: ring@3, items: [wick], swing: 3 s,\n"
        "     gate: {chest: bin, item: wick, at_least: 1}}\n"
        "  - {name: pane-feeder, from: bin, to: ring@7, items: [pane], swing: 3 s,\n"
        "     gate: {station: bench, input: pane, below: 2}}\n"
        "  - {name: taker, from: ring@40, to: bench, swing: 0.8 s}\n"
        "  - {name: shelver, from: bench, to: shelf, swing: 1 s}\n"
        "supplies: [{name: wicks, chest: bin, item: wick, every: 1 min, batch: 15},\n"
        "           {name: panes, chest: bin, item: pane, every: 1 min, batch: 15}]\n"
        "demands: [{name: orders, chest: shelf, item: lantern, every: 7 s}]\n"
        "expect: {jam: false, demand_met: {lantern: {at_least: 0.98}}}\n");
    static const char gate[] =
        "arms.wick-feeder.gate={all: [{chest: bin, item: wick, at_least: 1}, "
        "{station: bench, input: wick, below: 2}]}";
    ck_assert_int_eq(errand_run("run lanterns.yaml --for 12h"), 1);
    ck_assert_int_eq(errand_run("budget lanterns.yaml"), 1);
    ck_assert(errand_says("out", gate));
    ck_assert_int_eq(errand_run("run lanterns.yaml --for 12h --set '%s'", gate), 0);
}
END_TEST

/* Springs lie in a bin, and nobody brings combs to the other. Both boxes get full, and shut the
 * exit; but combs are no concern until some come. */
START_TEST(nothing_is_proposed_for_what_never_comes) {
    errand_write(
        "boxes.yaml",
        "items: [spring, comb]\n"
        "loops: [{name: ring, cells: 50, rate: 5}]\n"
        "chests:\n"
        "  - {name: spring-bin, start: {spring: 4000}}\n"
        "  - {name: comb-bin}\n"
        "  - {name: spring-box, capacity: 60}\n"
        "  - {name: comb-box, capacity: 60}\n"
        "arms:\n"
        "  - {name: spring-feeder, from: spring-bin, to: ring@0, items: [spring], swing: 2}\n"
        "  - {name: comb-feeder, from: comb-bin, to: ring@5, items: [comb], swing: 2}\n"
        "  - {name: spring-taker, from: ring@20, to: spring-box, items: [spring], swing: 1}\n"
        "  - {name: comb-taker, from: ring@30, to: comb-box, items: [comb], swing: 1}\n");
    ck_assert_int_eq(errand_run("budget boxes.yaml"), 1);
    ck_assert(errand_says("out", "arms.spring-clearer={"));
    ck_assert(!errand_says("out", "arms.comb-clearer={"));
    ck_assert(errand_says("out", "None ever comes there, so nothing is proposed for comb."));
    ck_assert(!errand_says("out", "It holds for all that ever comes in"));
    /* springs have room: what is left is of combs alone */
    ck_assert_int_eq(errand_run("budget boxes.yaml --set chests.spring-box.capacity=null"), 1);
    ck_assert(!errand_says("out", "arms.comb-clearer={"));
    ck_assert(errand_says("out", "It holds for all that ever comes in: nothing need be changed."));
    /* where some come, or nothing at all does yet, they are cleared like springs */
    ck_assert_int_eq(errand_run("budget boxes.yaml --set chests.comb-bin.start.comb=9"), 1);
    ck_assert(errand_says("out", "arms.comb-clearer={"));
    ck_assert_int_eq(errand_run("budget boxes.yaml --set chests.spring-bin.start=null"), 1);
    ck_assert(errand_says("out", "arms.comb-clearer={"));
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_checked_fixture(tests, begin, errand_end);
    tcase_add_test(tests, nothing_is_proposed_for_what_never_comes);
    tcase_add_loop_test(tests, greatest_rate_is_what_comes_out, 0, sizeof limit / sizeof *limit);
    tcase_add_test(tests, slow_belt_is_a_bound_from_above);
    tcase_add_loop_test(tests, loads_are_what_is_carried, 0, sizeof load / sizeof *load);
    tcase_add_test(tests, places_that_send_to_each_other);
    tcase_add_test(tests, status_says_whether_it_fits);
    tcase_add_test(tests, signal_ends_it);
    tcase_add_test(tests, impossible_recipe_is_told_in_words);
    tcase_add_test(tests, outlet_is_given_its_number);
    tcase_add_test(tests, gate_before_a_chest_without_a_bound_is_what_is_unsure);
    tcase_add_test(tests, a_way_off_by_another_loop_is_not_judged_by_a_chest);
    tcase_add_test(tests, supply_that_ends_before_the_orders_is_named);
    tcase_add_test(tests, rules_hold_with_their_mends);
    tcase_add_test(tests, feeder_is_gated_on_the_station_that_it_serves);
}

int main(void) { return suite_main("budget", add_tests); }
