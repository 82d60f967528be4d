/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/may.c - defaults, and lists that grow. */
#include "model/scenario/may.h"

#include <stdlib.h>

#include "sim/require.h"

enum { SEEDS = 20, NIGHT_HOURS = 12, LANES = 2, LOOPS = 3, CELLS = 400, CAPACITY = 400 };
enum { STATIONS = 6 };

void may_init(struct may *may, int64_t ticks_per_second) {
    *may = (struct may){.loop_cells_most = CELLS,
                        .line_cells_most = CELLS,
                        .lanes_most = LANES,
                        .loops_most = LOOPS,
                        .capacity_most = CAPACITY,
                        .stations_most = STATIONS,
                        .met = {49, 50},
                        .survive_ticks = NIGHT_HOURS * 3600 * ticks_per_second,
                        .seeds = SEEDS,
                        .drain = true,
                        .restart = true,
                        .disturb = true,
                        .flood = {4, 5}};
}

void may_free(struct may *may) {
    for (uint32_t i = 0; i < may->arm_count; i++)
        free(may->arm[i].swing);
    may_clear_rates(&may->loop_rates);
    may_clear_rates(&may->line_rates);
    free(may->arm);
    free(may->capacity);
    *may = (struct may){0};
}

void may_add_arm(struct may *may, int64_t swing_ticks, const char *swing, uint32_t hand) {
    may->arm = require_more_memory(may->arm, may->arm_count + 1, sizeof *may->arm);
    may->arm[may->arm_count++] = (struct may_arm){swing_ticks, require_text(swing), hand};
}

void may_add_rate(struct may_rates *rates, struct ratio rate, const char *text) {
    rates->rate = require_more_memory(rates->rate, rates->count + 1, sizeof *rates->rate);
    rates->rate[rates->count++] = (struct may_rate){rate, require_text(text)};
}

void may_clear_rates(struct may_rates *rates) {
    for (uint32_t i = 0; i < rates->count; i++)
        free(rates->rate[i].text);
    free(rates->rate);
    *rates = (struct may_rates){0};
}

int64_t may_capacity_for(const struct may *may, int64_t count) {
    for (uint32_t i = 0; i < may->capacity_count; i++)
        if (may->capacity[i] >= count)
            return may->capacity[i];
    return may->capacity_count == 0 && count <= may->capacity_most ? count : NOT_GIVEN;
}
