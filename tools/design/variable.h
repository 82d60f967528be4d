/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/variable.h - one number of a scenario that is looked for: the choices that it has,
 * from the smallest to the largest, and the one in hand.
 *
 * A count has all numbers, or steps of about a quarter of it; a capacity, a rate and the kind of an
 * arm have what a brief says can be had (model/scenario/may.h); a place has the cells of its belt.
 * The hand and the swing of one arm, both open, are one variable, as they belong together. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/reader/draft.h"
#include "model/scenario/may.h"

struct variable {
    char **choice;                 /* PATH=VALUE, one or two lines; own copies */
    uint32_t count;                /* of choices */
    uint32_t at;                   /* the one in hand */
    uint32_t first_at;             /* where it began */
    bool is_size;                  /* smaller is better; else a place, say */
    const struct draft_open *open; /* NULL: it is none of the draft's */
};

/* One that a draft leaves open, which is borrowed. The smallest choice is in hand. */
void variable_init_open(struct variable *variable, const struct draft *draft,
                        const struct draft_open *open);
/* One that is `value` now in the draft's scenario and may become smaller; of a hand, to that of a
 * kind that can be had with the same swing, where kinds are given. */
void variable_init_number(struct variable *variable, const struct draft *draft, const char *path,
                          int64_t value);
void variable_free(struct variable *variable);

/* Where `open` is the hand of the arm whose swing the variable is, or the other way round: each
 * choice says both from now on. False: it is not, and nothing has changed. */
bool variable_join_kind(struct variable *variable, const struct draft_open *open,
                        const struct may *may);

/* The number in a choice; of a place its cell. */
int64_t variable_number(const struct variable *variable, uint32_t choice);
