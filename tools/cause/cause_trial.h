/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_trial.h - changes of a scenario, each tried by running again: first over the
 * run itself, then, if it is to be proved, on to a far horizon with several seeds, as written and
 * as if what ended in the run had gone on. Many run side by side; what comes out depends on nothing
 * but the scenario and the change. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/budget/budget.h"
#include "model/cause/ladder.h"
#include "model/scenario/scenario.h"
#include "tools/cause/trial_course.h"

/* Seeds of a proof where the scenario draws by chance: the run's and those after it. */
enum { TRIAL_SEEDS = 8 };
/* The least horizon of a proof, in seconds; and in runs. */
enum { TRIAL_PROVE_SECONDS = 12 * 3600, TRIAL_PROVE_RUNS = 10 };

struct trial {
    char **set; /* as --set takes them; none: the unchanged scenario */
    uint32_t set_count;
    int64_t first_from, first_to; /* the stretch of its first trial; NOT_GIVEN: it had none */
    struct course first;          /* over that */
    bool done;                    /* it could be read, and was run to the end of the run */
    struct course run;            /* over the run itself */
    double *run_kept;             /* as `kept`, of the run */

    bool proved;          /* its proof was run, to the end or to the first jam */
    int64_t proved_ticks; /* the horizon; without a proof the run's length */
    uint32_t seeds;
    int64_t failed_tick;  /* of a proof: first jam, deadlock or clog in all of it; NOT_GIVEN */
    int64_t clog_tick;    /* of a proof as written: first clog that lasts at its end, also one that
                             is not counted as a failure; NOT_GIVEN */
    uint32_t failed_seed; /* of the run in which that came: added to the scenario's */
    uint32_t clog_seed;   /* the same, of that clog */
    bool failed_going_on; /* that run was not as written, but as it would go on */
    bool *starved;        /* [station] a starvation lasted in the proof */
    bool ran_out; /* a stock that only lay there at the start ran out before the horizon: it was
                     proved as well with one that lasts */
    /* over the proof as it goes on, and also as written if a supply ends in it; those of the run
     * where there is no proof, or it failed */
    double met;   /* least share of the demand met of any product; NAN: no demand */
    double *kept; /* [item] of a product: the share of its demand that was met; without a demand
                     what was made, items a second; NAN: no product */
    struct course_growth *growth; /* of the run's seed */
    uint32_t growth_count;
};

/* A stretch of the unchanged run, over which a change may be tried at first: from the last moment
 * that was kept, not after `from_tick`, to `to_tick`. A change that does not work late, or
 * for which that moment does not fit, is tried from the start. */
struct trial_stretch {
    const struct ladder *ladder;
    int64_t from_tick, to_tick;
};

/* All trials of a scenario. */
struct trial_book {
    const struct scenario *scenario;
    int64_t prove_ticks; /* 0: no proofs */
    uint32_t seeds;
    bool show_progress;
    bool *product;         /* [item] also one that is demanded and not made, if nothing else is */
    bool *bought_in;       /* [item] a product of that kind: counted as it is taken */
    struct budget *budget; /* of the scenario as it is */
    double *wanted;  /* [item] what can be made of a product by the budget, as `kept`; NAN: not
                        known */
    double *best[2]; /* [item] greatest `kept` of trials that came through their run, their proof */
    uint64_t spent, dearest; /* moves of all trials; of the run that made most */
    uint64_t aside;          /* of those spent, what is no reason to leave off */
    struct trial *trial;     /* moves as it grows: keep indices */
    uint32_t count, capacity;
};

/* An empty book. `prove_ticks`: how far proofs go; NOT_GIVEN: 12 h or ten runs, whichever is
 * longer; 0: no proofs. The scenario must outlive it. Freed with trial_book_free. */
void trial_book_init(struct trial_book *book, const struct scenario *scenario, int64_t prove_ticks,
                     bool show_progress);
/* What a run costs, to compare with. */
void trial_book_know_run(struct trial_book *book, uint64_t moves);
/* The trial of the unchanged scenario. What came of its run, if it has been run already, is taken
 * over (an empty course: it has not). */
uint32_t trial_book_add_unchanged(struct trial_book *book, struct course *course);
void trial_book_free(struct trial_book *book);

/* The trial of the changes in `text`, one a line ("": none); a new one where there is none yet. */
uint32_t trial_book_add(struct trial_book *book, const char *text);
/* That of the changes of a trial and more. */
uint32_t trial_book_add_both(struct trial_book *book, uint32_t first, const char *second);

/* That of the changes of a trial but for `count` of them from `set` on. */
uint32_t trial_book_add_without(struct trial_book *book, uint32_t trial, uint32_t set,
                                uint32_t count);

/* The changed scenario of a trial, freed with scenario_free; NULL: it can't be read. */
struct scenario *trial_scenario(const struct trial_book *book, const struct trial *trial);

/* True for a change that adds a part: "chests.box={}". */
bool trial_set_adds_part(const char *set);
/* Whether changes make a difference from a moment of the run on. What an incident has done, or what
 * has ended, stays so in a moment that comes later, though it is taken away; nor can a part be
 * added there. */
bool trial_works_late(const struct trial *trial);

/* Tries those of a list over a stretch of the run. False: a signal stopped it. */
bool trial_book_try(struct trial_book *book, const uint32_t *index, uint32_t count,
                    const struct trial_stretch *stretch);
/* Whether a trial has been tried over that stretch. */
bool trial_is_tried(const struct trial *trial, const struct trial_stretch *stretch);
/* Runs those of a list that have not been run; proves those that have not been proved. Without
 * proofs (prove_ticks 0) the run is the proof. False: a signal stopped it. */
bool trial_book_run(struct trial_book *book, const uint32_t *index, uint32_t count);
bool trial_book_prove(struct trial_book *book, const uint32_t *index, uint32_t count);
/* Adds what was spent on finding out what a trial lacks. */
void trial_book_spend(struct trial_book *book, uint64_t moves);
/* Whether trials have cost as much as so many runs, and more than takes a moment. Proofs do not
 * count, nor what was put aside. */
bool trial_book_has_spent(const struct trial_book *book, uint32_t runs);

/* What was made of a product in a minute after the warm-up, over the run (of one that is bought in:
 * taken); NAN: the run is no longer than its warm-up. */
double trial_per_minute(const struct trial_book *book, const struct trial *trial, uint32_t item);
/* As `met`, over the run alone, whether it was proved or not; NAN: no demand. */
double trial_met_in_run(const struct trial_book *book, const struct trial *trial);
/* Whether a box that a change has added fills on and on: somebody has to empty it. */
bool trial_fills_box(const struct trial_book *book, const struct trial *trial);
/* All products together, in items. */
int64_t trial_made(const struct trial_book *book, const struct trial *trial);
/* Whether nine tenths are kept of each product: of what is asked for or can be made, whichever is
 * less. Where the budget or another trial shows that more can be made, that counts; where nothing
 * is asked for, no more than what the best trial makes. Over the run, or over the proof if there is
 * one. */
bool trial_keeps(const struct trial_book *book, const struct trial *trial, bool over_run);
