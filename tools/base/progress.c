/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/progress.c - drawn over itself, erased at the end. */
#include "tools/base/progress.h"

#include <stdio.h>
#include <time.h>
#include <unistd.h>

#include "model/scenario/quantity.h"

enum { FIRST_MS = 1000, EVERY_MS = 100 };

static int64_t now_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

void progress_init(struct progress *progress, int64_t last_tick, int64_t ticks_per_second,
                   bool wanted) {
    *progress = (struct progress){.shown = wanted && isatty(STDERR_FILENO) == 1,
                                  .begun_ms = now_ms(),
                                  .last_tick = last_tick,
                                  .ticks_per_second = ticks_per_second};
    progress->next_ms = progress->begun_ms + FIRST_MS;
}

void progress_show(struct progress *progress, int64_t tick) {
    if (!progress->shown || tick <= 0)
        return;
    int64_t now = now_ms();
    if (now < progress->next_ms)
        return;
    char at[QUANTITY_TEXT_SIZE], of[QUANTITY_TEXT_SIZE];
    int64_t rate = progress->ticks_per_second;
    double share = (double)tick / (double)progress->last_tick;
    double left_s = (double)(now - progress->begun_ms) * (1 / share - 1) / 1000;
    quantity_clock(tick - tick % rate, rate, at);
    quantity_clock(progress->last_tick, rate, of);
    dprintf(STDERR_FILENO, "\r%s of %s simulated, %.0f %%, about %.0f s left\033[K", at, of,
            100 * share, left_s);
    progress->drawn = true;
    progress->next_ms = now + EVERY_MS;
}

void progress_end(struct progress *progress) {
    if (progress->drawn)
        dprintf(STDERR_FILENO, "\r\033[K");
    progress->drawn = false;
}
