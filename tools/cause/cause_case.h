/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_case.h - the cases of a run that `loopwright cause` explains: each jam,
 * deadlock and clog, and each starvation that lasted, with how things stood when it began.
 *
 * The room tools/cause is the command `cause`. What comes in: the directory of a run, or a capsule.
 * What goes out: cases with their graph of waits and roots; candidates for remedies, tried and
 * proved (remedy_candidates.h, remedy_search.h, cause_trial.h); text, JSON and graph of all that.
 *
 * The run is repeated twice: once to find the cases, in the order of events.csv, once to look at
 * each as it begins. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/cause/ladder.h"
#include "model/cause/roots.h"
#include "model/cause/waits.h"
#include "model/engine/listener.h"
#include "model/engine/world.h"
#include "tools/base/progress.h"
#include "tools/cause/trial_course.h"

struct cause_case {
    enum event_kind kind; /* jam, deadlock, clogged, starved */
    uint32_t index;       /* of the lane (of a clog: that which holds most), or station */
    uint64_t row;         /* in events.csv, from 1 */
    int64_t start_tick, since_tick, end_tick;
    bool open;         /* it lasts at the end */
    bool lasted;       /* false: a starvation that does not count */
    bool began_before; /* the run was taken up while it lasted */

    /* as it begins; where nothing is found out of that, as it ends */
    struct waits waits;
    struct item_counts held; /* on the lane, in the scenario's order */
    int64_t cells_held;
    struct roots roots;
    bool *cures;           /* of each root: a remedy for it has cured it */
    int64_t turning_tick;  /* NOT_GIVEN: none */
    uint32_t turning_item; /* of which most would be left after that; only where there is one */
};

struct cause_cases {
    const struct scenario *scenario;
    struct cause_case *jam_case; /* in the order of events.csv */
    uint32_t count, capacity;
    uint64_t rows;             /* of events.csv */
    const struct world *begin; /* where the run begins; NULL: before tick 0 */
    uint64_t moves;            /* picks and places of the run; as many as there would be if it had
                                * gone on as it did before its first jam, if that is more */
    uint64_t spent;            /* of all runs that were made here */
    bool some_short;           /* of a product too little came (orders.h) */
    struct ladder ladder;      /* moments of the run */
    /* the run as a trial is judged, where it begins before tick 0; else it is empty. To be taken
     * over, or freed with the cases */
    struct course course;
};

/* Finds the cases of a run of a scenario, from its start or from where the world `begin` is. Both
 * must outlive them. What has begun earlier and lasts is looked at as things are there. `progress`
 * is of the run, NULL where nobody waits. False: a signal stopped it. */
bool cause_cases_find(struct cause_cases *cases, const struct scenario *scenario,
                      const struct world *begin, struct progress *progress);
void cause_cases_free(struct cause_cases *cases);

/* Keeps only some: the one in row `row` of events.csv, whatever starvation it is; those that last
 * at a tick; those that count. */
void cause_cases_keep_row(struct cause_cases *cases, uint64_t row);
void cause_cases_keep_tick(struct cause_cases *cases, int64_t tick);
void cause_cases_keep_lasting(struct cause_cases *cases);

/* Fills in how things stood as each began; waits are dated to the tick, or only to the look at
 * which they were seen. False: a signal stopped it. */
bool cause_cases_look(struct cause_cases *cases, bool to_the_tick);

/* Whether two cases have the same cause, as far as the first root tells: both starvations, or
 * neither. */
bool cause_case_is_alike(const struct cause_case *self, const struct cause_case *other);

/* When a case is reported: jams and deadlocks 0, clogs 1, starvations at last. */
enum { CAUSE_CASE_STARVED = 2 };
int cause_case_turn(const struct cause_case *self);
/* The case that is reported first: the first jam or deadlock, else the first clog, else the first;
 * NULL: there is none. */
const struct cause_case *cause_cases_first(const struct cause_cases *cases);

/* Its vertex in the graph of waits. */
uint32_t cause_case_vertex(const struct cause_case *self);
