/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/pool.h - many pieces of work at once, one a thread. Which thread does which piece, and
 * when, is nobody's business: a piece must hang on its number alone. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct pool_task {
    void *self;     /* given back in each call */
    uint64_t count; /* pieces 0 .. count - 1, begun in this order */
    uint32_t jobs;  /* threads at most, from 1 */
    /* Does a piece, in a thread of its own. False: no further piece is begun. */
    bool (*work)(void *self, uint64_t piece);
    /* Called in the caller's thread some ten times a second while others work; may be NULL. */
    void (*look)(void *self);
};

/* Does the pieces and returns when no thread is at work any more. No piece is begun after a signal
 * was noted (tools/base/interrupt.h). False: not all pieces were done. */
bool pool_run(const struct pool_task *task);

/* The processors of this machine, at least 1. */
uint32_t pool_processors(void);
