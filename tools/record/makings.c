/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/makings.c - counts of items made are compared after each tick in which a batch
 * ended.
 */
#include "tools/record/makings.h"

#include <stdlib.h>

#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"

void makings_init(struct makings *makings, const struct scenario *scenario,
                  const struct world *world) {
    bool *product = require_memory(scenario->item_count, sizeof *product);
    layout_mark_products(scenario, product);
    *makings = (struct makings){.world = world};
    makings->making = require_memory(scenario->item_count, sizeof *makings->making);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (product[i])
            makings->making[makings->count++] = (struct making){.item = i, .last_tick = NOT_GIVEN};
    free(product);
}

void makings_free(struct makings *makings) {
    free(makings->making);
    *makings = (struct makings){0};
}

static bool look_at(const struct world *world, struct making *making) {
    int64_t made = world_item_totals(world, making->item).made;
    if (made == making->made)
        return false;
    making->made = made;
    making->times++;
    making->last_tick = world_tick(world);
    making->recent[making->recent_times++ % MAKINGS_TIMES] = making->last_tick;
    return true;
}

bool makings_look(struct makings *makings) {
    uint64_t batches = world_batches(makings->world);
    bool any = false;
    if (batches == makings->batches_seen)
        return false;
    makings->batches_seen = batches;
    for (uint32_t i = 0; i < makings->count; i++)
        any = look_at(makings->world, &makings->making[i]) || any;
    return any;
}

void makings_warm(struct makings *makings) {
    for (uint32_t i = 0; i < makings->count; i++)
        makings->making[i].warm_times = makings->making[i].times;
}

struct mean_interval makings_mean(const struct making *making, int64_t warm_up_ticks,
                                  int64_t tick) {
    int64_t ticks = tick - warm_up_ticks;
    return (struct mean_interval){ticks > 0 ? ticks : 0, making->times - making->warm_times};
}

struct mean_interval makings_mean_to_last(const struct making *making, int64_t warm_up_ticks) {
    struct mean_interval mean = makings_mean(making, warm_up_ticks, making->last_tick);
    if (making->times == 0 || (mean.ticks > 0 && mean.times > 0))
        return mean;
    return (struct mean_interval){making->last_tick, making->times};
}

void makings_forget(struct makings *makings) {
    for (uint32_t i = 0; i < makings->count; i++)
        makings->making[i].recent_times = 0;
}

/* The sign of `ticks` less ten usual intervals. */
static int compare_with_ten(const struct making *making, int64_t ticks) {
    struct ratio ten = {MAKINGS_INTERVALS * making->usual.ticks, making->usual.times};
    return quantity_compare((struct ratio){ticks, 1}, ten);
}

bool makings_is_usual(const struct making *making, int64_t tick) {
    if (making->usual.times == 0)
        return true;
    if (making->recent_times < MAKINGS_TIMES)
        return false;
    int64_t ninth = making->recent[making->recent_times % MAKINGS_TIMES];
    return compare_with_ten(making, tick - ninth) < 0;
}

bool makings_have_ended(const struct making *making, int64_t since, int64_t tick) {
    int64_t from = making->last_tick > since ? making->last_tick : since;
    return making->usual.times > 0 && tick > from && compare_with_ten(making, tick - from) > 0;
}
