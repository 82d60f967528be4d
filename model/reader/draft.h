/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/draft.h - a scenario that is still to be completed: numbers may be written `find`,
 * a section `may` says what can be used, and a brief has no arms and leaves out in which chests its
 * supplies and demands are. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/reader/yaml_tree.h"
#include "model/scenario/may.h"
#include "model/scenario/scenario.h"

/* What may be left open. */
enum draft_open_kind {
    DRAFT_COUNT,    /* a threshold, limit, start, `ahead` or `room` */
    DRAFT_CAPACITY, /* of a chest */
    DRAFT_CELLS,    /* of a loop or line */
    DRAFT_RATE,
    DRAFT_HAND,
    DRAFT_SWING,
    DRAFT_PLACE /* the cell of a place on a belt */
};

/* A number that is written `find`. */
struct draft_open {
    char *path; /* as --set takes it: "arms.feeder.gate.below" */
    enum draft_open_kind kind;
    char *place;  /* DRAFT_PLACE: what stands before the @ ("ring/outer"), else NULL */
    bool in_file; /* it stands in the file, not in a change of the command line: there at */
    uint32_t line, column, width;
};

struct draft {
    struct scenario *scenario; /* with stand-ins for what is open */
    struct may may;
    bool is_brief;    /* it has no arms */
    bool has_may;     /* it has a section `may` */
    bool may_in_file; /* in the file, not in a change; it begins in this line there */
    uint32_t may_line;
    char *stand_in; /* the chest of supplies and demands that name none; NULL: all do */
    struct draft_open *open;
    uint32_t open_count, open_capacity;
    struct yaml_tree tree; /* of the text as written, without `may`, with the stand-ins */
    char *text;            /* that it was read from */
};

/* Whether anything is to be completed. */
static inline bool draft_is_open(const struct draft *draft) {
    return draft->open_count > 0 || draft->has_may || draft->stand_in != NULL;
}

/* Gives back all that it owns, and the struct itself; NULL is allowed. */
void draft_free(struct draft *draft);
