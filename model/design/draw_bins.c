/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_bins.c - from delivery to delivery. */
#include "model/design/draw_bins.h"

#include <math.h>

#include "model/design/base_stock.h"
#include "model/design/draw_chests.h"
#include "model/design/variation.h"

static double first_of(const struct drawing *drawing, const struct scenario_stream *supply) {
    double tps = (double)drawing->scenario->ticks_per_second;
    if (supply->first_tick != NOT_GIVEN)
        return (double)supply->first_tick / tps;
    return (double)supply->every.mean_ticks / tps;
}

/* Seconds that a bin has to last: from delivery to delivery, two deviations longer where these are
 * random, and longer where they fail. */
static double lasts_for(const struct drawing *drawing, uint32_t item) {
    double tps = (double)drawing->scenario->ticks_per_second, longest = 0;
    for (uint32_t i = 0; i < drawing->scenario->supply_count; i++) {
        const struct scenario_stream *supply = &drawing->scenario->supply[i];
        if (supply->item != item)
            continue;
        double every = (double)supply->every.mean_ticks / tps;
        every *= 1 + 2 * sqrt(variation_squared(&supply->every));
        if (supply->breaks->present)
            every += 3 * (double)supply->breaks->repair.mean_ticks / tps;
        longest = fmax(longest, fmax(every, first_of(drawing, supply)));
    }
    return longest;
}

/* Squared, how much the time varies in which a delivery is used: that of the batches of which it is
 * so many, each taken at random. */
static double use_varies(const struct drawing *drawing, uint32_t item, int64_t delivered) {
    double most = 0;
    for (uint32_t s = 0; s < drawing->scenario->station_count; s++)
        most = fmax(most, drawing_takes(drawing, s, item));
    return fmin(most / (double)delivered, 1);
}

/* Deliveries that a bin has to hold where they come by chance: with a share `need / supply` of what
 * comes used, by the rule of a base stock in which the bin is what is served. Those of a supply
 * that fails come at random. */
static int64_t deliveries_for(const struct drawing *drawing, uint32_t item) {
    double met = (double)drawing->may->met.numerator / (double)drawing->may->met.denominator;
    for (uint32_t i = 0; i < drawing->scenario->supply_count; i++) {
        const struct scenario_stream *supply = &drawing->scenario->supply[i];
        if (supply->item != item || (!span_is_random(&supply->every) && !supply->breaks->present))
            continue;
        double comes = supply->breaks->present ? 1 : variation_squared(&supply->every);
        double variation = (comes + use_varies(drawing, item, supply->batch)) / 2;
        return base_stock_varied(drawing->need.bought[item] / drawing->need.supplied[item],
                                 1 - (1 - met) / 4, variation);
    }
    return 1;
}

static void add_bin_of(struct drawing *drawing, uint32_t item, uint32_t *last) {
    int64_t batch = 0;
    for (uint32_t i = 0; i < drawing->scenario->supply_count; i++)
        if (drawing->scenario->supply[i].item == item && drawing->scenario->supply[i].batch > batch)
            batch = drawing->scenario->supply[i].batch;
    int64_t deliveries = deliveries_for(drawing, item);
    double meanwhile =
        ceil(drawing->need.bought[item] * lasts_for(drawing, item) + 2 - DESIGN_HAIR);
    double limit = ceil(drawing->choice->bin * ((double)(batch * deliveries) + meanwhile));
    struct plan_stock stock = {
        .item = item, .limit = (int64_t)fmin(limit, 1e9), .start = (int64_t)fmin(meanwhile, 1e9)};
    if (deliveries > 1)
        plan_say(stock.why, "%lld deliveries, since they come by chance, ", (long long)deliveries);
    else
        plan_say(stock.why, "a delivery ");
    plan_say_more(stock.why, "of %lld, and the %.0f that are used until the next", (long long)batch,
                  meanwhile);
    plan_say_factor(stock.why, drawing->choice->bin);
    drawing->bin[item] =
        draw_chests_put(drawing, last, drawing->choice->one_store ? "store" : "bin", stock);
}

uint32_t draw_bins(struct drawing *drawing) {
    uint32_t last = NO_INDEX;
    for (uint32_t i = 0; i < drawing->scenario->item_count; i++)
        if (drawing->need.supplied[i] > 0)
            add_bin_of(drawing, i, &last);
    return last;
}

/* What all trays take of an item until they are full. */
static int64_t tray_room(const struct drawing *drawing, uint32_t item) {
    int64_t room = 0;
    for (uint32_t s = 0; s < drawing->plan->station_count; s++) {
        const struct plan_station *station = &drawing->plan->station[s];
        int64_t own = drawing->scenario->station[station->recipe].ahead;
        int64_t batches = station->ahead != NOT_GIVEN ? station->ahead : own;
        room += batches * (int64_t)drawing_takes(drawing, station->recipe, item);
    }
    return room;
}

void draw_bins_fill_trays(struct drawing *drawing) {
    for (uint32_t c = 0; c < drawing->plan->chest_count && drawing->choice->full_trays; c++) {
        struct plan_chest *chest = &drawing->plan->chest[c];
        for (uint32_t i = 0; i < chest->stock_count; i++) {
            struct plan_stock *stock = &chest->stock[i];
            int64_t more = tray_room(drawing, stock->item);
            int64_t left = drawing->may->capacity_most - plan_chest_limits(chest);
            if (drawing->bin[stock->item] != c || more == 0 || chest->given != NO_INDEX)
                continue;
            more = more < left ? more : left;
            stock->start += more;
            stock->limit += more;
            plan_say_also(stock->why, "it begins with %lld for the trays", (long long)more);
        }
        if (chest->given == NO_INDEX)
            chest->capacity = may_capacity_for(drawing->may, plan_chest_limits(chest));
    }
}
