/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_search.h - the best of many changes: each candidate is tried over the run, the
 * best of those that let it pass are proved, and where no single one does, several together are
 * tried. What "best" means is asked of a question, so that a jam and a shortage are mended by the
 * same search. Only what was tried comes out. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/cause/cause_trial.h"

/* How a change comes to be thought of; among equals the first stands first. */
enum remedy_rank {
    REMEDY_EXPERT, /* what somebody who knows loops would do */
    REMEDY_SOUND,  /* where there is nothing better of that kind */
    REMEDY_USUAL,
    REMEDY_HAPPENS /* it has nothing to do with the root, but may happen to help */
};

/* A change, as it is thought of. */
struct remedy_candidate {
    const char *text; /* what would be given to --set, one a line */
    uint32_t size;    /* how much is changed, for comparing */
    enum remedy_rank rank;
    bool proves;   /* if it cures, the root is shown to be one; else it may as well cure another */
    uint32_t root; /* what it is meant for, whatever that is to the caller */
};

typedef void remedy_sink(void *self, const struct remedy_candidate *candidate);

/* What a trial is worth. */
enum remedy_class {
    REMEDY_CURES, /* what was asked for is had */
    REMEDY_COSTS, /* it is had, at the cost of products */
    REMEDY_HELPS, /* it is had in part: a jam comes later, a shortage is less */
    REMEDY_USELESS
};
struct remedy_worth {
    enum remedy_class class;
    double merit; /* among those of a class more is better, before anything else */
    int burden;   /* among equals, after the rank: less is better */
};

/* The question. `judge` is asked of a trial that was run, by its run alone (`over_run`) or by its
 * proof as well, if it has been proved. */
struct remedy_question {
    const void *self;
    struct remedy_worth (*judge)(const void *self, const struct trial_book *book,
                                 const struct trial *trial, bool over_run);
    /* Where candidates are tried at first, over a stretch that costs less than the run: who does
     * not help there is run from the start only where nothing else does. NULL: they are run at
     * once. `judge_first` is asked of a trial that was tried so. */
    const struct trial_stretch *stretch;
    struct remedy_worth (*judge_first)(const void *self, const struct trial_book *book,
                                       const struct trial *trial);
    /* Thinks of changes to be made beside those of a trial that is not good enough, and gives them
     * to `add`; NULL: only candidates are put together. */
    void (*think_on)(const void *self, struct trial_book *book, uint32_t trial, remedy_sink *add,
                     void *sink);
};

struct remedy {
    uint32_t trial; /* index in the book */
    uint32_t root;
    uint32_t size;
    uint32_t turn; /* it was thought of as the n-th for its root */
    enum remedy_rank rank;
    bool proves;
    struct remedy_worth first;    /* as it was judged over the stretch of first trials */
    struct remedy_worth over_run; /* as it was judged over the run */
    struct remedy_worth worth;    /* at last */
    int64_t made;                 /* products over the run, of all kinds */
};

enum { REMEDIES_SHOWN_MOST = 8 };
/* In runs, what all searches of a book may cost: first trials; single changes, where some cure or
 * none does; and several together. */
enum { REMEDY_FIRST_RUNS = 2, REMEDY_CURED_RUNS = 3, REMEDY_SINGLES_RUNS = 5, REMEDY_RUNS = 7 };

/* What came out, best first; a change that was thought of for several roots stands there for each.
 */
struct remedy_list {
    struct remedy *remedy;
    uint32_t count, capacity;
    uint32_t left_out; /* candidates that were not tried, because enough had been */
};

/* Adds a candidate to a list, once for each root. `list` starts as {0}. */
void remedy_list_add(struct remedy_list *list, struct trial_book *book,
                     const struct remedy_candidate *candidate);
void remedy_list_free(struct remedy_list *list);

/* Judges again what was proved, and sorts: a trial made since may show that more could be kept. */
void remedy_list_judge_proofs(struct remedy_list *list, struct trial_book *book,
                              const struct remedy_question *question);

/* Takes over what was found for another question and judges it by this one, without trying
 * anything: for whoever asks nearly the same. Roots that it was meant for become `root`. */
void remedy_list_judge_again(struct remedy_list *list, const struct remedy_list *other,
                             struct trial_book *book, const struct remedy_question *question,
                             uint32_t root);

/* Tries the candidates of a list over a stretch, runs and proves the best, puts several together
 * where none cures, and sorts. Then list->remedy[i] with a class above REMEDY_USELESS may be shown;
 * all of those were proved, or failed over the run. False: a signal stopped it. */
bool remedy_search(struct remedy_list *list, struct trial_book *book,
                   const struct remedy_question *question);

/* Proves what would be shown and was not proved, because it only helps, and sorts: what is said of
 * jams and of what is met is then said of proofs. False: a signal stopped it. */
bool remedy_list_prove_shown(struct remedy_list *list, struct trial_book *book,
                             const struct remedy_question *question);

/* Keeps of each change the best place alone. */
void remedy_list_keep_once(struct remedy_list *list);
/* How many stand at the beginning of such a list that may be shown, REMEDIES_SHOWN_MOST at most. */
uint32_t remedy_list_shown(const struct remedy_list *list);
