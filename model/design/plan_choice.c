/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/plan_choice.c - lists that are copied. */
#include "model/design/plan_choice.h"

#include <stdlib.h>

#include "sim/require.h"

struct plan_choice plan_choice_copy(const struct plan_choice *like,
                                    const struct scenario *scenario) {
    struct plan_choice copy = *like;
    copy.extra_station = require_memory(scenario->station_count, sizeof *copy.extra_station);
    copy.extra_taker = require_memory(scenario->station_count, sizeof *copy.extra_taker);
    copy.shelf = require_memory(scenario->item_count, sizeof *copy.shelf);
    copy.head_start = require_memory(scenario->item_count, sizeof *copy.head_start);
    bool any = like->shelf != NULL;
    for (uint32_t s = 0; s < scenario->station_count && any; s++) {
        copy.extra_station[s] = like->extra_station[s];
        copy.extra_taker[s] = like->extra_taker[s];
    }
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        copy.shelf[i] = any ? like->shelf[i] : 1;
        copy.head_start[i] = any && like->head_start[i];
    }
    return copy;
}

void plan_choice_free(struct plan_choice *choice) {
    free(choice->shelf);
    free(choice->head_start);
    free(choice->extra_station);
    free(choice->extra_taker);
    *choice = (struct plan_choice){0};
}
