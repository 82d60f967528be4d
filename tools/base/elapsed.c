/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/elapsed.c - the system's clock that nobody sets. */
#include "tools/base/elapsed.h"

#include <time.h>

int64_t elapsed_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}
