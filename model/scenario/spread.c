/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/spread.c - starts with what comes from outside and lets arms carry on until
 * nothing new comes anywhere. */
#include "model/scenario/spread.h"

#include <stdlib.h>

#include "sim/require.h"

enum { WORD_BITS = 64 };

static size_t row_of(const struct scenario *scenario, struct place place) {
    size_t row = place.index;
    switch (place.kind) {
    case PLACE_LINE: row += scenario->lane_count;     /* fall through */
    case PLACE_LANE: row += scenario->station_count;  /* fall through */
    case PLACE_STATION: row += scenario->chest_count; /* fall through */
    case PLACE_CHEST: break;
    }
    return row;
}

/* Returns true when that is new. */
static bool mark(struct spread *spread, struct place place, uint32_t item) {
    uint64_t *word =
        &spread->bits[row_of(spread->scenario, place) * spread->row_words + item / WORD_BITS];
    uint64_t bit = UINT64_C(1) << (item % WORD_BITS);
    bool is_new = (*word & bit) == 0;
    *word |= bit;
    return is_new;
}

bool spread_reaches(const struct spread *spread, struct place place, uint32_t item) {
    uint64_t word =
        spread->bits[row_of(spread->scenario, place) * spread->row_words + item / WORD_BITS];
    return (word >> (item % WORD_BITS) & 1) != 0;
}

static void mark_sources(struct spread *spread) {
    const struct scenario *scenario = spread->scenario;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t j = 0; j < scenario->chest[i].start.count; j++)
            if (scenario->chest[i].start.entry[j].count > 0)
                mark(spread, (struct place){PLACE_CHEST, i, 0},
                     scenario->chest[i].start.entry[j].item);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        mark(spread, (struct place){PLACE_CHEST, scenario->supply[i].chest, 0},
             scenario->supply[i].item);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            mark(spread, (struct place){PLACE_STATION, i, 0}, scenario->station[i].makes[j].item);
}

/* What a station takes does not come out of it again. */
static bool carry(struct spread *spread, const struct scenario_arm *arm) {
    bool is_new = false;
    if (arm->to.kind == PLACE_STATION)
        return false;
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (spread_reaches(spread, arm->from, arm->item[i]) && mark(spread, arm->to, arm->item[i]))
            is_new = true;
    return is_new;
}

void spread_init(struct spread *spread, const struct scenario *scenario) {
    size_t rows = (size_t)scenario->chest_count + scenario->station_count + scenario->lane_count +
                  scenario->line_count;
    *spread = (struct spread){.scenario = scenario,
                              .row_words = (scenario->item_count + WORD_BITS - 1) / WORD_BITS};
    spread->bits = require_memory(rows * spread->row_words, sizeof *spread->bits);
    mark_sources(spread);
    bool is_new = true;
    while (is_new) {
        is_new = false;
        for (uint32_t i = 0; i < scenario->arm_count; i++)
            is_new = carry(spread, &scenario->arm[i]) || is_new;
    }
}

void spread_free(struct spread *spread) {
    free(spread->bits);
    *spread = (struct spread){0};
}
