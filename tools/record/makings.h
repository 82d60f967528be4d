/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/makings.h - when the products of a run are made, and whether they are made as often
 * as usual. Several items that are made in one tick are one making. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"

/* A product is made as usual when it was made so often within so many of its mean intervals: with
 * intervals that are drawn, a gap or two of them does not count. Ten intervals without any are
 * taken for an end of it. */
enum { MAKINGS_TIMES = 9, MAKINGS_INTERVALS = 10 };

/* A mean interval of ticks / times; times 0: it was not made. */
struct mean_interval {
    int64_t ticks, times;
};

/* One product. */
struct making {
    uint32_t item;
    int64_t made;                  /* items so far */
    int64_t times, warm_times;     /* makings so far, and in the warm-up */
    int64_t last_tick;             /* NOT_GIVEN: not made so far */
    int64_t recent[MAKINGS_TIMES]; /* the last ones, in a ring, */
    int64_t recent_times;          /* of so many since makings_forget */
    struct mean_interval usual;    /* set by whoever asks makings_is_usual */
};

/* All products (model/scenario/layout.h) in the scenario's order. */
struct makings {
    const struct world *world;
    uint64_t batches_seen;
    struct making *making;
    uint32_t count;
};

/* None so far, of a world before its first tick; the world must outlive it. Freed with
 * makings_free. */
void makings_init(struct makings *makings, const struct scenario *scenario,
                  const struct world *world);
void makings_free(struct makings *makings);

/* To be called after each tick in which something was due. True: something was made in it. */
bool makings_look(struct makings *makings);
/* To be called at the end of the warm-up. */
void makings_warm(struct makings *makings);
/* Of a product, from the end of the warm-up, which was at `warm_up_ticks`, up to `tick`. */
struct mean_interval makings_mean(const struct making *making, int64_t warm_up_ticks, int64_t tick);
/* Of a product, up to its last making, from the end of the warm-up, which was at `warm_up_ticks`;
 * from tick 0 if it was made in the warm-up alone, so that one that ended there has an interval. */
struct mean_interval makings_mean_to_last(const struct making *making, int64_t warm_up_ticks);

/* From now on only what comes counts for makings_is_usual. */
void makings_forget(struct makings *makings);
/* Whether it was made nine times within the last ten of its usual intervals; true of one that has
 * none. */
bool makings_is_usual(const struct making *making, int64_t tick);
/* Whether it was not made for more than ten of its usual intervals, from `since` on; false of one
 * that has none. */
bool makings_have_ended(const struct making *making, int64_t since, int64_t tick);
