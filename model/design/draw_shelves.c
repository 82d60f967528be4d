/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_shelves.c - stocks, gates and outlets of products and by-products. */
#include "model/design/draw_shelves.h"

#include <math.h>

#include "model/design/draw_carriers.h"
#include "model/design/draw_chests.h"
#include "model/design/draw_overflow.h"
#include "model/design/shelf_stock.h"
#include "sim/require.h"

/* The stations of a recipe stop while enough of its product lies on the shelf. */
static void gate_stations(struct drawing *drawing, uint32_t recipe, uint32_t item, int64_t below,
                          const char *why) {
    for (uint32_t c = 0; c < drawing->need.copies[recipe]; c++) {
        struct plan_station *station = &drawing->plan->station[drawing->first_station[recipe] + c];
        if (drawing->choice->gate_given[recipe] || station->chest != NO_INDEX)
            continue;
        station->chest = drawing->shelf[item];
        station->item = item;
        station->below = below;
        plan_say_also(station->why, "it stops at %lld on the shelf: %s", (long long)below, why);
    }
}

static uint32_t main_maker(const struct drawing *drawing, uint32_t item) {
    for (uint32_t s = 0; s < drawing->scenario->station_count; s++)
        if (drawing->need.batches[s] > 0 && design_need_makes(drawing->scenario, s, item) > 0)
            return s;
    return NO_INDEX;
}

/* The count from which a surplus goes, as far below the limit that the shelf got as what is under
 * way needs. */
static int64_t cut_to_room(const struct drawing *drawing, uint32_t item, int64_t from,
                           int64_t coming) {
    const struct plan_chest *chest = &drawing->plan->chest[drawing->shelf[item]];
    int64_t most = chest->stock[chest->stock_count - 1].limit - coming + 1;
    require(chest->stock[chest->stock_count - 1].item == item);
    return from < most ? from : most > 1 ? most : 1;
}

static void add_shelf_of(struct drawing *drawing, uint32_t item, uint32_t *last,
                         uint32_t *surplus) {
    uint32_t recipe = main_maker(drawing, item);
    double left = design_need_surplus(&drawing->need, item);
    bool wanted = drawing->need.demanded[item] > 0 || drawing->need.used[item] > 0;
    struct plan_stock stock = {.item = item};
    int64_t coming = shelf_stock_under_way(drawing, recipe, item), below = 1, ahead = 0;
    char why[PLAN_WHY_BYTES] = "", kept[PLAN_WHY_BYTES] = "";
    if (wanted)
        below = shelf_stock_stop(drawing, recipe, item, why);
    if (wanted && left > 0)
        below += shelf_stock_kept(drawing, item, kept);
    if (wanted)
        stock.start = (int64_t)floor((double)below * drawing->choice->shelf_start + DESIGN_HAIR);
    if (wanted && left == 0 &&
        (drawing->choice->head_start[item] || shelf_stock_is_seldom(drawing, item)))
        ahead = shelf_stock_ordered_at_first(drawing, item);
    if (left > 0)
        coming += (int64_t)ceil(drawing_most_made(drawing, item) * OUTLET_SECONDS * 1.5) + 8;
    stock.start += ahead;
    stock.limit = below - 1 + (coming > ahead ? coming : ahead + 1);
    if (left > 0 && !wanted)
        plan_say(stock.why, "what may come before it is taken away");
    else if (left > 0)
        plan_say(stock.why, "%lld kept, and %lld that may come before the rest is taken away",
                 (long long)below - 1, (long long)coming);
    else
        plan_say(stock.why,
                 "%lld at which its stations stop, and %lld more that are under way then",
                 (long long)below, (long long)coming - 1);
    if (ahead > 0)
        plan_say_also(stock.why, "it begins with %lld more, which are ordered before any is made",
                      (long long)ahead);
    drawing->shelf[item] = draw_chests_put(drawing, last, "shelf", stock);
    if (left > 0 && wanted)
        draw_overflow(drawing, item, cut_to_room(drawing, item, below, coming), kept, surplus);
    else if (left > 0)
        draw_outlet(drawing, item, drawing_most_made(drawing, item));
    else
        gate_stations(drawing, recipe, item, below, why);
}

void draw_shelves(struct drawing *drawing, uint32_t store) {
    uint32_t last = store, surplus = NO_INDEX, carriers = NO_INDEX;
    for (uint32_t i = 0; i < drawing->scenario->item_count; i++)
        if (drawing->lanes.carrier[i])
            draw_carriers(drawing, i, &carriers, &surplus);
        else if (drawing->lanes.shelved[i])
            add_shelf_of(drawing, i, &last, &surplus);
}
