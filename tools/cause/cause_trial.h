/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_trial.h - a run of the same scenario with a change, to see what the change is
 * good for. Many run side by side, a world each; what comes out hangs on nothing but the scenario
 * and the change. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/scenario/scenario.h"

struct trial {
    char **set; /* as --set takes them */
    uint32_t set_count, set_capacity;
    bool done;         /* it could be read, and ran to its end */
    int64_t first_jam; /* start of the first jam that the verdict counts; NOT_GIVEN: none */
    int64_t any_jam;   /* the same of any jam */
    int64_t any_clog;  /* of any clog */
    int64_t open_clog; /* of one that lasts at the end */
    bool *starved;     /* of each station of the unchanged scenario: a starvation lasted */
    bool some_starved;
    int64_t *made; /* of each item since the warm-up */
};

/* A trial of the changes in `text`, one a line. */
void trial_init(struct trial *trial, const char *text);
void trial_free(struct trial *trial);

/* Runs them all, on as many threads as there are processors. `show_progress`: progress may be
 * drawn. False: a signal stopped it. */
bool trial_run_all(const struct scenario *scenario, struct trial *trial, uint32_t count,
                   bool show_progress);
