/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_identities.c - what must hold in every run to the last item and tick: nothing
 * is lost, times add up, a turned ring and a finer clock give the same history. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/outside/ledger.h"
#include "tests/outside/shop.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static const struct ledger_source balance = {
    "balance",
    "conservation of material; as the balance of flow in E. J. Muth, Analysis of closed-loop "
    "conveyor systems, AIIE Transactions 4 (1972) 134-143",
    "abstract read"};
static const struct ledger_source little = {
    "Little 1961",
    "J. D. C. Little, A proof for the queuing formula L = λW, Operations Research 9 (1961) "
    "383-387; for each path: S. Stidham, Operations Research 22 (1974) 417-421",
    "recalled"};
static const struct ledger_source symmetry = {
    "symmetry", "a ring has no first cell, and time no unit of its own", "by definition"};

/* ---- nothing is lost, and times add up ---- */

static struct place track_place(const struct scenario *scenario, uint32_t i) {
    if (i < scenario->lane_count)
        return (struct place){.kind = PLACE_LANE, .index = i};
    return (struct place){.kind = PLACE_LINE, .index = i - scenario->lane_count};
}

/* All of a kind that is somewhere, counted place by place. */
static int64_t items_there(const struct world *world, const struct scenario *scenario,
                           uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        count += world_chest_count(world, i, item);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        count += world_hand_count(world, i, item);
    for (uint32_t i = 0; i < scenario->lane_count + scenario->line_count; i++)
        count += world_track_count(world, track_place(scenario, i), item);
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        const struct scenario_station *station = &scenario->station[s];
        for (uint32_t i = 0; i < station->takes.count; i++)
            count += station->takes.entry[i].item == item ? world_input_count(world, s, i) : 0;
        for (uint32_t i = 0; i < station->makes_count; i++)
            count += station->makes[i].item == item ? world_output_count(world, s, i) : 0;
    }
    return count;
}

static int64_t items_at_start(const struct scenario *scenario, uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t k = 0; k < scenario->chest[i].start.count; k++)
            if (scenario->chest[i].start.entry[k].item == item)
                count += scenario->chest[i].start.entry[k].count;
    return count;
}

static int64_t unbalanced_items(const struct world *world, const struct scenario *scenario) {
    int64_t off = 0;
    for (uint32_t item = 0; item < scenario->item_count; item++) {
        struct item_totals totals = world_item_totals(world, item);
        int64_t should = items_at_start(scenario, item) + totals.supplied + totals.dropped +
                         totals.made - totals.met - totals.consumed - totals.cleared;
        off += llabs(should - items_there(world, scenario, item));
    }
    return off;
}

static int64_t unaccounted_ticks(const struct world *world, const struct scenario *scenario) {
    int64_t off = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct arm_totals totals = world_arm_totals(world, i);
        int64_t sum = 0;
        for (int s = 0; s < ARM_STATES; s++)
            sum += totals.ticks[s];
        off += llabs(sum - world_tick(world));
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        struct station_totals totals = world_station_totals(world, i);
        int64_t sum = 0;
        for (int s = 0; s < STATION_STATES; s++)
            sum += totals.ticks[s];
        off += llabs(sum - world_tick(world));
    }
    return off;
}

static void balances(void) {
    ledger_group("Balances",
                 "The scenarios that come with the program, half an hour each, looked at after "
                 "every 37th tick.");
    static const char *const name[] = {
        "demo",       "surplus-jam",  "surplus-cured",   "heap-thins",   "heap-stays",
        "shelf-full", "packing-line", "passing-through", "bulk-and-mix", "two-loops"};
    for (size_t i = 0; i < LENGTH(name); i++) {
        char path[64];
        snprintf(path, sizeof path, "scenarios/%s.yaml", name[i]);
        struct faults faults = {0};
        bool unreadable = false;
        struct scenario *scenario = read_scenario_file(path, NULL, 0, &faults, &unreadable);
        require(scenario != NULL);
        faults_free(&faults);
        struct world *world = world_new(scenario);
        int64_t items = 0, ticks = 0;
        for (int64_t tick = 0; tick < 1800 * scenario->ticks_per_second; tick += 37) {
            world_advance(world, tick);
            items += unbalanced_items(world, scenario);
            ticks += unaccounted_ticks(world, scenario);
        }
        ledger_exact(&balance, 0, (double)items, "%s: items too many or few", name[i]);
        ledger_exact(&balance, 0, (double)ticks, "%s: ticks of arms and stations not in one state",
                     name[i]);
        world_free(world);
        scenario_free(scenario);
    }
}

/* ---- a workshop of which there are variants ---- */

struct variant {
    uint32_t turned; /* cells by which all positions are shifted */
    int64_t ticks_per_second;
    double stretch; /* of all times */
};

static uint32_t cell(const struct variant *variant, uint32_t at) {
    return (at + variant->turned) % 40;
}

static struct scenario *open_variant(const struct variant *variant) {
    double s = variant->stretch;
    struct shop shop = {.ticks_per_second = variant->ticks_per_second};
    shop_item(&shop, "comb", 1);
    shop_item(&shop, "rail", 2);
    shop_item(&shop, "chime", 1);
    shop_part(&shop, SHOP_LOOPS, "name: ring, cells: 40, rate: %g", 8 / s);
    shop_part(&shop, SHOP_CHESTS, "name: combs");
    shop_part(&shop, SHOP_CHESTS, "name: rails");
    shop_part(&shop, SHOP_CHESTS, "name: shelf");
    shop_part(&shop, SHOP_STATIONS,
              "name: bench, takes: {comb: 2, rail: 1}, makes: {chime: 1}, time: %g", 3 * s);
    shop_part(&shop, SHOP_ARMS,
              "name: comb-feeder, from: combs, to: ring@%u, items: [comb], hand: 2, swing: %g, "
              "gate: {loop: ring, item: comb, below: 8}",
              cell(variant, 3), 1.2 * s);
    shop_part(&shop, SHOP_ARMS,
              "name: rail-feeder, from: rails, to: ring@%u, items: [rail], swing: %g, gate: {loop: "
              "ring, item: rail, below: 5}",
              cell(variant, 9), 2.4 * s);
    shop_part(&shop, SHOP_ARMS,
              "name: taker, from: ring@%u, to: bench, hand: 2, swing: %g, linger: %g",
              cell(variant, 25), 0.9 * s, 2 * s);
    shop_part(&shop, SHOP_ARMS, "name: shelver, from: bench, to: shelf, swing: %g", s);
    shop_part(&shop, SHOP_SUPPLIES,
              "name: comb-source, chest: combs, item: comb, every: %g, until: %g", 1.5 * s,
              600 * s);
    shop_part(&shop, SHOP_SUPPLIES,
              "name: rail-source, chest: rails, item: rail, every: %g, until: %g", 3 * s, 600 * s);
    return shop_open(&shop);
}

/* ---- a history as numbers ---- */

struct history {
    const struct scenario *scenario;
    uint64_t sum; /* over all moves in their order; cells left out */
    int64_t moves;
    int64_t stays; /* ticks of all items on the ring, times their cells, up to the last tick */
};

static void note_move(void *self, const struct move *move) {
    struct history *history = self;
    const uint64_t part[] = {(uint64_t)move->tick, move->arm, move->act, move->item,
                             (uint64_t)move->count};
    for (size_t i = 0; i < LENGTH(part); i++)
        history->sum = (history->sum ^ part[i]) * UINT64_C(0x100000001B3);
    history->moves++;
    if (move->place.kind != PLACE_LANE)
        return;
    int64_t cell_ticks = move->tick * history->scenario->item[move->item].length;
    history->stays += move->act == MOVE_PLACE ? -cell_ticks : cell_ticks;
}

static const struct place ring = {.kind = PLACE_LANE};

static void look_at_cells(const struct world *world, const void *of, double *seen) {
    (void)of;
    seen[0] += (double)world_track_cells(world, ring);
}

enum { HISTORY_TICKS = 120000 };

struct integrals {
    double looked,
        counted; /* of held cells: by looking at every tick, and as the world counts them */
};

static struct history history_of(const struct variant *variant, struct integrals *integrals) {
    struct scenario *scenario = open_variant(variant);
    struct world *world = world_new(scenario);
    struct history history = {.scenario = scenario};
    world_listen(world, &(struct listener){.self = &history, .moved = note_move});
    const struct trial_window window = {-1, HISTORY_TICKS - 1, 1};
    trial_average(world, window, look_at_cells, NULL, 1, &integrals->looked);
    integrals->looked *= HISTORY_TICKS;
    world_advance(world, HISTORY_TICKS);
    integrals->counted = world_track_totals(world, ring).cell_ticks;
    history.stays += world_track_cells(world, ring) * HISTORY_TICKS;
    world_free(world);
    scenario_free(scenario);
    return history;
}

static void check_variant(const struct history *plain, struct variant variant, const char *what,
                          double number) {
    struct integrals integrals = {0};
    struct history history = history_of(&variant, &integrals);
    ledger_exact(&symmetry, (double)plain->moves,
                 history.sum == plain->sum ? (double)history.moves : -1, what, number);
}

static void histories(void) {
    ledger_group(
        "Symmetries, and Little's law item by item",
        "A bench on a ring of 40 cells, two feeders with gates, hands of two, items of one and "
        "two cells, 20 minutes of which supplies come for 10. Moves are compared in their "
        "order, but for their cells. Little: held cells summed over the ticks are the stays of "
        "all items; one that is left stays to the end.");
    struct integrals integrals = {0};
    const struct history plain = history_of(&(struct variant){0, 100, 1}, &integrals);
    static const uint32_t turned[] = {1, 7, 20, 39};
    for (size_t i = 0; i < LENGTH(turned); i++)
        check_variant(&plain, (struct variant){turned[i], 100, 1},
                      "all positions %g cells on: moves that are the same", turned[i]);
    static const double stretch[] = {2, 4, 0.5};
    for (size_t i = 0; i < LENGTH(stretch); i++)
        check_variant(&plain, (struct variant){0, (int64_t)(100 / stretch[i]), stretch[i]},
                      "all times and the tick %g times as long: moves that are the same",
                      stretch[i]);
    ledger_exact(&little, (double)plain.stays, integrals.looked,
                 "cell ticks on the ring, looked at");
    ledger_exact(&little, (double)plain.stays, integrals.counted,
                 "cell ticks on the ring, as counted");
}

int main(void) {
    balances();
    histories();
    return ledger_end();
}
