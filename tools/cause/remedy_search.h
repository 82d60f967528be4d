/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_search.h - single changes that may have prevented a jam or starvation: first
 * guessed, by the kind of each root, then tried by running again. Only what was tried is shown. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "tools/cause/cause_case.h"
#include "tools/cause/cause_trial.h"

/* Runs that are spent on one case, and on all of them together. */
enum { REMEDIES_TRIED_MOST = 64, REMEDIES_TRIED_IN_ALL = 512, REMEDIES_SHOWN_MOST = 8 };

/* A change that was thought of for a case. */
struct remedy {
    uint32_t owner; /* index of the case */
    uint32_t root;  /* of its roots */
    uint32_t size;  /* how much is changed, for comparing */
    uint32_t trial; /* index in remedies.trial */
    bool proves;    /* if it cures: its root is one */
    bool cures;     /* what it is meant for does not come any more */
    bool helps;     /* it comes later at least, by a minute or more */
    int64_t made;   /* products since the warm-up, of all kinds */
};

struct remedies {
    struct remedy *one; /* case by case, best first, when they have been tried */
    uint32_t count, capacity;
    struct trial *trial; /* each change once, whoever thought of it */
    uint32_t trial_count, trial_capacity;
    uint32_t left_out; /* not tried, because enough had been */
    bool *product;     /* of each item of the scenario */
};

/* Thinks of changes for the case with index `owner`. `remedies` starts as {0}. */
void remedies_think(struct remedies *remedies, const struct cause_case *self, uint32_t owner);
/* Tries them all, and puts the roots that a remedy has cured first. False: a signal stopped it. */
bool remedies_try(struct remedies *remedies, struct cause_cases *cases, bool told);
void remedies_free(struct remedies *remedies);

/* The start of what a trial is judged by: of a jam that the verdict counts, unless the case itself
 * is none of those; for a clog also of a clog, one that lasts at the end if it does. NOT_GIVEN:
 * there is none. */
int64_t remedies_jam_of(const struct cause_cases *cases, const struct cause_case *self,
                        const struct trial *trial);

/* Those of a case that may be shown stand one behind the other; returns how many, at most
 * REMEDIES_SHOWN_MOST, and the first in *first. */
uint32_t remedies_of(const struct remedies *remedies, uint32_t owner, const struct remedy **first);
