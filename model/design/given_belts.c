/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/given_belts.c - the slowest rate and the least length of those that are there. */
#include "model/design/given_belts.h"

#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"

/* The one rate that can be had. */
static void use_rate(struct may_rates *rates, struct ratio rate) {
    char text[QUANTITY_TEXT_SIZE];
    may_clear_rates(rates);
    may_add_rate(rates, rate, quantity_ratio_text(rate, text));
}

static void use_given_loops(struct may *may, const struct scenario *scenario) {
    const struct scenario_loop *slowest = &scenario->loop[0];
    may->loops_most = scenario->loop_count;
    may->lanes_most = LANES_OF_LOOP_MAX;
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        const struct scenario_loop *loop = &scenario->loop[i];
        slowest = quantity_compare(loop->rate, slowest->rate) < 0 ? loop : slowest;
        may->lanes_most = loop->lane_count < may->lanes_most ? loop->lane_count : may->lanes_most;
        if (i == 0 || loop->cell_count < may->loop_cells_most)
            may->loop_cells_most = loop->cell_count;
    }
    use_rate(&may->loop_rates, slowest->rate);
}

static void use_given_lines(struct may *may, const struct scenario *scenario) {
    const struct scenario_line *slowest = &scenario->line[0];
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        const struct scenario_line *line = &scenario->line[i];
        slowest = quantity_compare(line->rate, slowest->rate) < 0 ? line : slowest;
        if (i == 0 || line->cell_count < may->line_cells_most)
            may->line_cells_most = line->cell_count;
    }
    use_rate(&may->line_rates, slowest->rate);
}

void given_belts_use(struct may *may, const struct scenario *scenario, bool loops) {
    if (loops && scenario->loop_count > 0)
        use_given_loops(may, scenario);
    if (scenario->line_count > 0)
        use_given_lines(may, scenario);
}
