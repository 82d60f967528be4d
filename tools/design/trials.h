/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/trials.h - what a design has to come through, run by the same code as `run`,
 * `soak`, `drain` and `budget` run it: what holds here holds there.
 *
 * The room tools/design is the command `design`. What comes in: a brief, or a scenario that leaves
 * numbers open. What goes out: a complete scenario with its reasons (design_text.h), proved by its
 * trials, and a sheet of what it is made of. From below to above: tolerance, trials, design_text,
 * design_sheet; search (of a brief), fill (of open numbers), design. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/may.h"
#include "model/scenario/scenario.h"

enum trial_kind { TRIAL_NIGHT, TRIAL_DRAIN, TRIAL_RESTART, TRIAL_FLOOD, TRIAL_DISTURBED };
enum { TRIAL_KINDS = TRIAL_DISTURBED + 1 };

/* How far a design is tried. */
enum trials_depth {
    TRIALS_RULES,  /* budget alone */
    TRIALS_GLANCE, /* and an hour, one drain with a restart, a heap */
    TRIALS_LOOK,   /* a night in place of the hour; what tolerances are held against */
    TRIALS_SOME,   /* an hour, a drain, ..., then two nights and two disturbed ones */
    TRIALS_ALL     /* and all of them, and as many drains */
};

/* Nights, or drains, in which others have failed, and with which it is soon seen whether one does
 * better. */
enum { HARD_RUNS = 3 };
struct hard_runs {
    uint64_t run[HARD_RUNS];
    uint32_t count;
};

struct trial_result {
    bool asked, done, holds;
    uint32_t runs;         /* that were run; of a heap one */
    uint32_t failed;       /* of them */
    struct hard_runs hard; /* the first of these */
    double met;            /* night: the least share met of any demand in any run; NAN: none */
    uint64_t jams;         /* night: jams and deadlocks that count; disturbed: jams, ended or not */
    double seconds;        /* drain: until it was empty; restart, flood: until it had recovered; of
                            * several the longest */
    int64_t items;         /* flood: of the heap */
    uint64_t never;        /* disturbed: disturbances that it did not get over in time */
};

struct trials {
    bool whole; /* no signal came */
    bool rules_hold, demand_met;
    char *broken; /* names of rules that are broken, a line each; "" */
    uint32_t broken_count;
    uint32_t lanes_proven;
    struct trial_result trial[TRIAL_KINDS];
    double *met_of; /* [item] the least share of its orders met in any whole night; NAN: none yet */
    bool *late;     /* [item] not made as often as before, when a restart failed */
    uint32_t late_count;
    bool holds; /* all that was asked for up to the depth */
};

struct trials_wish {
    const struct may *may;
    uint32_t jobs;                   /* runs at once */
    struct hard_runs hard_night;     /* that a look has as well, and a second one */
    struct hard_runs hard_disturbed; /* that two nights have as well */
    struct hard_runs hard_drain;     /* that a glance has as well */
};

/* Tries a scenario, up to a depth or to what fails. The result does not depend on `jobs`. Freed
 * with trials_free. */
void trials_run(const struct scenario *scenario, const struct trials_wish *wish,
                enum trials_depth depth, struct trials *trials);
void trials_free(struct trials *trials);

/* How far they came: a point for each trial that holds and for each part of the budget, and parts
 * of points for what nearly does. Of nights and drains the number of those that failed counts, not
 * their share: where few are tried, those are among them in which others have failed. */
double trials_score(const struct trials *trials);

/* "night", "drain", ... */
const char *trials_name(enum trial_kind kind);
