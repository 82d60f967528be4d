/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/shelf_stock.c - orders as they come, and what is made meanwhile. */
#include "model/design/shelf_stock.h"

#include <math.h>

#include "model/design/base_stock.h"

enum { FILL_SECONDS = 900 };

struct orders {
    bool any, random;
    bool patient; /* all wait for what is missing */
    int64_t batch;
};

static struct orders orders_of(const struct drawing *drawing, uint32_t item) {
    struct orders orders = {false, false, true, 1};
    for (uint32_t i = 0; i < drawing->scenario->demand_count; i++) {
        const struct scenario_stream *demand = &drawing->scenario->demand[i];
        if (demand->outlet || demand->item != item)
            continue;
        orders.any = true;
        orders.patient = orders.patient && demand->when == WHEN_WAIT;
        orders.random = orders.random || span_is_random(&demand->every);
        orders.batch = demand->batch > orders.batch ? demand->batch : orders.batch;
    }
    return orders;
}

static double utilisation_of(const struct drawing *drawing, uint32_t recipe) {
    return drawing->need.batches[recipe] / design_need_station_rate(drawing->scenario, recipe) /
           drawing->need.copies[recipe];
}

/* Orders that wait need no more than is made in some minutes, so that the shelf is soon full when
 * nobody orders. */
static int64_t made_in_time(const struct drawing *drawing, uint32_t recipe, int64_t batch) {
    double rate =
        design_need_station_rate(drawing->scenario, recipe) * drawing->need.copies[recipe];
    return (int64_t)fmin(fmax(ceil(rate * FILL_SECONDS), (double)batch + 1), 1e9);
}

static void say_base_stock(double busy, int64_t orders, int64_t batch, char *why) {
    plan_say(why, "a base stock");
    if (batch > 1)
        plan_say_more(why, " of %lld orders of %lld", (long long)orders, (long long)batch);
    plan_say_more(why,
                  ": with stations busy for %.0f %% of the time, %.4g^%lld = %.2g of the orders "
                  "find none (M/M/1, make to stock)",
                  100 * busy, busy, (long long)orders, pow(busy, (double)orders));
}

int64_t shelf_stock_stop(const struct drawing *drawing, uint32_t recipe, uint32_t item, char *why) {
    struct orders orders = orders_of(drawing, item);
    const struct scenario_station *station = &drawing->scenario->station[recipe];
    double met = (double)drawing->may->met.numerator / (double)drawing->may->met.denominator;
    double busy = utilisation_of(drawing, recipe);
    bool random = orders.random || span_is_random(&station->time) || station->breaks->present;
    double time = (double)station->time.mean_ticks / (double)drawing->scenario->ticks_per_second;
    double meanwhile =
        ceil(drawing->need.demanded[item] * (time + drawing_swing_s(drawing, 0)) - DESIGN_HAIR);
    int64_t stock =
        random ? base_stock_least(busy, met) * orders.batch : orders.batch + (int64_t)meanwhile;
    if (random)
        say_base_stock(busy, stock / orders.batch, orders.batch, why);
    else
        plan_say(why, "one order of %lld, and the %.0f that are ordered while a batch is made",
                 (long long)orders.batch, meanwhile);
    plan_say_factor(why, drawing->choice->shelf[item]);
    stock = (int64_t)ceil((double)stock * drawing->choice->shelf[item] - DESIGN_HAIR);
    int64_t most = orders.patient ? made_in_time(drawing, recipe, orders.batch) : stock;
    if (stock > most)
        plan_say_also(why, "cut to what is made in %d minutes", FILL_SECONDS / 60);
    stock = stock < most ? stock : most;
    return stock > 1 ? stock : 1;
}

static double most_taken(const struct drawing *drawing, uint32_t item) {
    double most = 0;
    for (uint32_t s = 0; s < drawing->scenario->station_count; s++)
        most = drawing->need.copies[s] > 0 ? fmax(most, drawing_takes(drawing, s, item)) : most;
    return most;
}

int64_t shelf_stock_kept(const struct drawing *drawing, uint32_t item, char *why) {
    double met = (double)drawing->may->met.numerator / (double)drawing->may->met.denominator;
    double taken = most_taken(drawing, item),
           share = drawing->need.used[item] / drawing->need.made[item];
    int64_t batches = base_stock_least(share, met);
    if (taken <= 0)
        return 0;
    plan_say(
        why,
        ", %lld batches for the stations that use %.0f %% of it: %.4g^%lld = %.2g of their batches "
        "find none (M/M/1, make to stock)",
        (long long)batches, 100 * share, share, (long long)batches, pow(share, (double)batches));
    plan_say_factor(why, drawing->choice->shelf[item]);
    return (int64_t)ceil((double)batches * taken * drawing->choice->shelf[item] - DESIGN_HAIR);
}

int64_t shelf_stock_ordered_at_first(const struct drawing *drawing, uint32_t item) {
    enum { WATCHED_SECONDS = 600 };
    const struct scenario *scenario = drawing->scenario;
    double ticks = (double)(scenario->warm_up_ticks + WATCHED_SECONDS * scenario->ticks_per_second);
    double all = 0;
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        const struct scenario_stream *demand = &scenario->demand[i];
        double mean = ticks / (double)(demand->every.mean_ticks > 0 ? demand->every.mean_ticks : 1);
        double most = span_is_random(&demand->every) ? ceil(mean + 3 * sqrt(mean)) : ceil(mean);
        if (demand->item == item && !demand->outlet)
            all += most * (double)demand->batch;
    }
    return (int64_t)fmin(all, 1e9);
}

bool shelf_stock_is_seldom(const struct drawing *drawing, uint32_t item) {
    enum { SELDOM_SECONDS = 300 };
    double seldom = (double)(SELDOM_SECONDS * drawing->scenario->ticks_per_second), orders = 0;
    for (uint32_t i = 0; i < drawing->scenario->demand_count; i++) {
        const struct scenario_stream *demand = &drawing->scenario->demand[i];
        if (demand->item == item && !demand->outlet && demand->every.mean_ticks > 0)
            orders += seldom / (double)demand->every.mean_ticks;
    }
    return orders > 0 && orders < 1;
}

int64_t shelf_stock_under_way(const struct drawing *drawing, uint32_t recipe, uint32_t item) {
    const struct scenario_station *station = &drawing->scenario->station[recipe];
    int64_t all = 0;
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            all +=
                (station->makes[i].room + station->makes[i].count) * drawing->need.copies[recipe];
    return all;
}
