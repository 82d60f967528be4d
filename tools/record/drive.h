/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/drive.h - the one loop that runs a world: from tick to tick in which something
 * happens, with stops at samples, at the end of the warm-up and wherever else the caller wants to
 * act between ticks. Signals are noticed after at most a minute of simulated time. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "tools/record/starvation.h"

/* A run and who takes part in it. Nothing is owned. Each of the functions may be NULL; all are
 * called between ticks, with `self`. At one stop they are called in the order in which they stand
 * here. */
struct drive {
    const struct scenario *scenario;
    struct world *world;           /* of `scenario` */
    struct starvation *starvation; /* is asked to look where it paused the world; NULL: none */
    bool is_warm;                  /* the warm-up is over, `warm_up_ended` has been called */
    void *self;
    /* After each tick in which something was due, when `starvation` has looked. False: the run
     * stops there. */
    bool (*look)(void *self);
    /* The world has executed the last tick of its warm-up, or is beyond it when the loop begins. */
    void (*warm_up_ended)(void *self);
    /* The world has executed a multiple of watch.every. */
    void (*sample)(void *self);
    /* At every stop, the last one included. False: the run stops there. */
    bool (*stop)(void *self);
    /* The next tick, greater than `tick`, after which `stop` is to be called whatever else
     * happens. */
    int64_t (*next_stop)(void *self, int64_t tick);
};

/* Advances the world up to and including `last_tick`, or to where `look` or `stop` say false; does
 * nothing where it is there already. False: a signal was noted, and the run stopped early. */
bool drive_until(struct drive *drive, int64_t last_tick);
