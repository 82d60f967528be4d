/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/drawing.h - what is worked out while a plan is made. Private to this room.
 *
 * Each file draw_*.c draws parts of one kind into the plan; draw_plan.c calls them in their
 * order. */
#pragma once

#include "model/design/lanes.h"
#include "model/design/plan.h"
#include "model/design/plan_choice.h"
#include "model/scenario/names.h"

struct drawing {
    struct plan *plan; /* borrowed, as the next three */
    const struct scenario *scenario;
    const struct may *may;
    const struct plan_choice *choice;
    struct design_need need;
    struct lanes lanes;
    struct names used;
    char **owned; /* names that were made */
    uint32_t owned_count;
    uint32_t *first_station; /* [recipe] its first one in plan.station */
    uint32_t *belt, *lane;   /* [lane of lanes] its belt, and its number there */
    uint32_t *bin, *shelf;   /* [item] chests; NO_INDEX: none */
};

/* Traces the demand back and spreads the kinds over lanes; nothing is drawn yet. False: that cannot
 * be done, and `why` says why, with numbers. Freed with drawing_free either way. */
bool drawing_init(struct drawing *drawing, struct plan *plan, const struct plan_choice *choice,
                  char why[DESIGN_WHY_BYTES]);
void drawing_free(struct drawing *drawing);

/* Writes a name that nothing has yet, with a number after it where it is taken. */
void drawing_name(struct drawing *drawing, char name[PLAN_NAME_BYTES], const char *format, ...)
    __attribute__((format(printf, 3, 4)));
const char *drawing_item_name(const struct drawing *drawing, uint32_t item);

/* Seconds that an arm of a kind needs for a swing. */
double drawing_swing_s(const struct drawing *drawing, uint32_t kind);

/* How many of an item a batch of a recipe takes, and makes when no chance is against it. */
double drawing_takes(const struct drawing *drawing, uint32_t recipe, uint32_t item);
int64_t drawing_batch_made(const struct drawing *drawing, uint32_t recipe, uint32_t item);
/* Items a second that all stations can make of an item at full speed. */
double drawing_most_made(const struct drawing *drawing, uint32_t item);

/* Cells of the longest item on a lane; 1: there is none. */
uint32_t drawing_longest_on(const struct drawing *drawing, const struct lane *lane);
