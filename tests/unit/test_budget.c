/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_budget.c - Kwo's rules on published examples, and recipes that go in circles on
 * examples worked out by hand. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/budget/budget_kwo.h"
#include "model/budget/budget_missed.h"
#include "model/engine/world.h"
#include "model/reader/read.h"
#include "sim/text_stream.h"
#include "tests/common/suite.h"

/* ---- Kwo ---- */

/* T. T. Kwo, A theory of conveyors, Management Science 5 (1958) 51-71. The examples: M. P. Groover,
 * Automation, Production Systems, and Computer-Integrated Manufacturing, chapter on material
 * transport, recirculating conveyor of 300 m (from memory, recomputed); and three exercises that
 * are handed round with courses (read). Lengths in metres or feet, times in minutes or seconds. */
static const struct {
    struct budget_kwo given;
    double carriers, carrier_rate, capacity, handler_limit;
    bool lower, upper, holds;
} kwo[] = {
    {{.length = 300,
      .speed = 60,
      .spacing = 12,
      .parts_per_carrier = 2,
      .load_time = 0.2,
      .unload_time = 0.2,
      .load_rate = 4,
      .unload_rate = 4,
      .spread_evenly = true},
     25,
     5,
     10,
     5,
     true,
     true,
     true},
    /* the arms cannot serve ten carriers a minute */
    {{.length = 200,
      .speed = 50,
      .spacing = 5,
      .parts_per_carrier = 2,
      .load_time = 0.15,
      .unload_time = 0.15,
      .load_rate = 6,
      .unload_rate = 6,
      .spread_evenly = true},
     40,
     10,
     20,
     20. / 3,
     true,
     false,
     true},
    /* 10 s is the longest that loading may take */
    {{.length = 250,
      .speed = 0.3,
      .spacing = 3,
      .parts_per_carrier = 1,
      .load_time = 10,
      .unload_time = 10,
      .load_rate = 0.1,
      .unload_rate = 0.1,
      .spread_evenly = true},
     250. / 3,
     0.1,
     0.1,
     0.1,
     true,
     true,
     true},
    {{.length = 250,
      .speed = 0.3,
      .spacing = 3,
      .parts_per_carrier = 1,
      .load_time = 10.1,
      .unload_time = 10,
      .load_rate = 0.1,
      .unload_rate = 0.1,
      .spread_evenly = true},
     250. / 3,
     0.1,
     0.1,
     1 / 10.1,
     true,
     false,
     true},
    /* 20 containers 15 feet apart, 20 parts each, at 30 feet a minute: 40 parts a minute, 2400 an
     * hour; 3600 an hour, 60 a minute, want 45 feet a minute (and then faster arms) */
    {{.length = 300,
      .speed = 30,
      .spacing = 15,
      .parts_per_carrier = 20,
      .load_time = 0.5,
      .unload_time = 0.5,
      .load_rate = 40,
      .unload_rate = 40,
      .spread_evenly = true},
     20,
     2,
     40,
     2,
     true,
     true,
     true},
    {{.length = 300,
      .speed = 30,
      .spacing = 15,
      .parts_per_carrier = 20,
      .load_time = 0.5,
      .unload_time = 0.5,
      .load_rate = 60,
      .unload_rate = 60,
      .spread_evenly = true},
     20,
     2,
     40,
     2,
     false,
     true,
     false},
    {{.length = 300,
      .speed = 45,
      .spacing = 15,
      .parts_per_carrier = 20,
      .load_time = 0.5,
      .unload_time = 0.5,
      .load_rate = 60,
      .unload_rate = 60,
      .spread_evenly = true},
     20,
     3,
     60,
     2,
     true,
     false,
     true},
};

START_TEST(kwo_judges_as_in_the_books) {
    struct budget_kwo found = kwo[_i].given;
    budget_kwo_judge(&found);
    ck_assert_double_eq_tol(found.carriers, kwo[_i].carriers, 1e-9);
    ck_assert_double_eq_tol(found.carrier_rate, kwo[_i].carrier_rate, 1e-9);
    ck_assert_double_eq_tol(found.capacity, kwo[_i].capacity, 1e-9);
    ck_assert_double_eq_tol(found.handler_limit, kwo[_i].handler_limit, 1e-9);
    ck_assert_int_eq(found.speed_lower, kwo[_i].lower);
    ck_assert_int_eq(found.speed_upper, kwo[_i].upper);
    ck_assert_int_eq(found.capacity_holds, kwo[_i].holds);
    ck_assert(found.uniformity);
}
END_TEST

/* ---- recipes ---- */

struct asked {
    struct scenario *scenario;
    struct budget *budget;
};

static struct asked ask(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "here", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    faults_free(&faults);
    return (struct asked){scenario, budget_new(scenario)};
}

static void forget(struct asked *asked) {
    budget_free(asked->budget);
    scenario_free(asked->scenario);
}

static double batches_per_min(const struct asked *asked, const char *station) {
    for (uint32_t i = 0; i < asked->scenario->station_count; i++)
        if (strcmp(asked->scenario->station[i].name, station) == 0)
            return 60 * asked->budget->station[i].needed;
    ck_abort_msg("no station %s", station);
    return NAN;
}

static const struct budget_item *item_of(const struct asked *asked, const char *item) {
    for (uint32_t i = 0; i < asked->scenario->item_count; i++)
        if (strcmp(asked->scenario->item[i].name, item) == 0)
            return &asked->budget->item[i];
    ck_abort_msg("no item %s", item);
    return NULL;
}

#define SHOP_END "demands: [{name: orders, chest: shelf, item: dial, every: 6 s}]\n"

/* One feeder and one taker are what Kwo's rules speak of; a second taker is not. A step is a place
 * of two cells in half a second; ten dials a minute are asked for. */
START_TEST(kwo_is_asked_of_one_feeder_and_one_taker) {
    static const char lane[] =
        "items: {dial: {length: 2}}\n"
        "loops: [{name: ring, cells: 61, rate: 4}]\n"
        "chests: [{name: bin}, {name: shelf}]\n"
        "supplies: [{name: dials, chest: bin, item: dial, every: 6 s}]\n" SHOP_END "arms:\n"
        "  - {name: feeder, from: bin, to: ring@2, items: [dial], swing: 2 s}\n"
        "  - {name: taker, from: ring@30, to: shelf, swing: 3 s, hand: 2}\n";
    char text[1000];
    struct asked asked = ask(lane);
    const struct budget_track *track = &asked.budget->track[0];
    ck_assert(track->fits_kwo);
    ck_assert_double_eq(track->kwo.length, 61);
    ck_assert_double_eq(track->kwo.speed, 4);
    ck_assert_double_eq(track->kwo.spacing, 2);
    ck_assert_double_eq(track->kwo.parts_per_carrier, 1);
    ck_assert_double_eq(track->kwo.load_time, 2);
    ck_assert_double_eq(track->kwo.unload_time, 1.5);
    ck_assert_double_eq_tol(track->kwo.load_rate, 1. / 6, 1e-9);
    ck_assert_double_eq_tol(track->kwo.unload_rate, 1. / 6, 1e-9);
    ck_assert(track->kwo.spread_evenly); /* 8 steps, 61 places: all are met in turn */
    forget(&asked);
    snprintf(text, sizeof text, "%s  - {name: other, from: ring@40, to: shelf, swing: 3 s}\n",
             lane);
    asked = ask(text);
    ck_assert(!asked.budget->track[0].fits_kwo);
    forget(&asked);
}
END_TEST

/* What a taker misses of ten dials a minute, in cells a second; how two arms work. */
static double missed_by(const char *feeder, const char *taker) {
    char text[1000];
    snprintf(text, sizeof text,
             "items: {dial: {length: 2}}\n"
             "loops: [{name: ring, cells: 61, rate: 4}]\n"
             "chests: [{name: bin}, {name: shelf}]\n"
             "supplies: [{name: dials, chest: bin, item: dial, every: 6 s}]\n" SHOP_END "arms:\n"
             "  - {name: feeder, from: bin, to: ring@2, items: [dial], %s}\n"
             "  - {name: taker, from: ring@30, to: shelf, swing: 3 s%s}\n",
             feeder, taker);
    struct asked asked = ask(text);
    double missed = budget_missed(asked.budget, 0);
    forget(&asked);
    return missed;
}

/* Ten dials a minute, and a taker that swings for 3 s with one: it is away half of the time. As
 * many as it takes come by once more then, each of two cells: a third of a cell a second. A feeder
 * of one at a time that is no faster brings none while it is away. */
START_TEST(what_a_taker_misses_comes_round_again) {
    ck_assert_double_eq_tol(missed_by("swing: 2 s, hand: 2", ""), 1. / 3, 1e-6);
    ck_assert_double_eq_tol(missed_by("swing: 3 s", ""), 0, 1e-6);
}
END_TEST

/* One that lingers for 3 s takes along what comes by meanwhile: of f = 1/6 a second and a share a
 * in which it is away, f / (1 - a) come by, so that a hand gets 1 + (1/2) / (1 - a) of the four
 * that it has room for, and a = f * 3 s / hand. That is a^2 - 2 a + 1/2 = 0, and f * 2 cells * a /
 * (1 - a) come round. One that lingers for long gets its hand of four, and is away for an
 * eighth. */
START_TEST(a_hand_that_lingers_misses_less) {
    static const char *const taker[] = {", hand: 4, linger: 3 s", ", hand: 4, linger: 60 s"};
    const double away[] = {1 - sqrt(0.5), 1. / 8};
    for (size_t i = 0; i < 2; i++)
        ck_assert_double_eq_tol(missed_by("swing: 2 s, hand: 2", taker[i]),
                                away[i] / (1 - away[i]) / 3, 1e-6);
}
END_TEST

/* Blanks begin nowhere, so the bin from which an arm fetches them has no end of them: the press is
 * what limits dials. */
START_TEST(what_begins_nowhere_has_no_end) {
    struct asked asked =
        ask("items: [blank, dial]\n"
            "chests: [{name: bin}, {name: shelf}]\n"
            "stations: [{name: press, takes: {blank: 1}, makes: {dial: 1}, "
            "time: 4 s}]\n"
            "arms:\n"
            "  - {name: loader, from: bin, to: press, swing: 1 s, items: [blank]}\n"
            "  - {name: shelver, from: press, to: shelf, swing: 1 s}\n" SHOP_END);
    ck_assert(asked.budget->demand_met);
    ck_assert_double_eq_tol(60 * asked.budget->product[0].greatest, 15, 1e-6);
    ck_assert_str_eq(asked.budget->product[0].bottleneck, "press");
    forget(&asked);
}
END_TEST

/* A press makes a dial of a blank nine times out of ten, else scrap, of which a mill makes a blank
 * again. Ten dials a minute: 100/9 batches of the press, 10/9 of scrap and of the mill, and of
 * 100/9 blanks all but 10/9 must be brought: 10. */
START_TEST(what_is_spoilt_comes_round_again) {
    struct asked asked =
        ask("items: [blank, dial, scrap]\n"
            "chests: [{name: bin}, {name: heap}, {name: shelf}]\n"
            "stations:\n"
            "  - {name: press, takes: {blank: 1}, time: 2 s,\n"
            "     makes: {dial: {count: 1, chance: 0.9}, scrap: {count: 1, chance: 0.1}}}\n"
            "  - {name: mill, takes: {scrap: 1}, makes: {blank: 1}, time: 5 s}\n"
            "arms:\n"
            "  - {name: loader, from: bin, to: press, swing: 1 s}\n"
            "  - {name: shelver, from: press, to: shelf, items: [dial], swing: 1 s}\n"
            "  - {name: sweeper, from: press, to: heap, items: [scrap], swing: 1 s}\n"
            "  - {name: feeder, from: heap, to: mill, swing: 1 s}\n"
            "  - {name: bringer, from: mill, to: bin, swing: 1 s}\n"
            "supplies: [{name: blanks, chest: bin, item: blank, every: 6 s}]\n" SHOP_END);
    ck_assert(asked.budget->demand_met);
    ck_assert_double_eq_tol(batches_per_min(&asked, "press"), 100. / 9, 1e-6);
    ck_assert_double_eq_tol(batches_per_min(&asked, "mill"), 10. / 9, 1e-6);
    ck_assert_double_eq_tol(60 * item_of(&asked, "blank")->used, 100. / 9, 1e-6);
    ck_assert_double_eq_tol(60 * item_of(&asked, "blank")->supplied, 10, 1e-6);
    /* each blank that is brought becomes a dial in the end; the press could make 27 */
    ck_assert_double_eq_tol(60 * asked.budget->product[0].greatest, 10, 1e-6);
    ck_assert_str_eq(asked.budget->product[0].bottleneck, "blanks");
    forget(&asked);
}
END_TEST

/* A saw makes two dials and three chips at once; nobody wants chips. */
START_TEST(by_product_that_nobody_wants_is_a_surplus) {
    struct asked asked =
        ask("items: [blank, dial, chip]\n"
            "chests: [{name: bin, start: {blank: 1}}, {name: heap}, {name: shelf}]\n"
            "stations: [{name: saw, takes: {blank: 1}, makes: {dial: 2, chip: 3}, time: 6 s}]\n"
            "arms:\n"
            "  - {name: loader, from: bin, to: saw, swing: 1 s}\n"
            "  - {name: shelver, from: saw, to: shelf, items: [dial], swing: 1 s}\n"
            "  - {name: sweeper, from: saw, to: heap, items: [chip], swing: 1 s}\n" SHOP_END);
    ck_assert(asked.budget->demand_met);
    ck_assert_double_eq_tol(batches_per_min(&asked, "saw"), 5, 1e-6);
    ck_assert_double_eq_tol(60 * item_of(&asked, "chip")->surplus, 15, 1e-6);
    ck_assert_double_eq_tol(60 * asked.budget->product[0].greatest, 20, 1e-6);
    forget(&asked);
}
END_TEST

/* A jig goes round: it is taken with a blank, and comes out of the washer again. None is used
 * up. */
START_TEST(carrier_that_goes_round_need_not_be_brought) {
    struct asked asked = ask(
        "items: [blank, jig, held, dial]\n"
        "chests: [{name: bin, start: {blank: 1}}, {name: rack, start: {jig: 4}}, {name: shelf}]\n"
        "stations:\n"
        "  - {name: clamp, takes: {blank: 1, jig: 1}, makes: {held: 1}, time: 2 s}\n"
        "  - {name: washer, takes: {held: 1}, makes: {dial: 1, jig: 1}, time: 4 s}\n"
        "arms:\n"
        "  - {name: loader, from: bin, to: clamp, swing: 1 s}\n"
        "  - {name: jigger, from: rack, to: clamp, swing: 1 s}\n"
        "  - {name: mover, from: clamp, to: washer, swing: 1 s}\n"
        "  - {name: racker, from: washer, to: rack, items: [jig], swing: 1 s}\n"
        "  - {name: shelver, from: washer, to: shelf, items: [dial], swing: 1 s}\n" SHOP_END);
    ck_assert(asked.budget->demand_met);
    ck_assert_double_eq_tol(batches_per_min(&asked, "clamp"), 10, 1e-6);
    ck_assert_double_eq_tol(batches_per_min(&asked, "washer"), 10, 1e-6);
    ck_assert_double_eq_tol(item_of(&asked, "jig")->supplied, 0, 1e-9);
    ck_assert_double_eq_tol(60 * asked.budget->product[0].greatest, 15, 1e-6);
    ck_assert_str_eq(asked.budget->product[0].bottleneck, "washer");
    forget(&asked);
}
END_TEST

/* What makes one dial takes one dial: no amount of it gives any. It is said, not solved. */
START_TEST(circle_that_yields_nothing_is_told) {
    struct asked asked = ask("items: [dial, case]\n"
                             "chests: [{name: shelf, start: {dial: 3}}, {name: tray}]\n"
                             "stations:\n"
                             "  - {name: opener, takes: {dial: 1}, makes: {case: 1}, time: 2 s}\n"
                             "  - {name: closer, takes: {case: 1}, makes: {dial: 1}, time: 2 s}\n"
                             "arms:\n"
                             "  - {name: a, from: shelf, to: opener, swing: 1 s}\n"
                             "  - {name: b, from: opener, to: tray, swing: 1 s}\n"
                             "  - {name: c, from: tray, to: closer, swing: 1 s}\n"
                             "  - {name: d, from: closer, to: shelf, swing: 1 s}\n" SHOP_END);
    ck_assert(!asked.budget->demand_met);
    ck_assert_uint_gt(asked.budget->notes.count, 0);
    ck_assert_double_eq_tol(asked.budget->product[0].greatest, 0, 1e-9);
    forget(&asked);
}
END_TEST

/* A chain of a supply, an arm, a station and an arm, one item each time: what is slowest is the
 * bottleneck, whichever it is, and what is slowest but for it comes next. Rates a minute: 60 / s.
 */
static const struct {
    const char *every, *loader, *time, *shelver; /* seconds */
    double greatest;
    const char *bottleneck, *next;
} chain[] = {
    {"1", "4", "2", "3", 15, "loader", "shelver"}, {"1", "3", "2", "4", 15, "shelver", "loader"},
    {"4", "1", "3", "2", 15, "blanks", "press"},   {"3", "1", "4", "2", 15, "press", "blanks"},
    {"2", "5", "4", "3", 12, "loader", "press"},   {"5", "4", "2", "3", 12, "blanks", "loader"},
    {"3", "2", "4", "5", 12, "shelver", "press"},  {"4", "3", "5", "2", 12, "press", "blanks"}};

START_TEST(slowest_limits_and_the_next_comes_after_it) {
    char text[1000];
    snprintf(text, sizeof text,
             "items: [blank, dial]\nchests: [{name: bin}, {name: shelf}]\n"
             "stations: [{name: press, takes: {blank: 1}, makes: {dial: 1}, time: %s}]\n"
             "arms:\n"
             "  - {name: loader, from: bin, to: press, swing: %s}\n"
             "  - {name: shelver, from: press, to: shelf, swing: %s}\n"
             "supplies: [{name: blanks, chest: bin, item: blank, every: %s}]\n" SHOP_END,
             chain[_i].time, chain[_i].loader, chain[_i].shelver, chain[_i].every);
    struct asked asked = ask(text);
    const struct budget_product *dial = &asked.budget->product[0];
    ck_assert_double_eq_tol(60 * dial->greatest, chain[_i].greatest, 1e-6);
    ck_assert_str_eq(dial->bottleneck, chain[_i].bottleneck);
    ck_assert_str_eq(dial->next, chain[_i].next);
    forget(&asked);
}
END_TEST

/* Two presses beside each other have nothing to do with each other: 15 dials a minute and 12 hands,
 * which take 4 s and 5 s, though one is asked for ten times as often as the other. */
START_TEST(products_that_share_nothing_do_not_limit_each_other) {
    struct asked asked =
        ask("items: [blank, dial, hand]\n"
            "chests: [{name: bin, start: {blank: 1}}, {name: shelf}]\n"
            "stations:\n"
            "  - {name: dial-press, takes: {blank: 1}, makes: {dial: 1}, time: 4 s}\n"
            "  - {name: hand-press, takes: {blank: 1}, makes: {hand: 1}, time: 5 s}\n"
            "arms:\n"
            "  - {name: dial-loader, from: bin, to: dial-press, swing: 1 s}\n"
            "  - {name: dial-shelver, from: dial-press, to: shelf, swing: 1 s}\n"
            "  - {name: hand-loader, from: bin, to: hand-press, swing: 1 s}\n"
            "  - {name: hand-shelver, from: hand-press, to: shelf, swing: 1 s}\n"
            "demands:\n"
            "  - {name: dials, chest: shelf, item: dial, every: 6 s}\n"
            "  - {name: hands, chest: shelf, item: hand, every: 1 min}\n");
    ck_assert_uint_eq(asked.budget->product_count, 2);
    ck_assert_double_eq_tol(60 * asked.budget->product[0].greatest, 15, 1e-6);
    ck_assert_double_eq_tol(60 * asked.budget->product[1].greatest, 12, 1e-6);
    forget(&asked);
}
END_TEST

static bool says(const struct asked *asked, const char *words) {
    for (uint32_t i = 0; i < asked->budget->notes.count; i++)
        if (strstr(asked->budget->notes.text[i], words) != NULL)
            return true;
    return false;
}

/* One supply of two ends, whichever it is: the other brings the item as long as it is ordered. */
START_TEST(a_supply_that_another_takes_over_has_no_end) {
    static const char *const end[] = {", until: 5 min", ""};
    for (int both = 0; both < 2; both++)
        for (int first = 0; first < 2; first++) {
            char text[600];
            snprintf(text, sizeof text,
                     "items: [dial]\nchests: [{name: bin}, {name: shelf}]\n"
                     "arms: [{name: shelver, from: bin, to: shelf, swing: 1 s}]\n"
                     "supplies:\n"
                     "  - {name: cart, chest: bin, item: dial, every: 6 s%s}\n"
                     "  - {name: van, chest: bin, item: dial, every: 6 s%s}\n" SHOP_END,
                     end[both == 1 ? 0 : first], end[both == 1 ? 0 : 1 - first]);
            struct asked asked = ask(text);
            ck_assert_int_eq(says(&asked, "orders go on"), both);
            forget(&asked);
        }
}
END_TEST

/* Ten thousand pins a second flow; of dials, one in two hours is asked for, and no arm brings
 * any. */
START_TEST(little_that_no_arm_brings_is_said_beside_much) {
    struct asked asked =
        ask("items: [pin, dial]\n"
            "chests: [{name: bin}, {name: rack}, {name: shelf}]\n"
            "arms: [{name: shelver, from: bin, to: shelf, swing: 0, hand: 1000}]\n"
            "supplies:\n"
            "  - {name: pins, chest: bin, item: pin, every: 1 s, batch: 10000}\n"
            "  - {name: dials, chest: rack, item: dial, every: 2 h}\n"
            "demands:\n"
            "  - {name: pin-orders, chest: shelf, item: pin, every: 1 s, batch: 10000}\n"
            "  - {name: dial-orders, chest: shelf, item: dial, every: 2 h}\n");
    ck_assert(says(&asked, "no arms lead dial"));
    forget(&asked);
}
END_TEST

/* A hand of one waits for nothing: a swing of half a second or of one is 120 or 60 items a minute,
 * in a run of a hundred minutes as in the budget, out of a chest as off a lane. */
START_TEST(a_hand_of_one_takes_one_a_swing) {
    struct asked asked = ask("run: {for: 100 min}\n"
                             "items: [dial]\n"
                             "loops: [{name: ring, cells: 61, rate: 6}]\n"
                             "chests: [{name: bin, start: {dial: 50000}}, {name: shelf}]\n"
                             "arms:\n"
                             "  - {name: feeder, from: bin, to: ring@0, swing: 0.5 s}\n"
                             "  - {name: taker, from: ring@30, to: shelf, swing: 1 s}\n"
                             "  - {name: mover, from: bin, to: shelf, swing: 0.5 s}\n" SHOP_END);
    static const double each_min[] = {120, 60, 120};
    struct world *world = world_new(asked.scenario);
    world_advance(world, asked.scenario->run_ticks);
    for (uint32_t i = 0; i < 3; i++)
        ck_assert_double_eq_tol(60 * asked.budget->arm[i].steady, each_min[i], 1e-9);
    for (uint32_t i = 1; i < 3; i++) /* not of the feeder, which must wait when the ring is full */
        ck_assert_double_eq_tol((double)world_arm_totals(world, i).moved / 100, each_min[i], 0.2);
    world_free(world);
    forget(&asked);
}
END_TEST

/* ---- what is too large ---- */

/* Three hundred products of one press that thirty arms may each carry are too many for the linear
 * program: no greatest rate is known, and it is said why. */
START_TEST(what_is_too_large_has_no_greatest_rates) {
    enum { ITEMS = 300, ARMS = 30 };
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    fprintf(out, "chests: [{name: bin}, {name: shelf}]\nitems: [");
    for (int i = 0; i < ITEMS; i++)
        fprintf(out, "%sdial-%d", i > 0 ? ", " : "", i);
    fprintf(out, "]\nstations:\n  - {name: press, takes: {dial-0: 1}, time: 1 s, makes: {");
    for (int i = 0; i < ITEMS; i++)
        fprintf(out, "%sdial-%d: 1", i > 0 ? ", " : "", i);
    fprintf(out, "}}\narms:\n");
    for (int i = 0; i < ARMS; i++)
        fprintf(out, "  - {name: arm-%d, from: bin, to: shelf, swing: 1 s}\n", i);
    fprintf(out, "demands:\n");
    for (int i = 0; i < ITEMS; i++)
        fprintf(out, "  - {name: order-%d, chest: shelf, item: dial-%d, every: 1 h}\n", i, i);
    char *text = text_stream_end(&stream);
    struct asked asked = ask(text);
    ck_assert_uint_eq(asked.budget->product_count, ITEMS);
    for (int i = 0; i < ITEMS; i++)
        ck_assert(!asked.budget->product[i].is_known);
    ck_assert(says(&asked, "too many products and arms"));
    forget(&asked);
    free(text);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("budget");
    TCase *tests = tcase_create("budget");
    tcase_add_loop_test(tests, kwo_judges_as_in_the_books, 0, sizeof kwo / sizeof *kwo);
    tcase_add_test(tests, kwo_is_asked_of_one_feeder_and_one_taker);
    tcase_add_test(tests, what_begins_nowhere_has_no_end);
    tcase_add_test(tests, what_a_taker_misses_comes_round_again);
    tcase_add_test(tests, what_is_spoilt_comes_round_again);
    tcase_add_test(tests, by_product_that_nobody_wants_is_a_surplus);
    tcase_add_test(tests, carrier_that_goes_round_need_not_be_brought);
    tcase_add_test(tests, circle_that_yields_nothing_is_told);
    tcase_add_test(tests, products_that_share_nothing_do_not_limit_each_other);
    tcase_add_test(tests, a_supply_that_another_takes_over_has_no_end);
    tcase_add_test(tests, little_that_no_arm_brings_is_said_beside_much);
    tcase_add_test(tests, a_hand_that_lingers_misses_less);
    tcase_add_test(tests, a_hand_of_one_takes_one_a_swing);
    tcase_add_test(tests, what_is_too_large_has_no_greatest_rates);
    tcase_add_loop_test(tests, slowest_limits_and_the_next_comes_after_it, 0,
                        sizeof chain / sizeof *chain);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
