/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_watcher.h - somebody who waits while greatest rates are worked out. */
#pragma once

#include <stdint.h>

struct budget_watcher {
    void *self; /* given back in each call */
    /* Called before each step with how many are done, of how many. */
    void (*look)(void *self, uint32_t done, uint32_t count);
};
