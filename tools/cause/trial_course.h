/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/trial_course.h - one run of a changed scenario, watched for what a change is judged
 * by: jams and clogs, starvations that lasted, what was made, asked for and taken, and which counts
 * rise without end. */
#pragma once

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

#include "model/engine/listener.h"
#include "model/engine/world.h"
#include "model/scenario/scenario.h"
#include "tools/record/starvation.h"

/* A count that rose through the last half of a run. */
struct course_growth {
    struct place place; /* a chest, lane or line */
    char *name;         /* of the place, which a change may have added */
    uint32_t item;
    double per_minute;
};

/* Times are ticks; NOT_GIVEN: there was none. */
struct course {
    uint64_t moves;      /* picks and places: what it has cost */
    bool whole;          /* it came to its end; false: it was stopped, and the rest says little */
    int64_t end_tick;    /* its end: run_ticks, or before, where that would have cost too much */
    int64_t first_jam;   /* start of the first jam that the verdict counts */
    int64_t any_jam;     /* of any jam */
    int64_t any_clog;    /* of any clog */
    int64_t open_clog;   /* of one that lasts at the end */
    int64_t blamed_clog; /* the same, unless all demands had ended before, or a stock that only lay
                            there at the start had run out, or it is a short rest that the next
                            order or delivery ends */
    bool *starved;       /* [station] a starvation lasted */
    bool some_starved;
    bool ran_out; /* a stock that only lay there at the start is used up at the end */
    /* [item] since the warm-up: what stations made, orders asked for, they got of what they had
     * asked for, and what all demands took, outlets included */
    int64_t *made, *asked, *met, *taken;
    struct course_growth *growth;
    uint32_t growth_count;
};

/* Runs a scenario to its run_ticks. `earliest` (NULL: nobody else) is shared with runs that ask the
 * same question: a jam that counts lowers it to its start, and a run that has come so far stops.
 * The run ends before run_ticks after `acts_most` moves and ticks in which something happened.
 * Freed with course_free. */
void course_run(struct course *course, const struct scenario *scenario, _Atomic int64_t *earliest,
                uint64_t acts_most);
/* Lets a world of a scenario, which is given away, run on to run_ticks: a first trial, which ends
 * at the first jam that counts. What was made and met is counted from where the world is, or from
 * the end of the warm-up; starvations and growth are not looked for. Freed with course_free. */
void course_try(struct course *course, const struct scenario *scenario, struct world *world);
void course_free(struct course *course);

/* Watches a run that somebody else makes, from its first tick on: whoever drives the world passes
 * on what happens. Growth is not looked for. `starvation` is the driver's, and borrowed. */
struct course_watch *course_watch_new(struct course *course, const struct scenario *scenario,
                                      struct world *world, struct starvation *starvation);
void course_watch_began(struct course_watch *watch, const struct event *event);
void course_watch_ended(struct course_watch *watch, const struct event *event);
void course_watch_warm_up_ended(struct course_watch *watch);
/* The run is over; what is reported as ended from now on lasts at its end. */
void course_watch_run_ended(struct course_watch *watch);
/* All has been reported: the course is complete. Frees the watch. */
void course_watch_finish(struct course_watch *watch);
/* Gives back a list of growths. */
void course_growth_free(struct course_growth *growth, uint32_t count);

/* Makes a scenario go on as it did in its first `ticks`: a supply or demand with an `until` within
 * them has none, and a stock that only lies there at the start is filled up again. False: it is as
 * it was. */
bool course_make_go_on(struct scenario *scenario, int64_t ticks);
