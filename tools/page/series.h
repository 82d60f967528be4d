/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/series.h - a run as lines over time, for the charts of the page: looked at in each
 * sample tick of the run (watch.every), and drawn together to as many spans of time as a screen can
 * show. Of what goes up and down the least and the greatest of a span remain, never a mean, so that
 * no peak is lost; of counts that only rise, their value at the span's end.
 *
 * Packed as in packed.h, one list after another, each with its length before it and each number but
 * the first as the difference (signed) from the one before:
 *   the ends of the spans, in ticks
 *   each track: the ticks of two samples a span, that with the fewest and that with the most cells
 *     held, the earlier first; then the cells held at these; then of each item that ever was there
 *     (series_plan names them) how many
 *   each count of a chest or stock that was ever there: least and greatest of each span, in the
 *     order in which they came
 *   each item that is made or asked for: made; asked for; taken
 *   each station, then each arm: ticks in each state */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include <jansson.h>

#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "sim/bytes.h"

enum { SERIES_SPANS = 600 }; /* at most */

struct series;

/* Of a run from the tick `first` to `last`. Both must outlive it. Freed with series_free. */
struct series *series_new(const struct scenario *scenario, const struct world *world,
                          int64_t first_tick, int64_t last_tick);
void series_free(struct series *series);
/* The world has executed a sample tick, or its last. */
void series_take(struct series *series);
/* All of it, packed; the last span ends here. Freed with bytes_free. */
struct bytes series_pack(struct series *series);
/* What stands in it: the items of each track, counts as pairs of place and item, items. */
json_t *series_plan(const struct series *series);
