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
    for (uint32_t i = 0; i < may->loop_rate_count; i++)
        free(may->loop_rate[i].text);
    for (uint32_t i = 0; i < may->line_rate_count; i++)
        free(may->line_rate[i].text);
    free(may->arm);
    free(may->loop_rate);
    free(may->line_rate);
    free(may->capacity);
    *may = (struct may){0};
}

void may_add_arm(struct may *may, int64_t swing_ticks, const char *swing, uint32_t hand) {
    may->arm = require_more_memory(may->arm, may->arm_count + 1, sizeof *may->arm);
    may->arm[may->arm_count++] = (struct may_arm){swing_ticks, require_text(swing), hand};
}

void may_add_loop_rate(struct may *may, struct ratio rate, const char *text) {
    may->loop_rate =
        require_more_memory(may->loop_rate, may->loop_rate_count + 1, sizeof *may->loop_rate);
    may->loop_rate[may->loop_rate_count++] = (struct may_rate){rate, require_text(text)};
}

void may_add_line_rate(struct may *may, struct ratio rate, const char *text) {
    may->line_rate =
        require_more_memory(may->line_rate, may->line_rate_count + 1, sizeof *may->line_rate);
    may->line_rate[may->line_rate_count++] = (struct may_rate){rate, require_text(text)};
}

int64_t may_capacity_for(const struct may *may, int64_t count) {
    for (uint32_t i = 0; i < may->capacity_count; i++)
        if (may->capacity[i] >= count)
            return may->capacity[i];
    return may->capacity_count == 0 && count <= may->capacity_most ? count : NOT_GIVEN;
}
