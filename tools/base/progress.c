/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/progress.c - drawn over itself and erased at the end, or line by line. */
#include "tools/base/progress.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/scenario/quantity.h"
#include "tools/base/elapsed.h"

enum { FIRST_MS = 1000, EVERY_MS = 100, LINE_MS = 60000, LINE_BYTES = 200 };

bool progress_can_draw(void) {
    const char *terminal = getenv("TERM");
    return isatty(STDERR_FILENO) == 1 && (terminal == NULL || strcmp(terminal, "dumb") != 0);
}

void progress_init(struct progress *progress, int64_t last_tick, int64_t ticks_per_second,
                   bool wanted) {
    *progress = (struct progress){.wanted = wanted,
                                  .terminal = progress_can_draw(),
                                  .begun_ms = elapsed_ms(),
                                  .last = last_tick,
                                  .ticks_per_second = ticks_per_second};
    progress->next_ms = progress->begun_ms + (progress->terminal ? FIRST_MS : LINE_MS);
}

void progress_init_count(struct progress *progress, int64_t count, const char *what, bool wanted) {
    progress_init(progress, count, 1, wanted);
    progress->what = what;
}

void progress_init_open(struct progress *progress, bool wanted) {
    progress_init(progress, 0, 1, wanted);
    if (progress->terminal)
        progress->next_ms = progress->begun_ms;
}

/* "0:10:00 of 1:00:00 simulated", "3 of 20 runs" */
static int print_done(const struct progress *progress, int64_t done, char line[LINE_BYTES]) {
    char at[QUANTITY_TEXT_SIZE], of[QUANTITY_TEXT_SIZE];
    int64_t rate = progress->ticks_per_second;
    if (progress->what != NULL)
        return snprintf(line, LINE_BYTES, "%s of %s %s", quantity_grouped(done, at),
                        quantity_grouped(progress->last, of), progress->what);
    return snprintf(line, LINE_BYTES, "%s of %s simulated",
                    quantity_clock(done - done % rate, rate, at),
                    quantity_clock(progress->last, rate, of));
}

static bool is_due(const struct progress *progress) {
    return progress->wanted && elapsed_ms() >= progress->next_ms;
}

static void draw(struct progress *progress, const char *line) {
    dprintf(STDERR_FILENO, progress->terminal ? "\r%s\033[K" : "%s\n", line);
    progress->drawn = progress->terminal;
    progress->next_ms = elapsed_ms() + (progress->terminal ? EVERY_MS : LINE_MS);
}

void progress_show(struct progress *progress, int64_t done) {
    if (progress->last <= 0 || !is_due(progress))
        return;
    char line[LINE_BYTES];
    int used = print_done(progress, done, line);
    double share = (double)done / (double)progress->last;
    double left_s = (double)(elapsed_ms() - progress->begun_ms) * (1 / share - 1) / 1000;
    if (done > 0)
        snprintf(line + used, sizeof line - (size_t)used, ", %.0f %%, about %.0f s left",
                 100 * share, left_s);
    draw(progress, line);
}

void progress_say(struct progress *progress, const char *format, ...) {
    if (!is_due(progress))
        return;
    char line[LINE_BYTES];
    va_list values;
    va_start(values, format);
    vsnprintf(line, sizeof line, format, values);
    va_end(values);
    draw(progress, line);
}

void progress_end(struct progress *progress) {
    if (progress->drawn)
        dprintf(STDERR_FILENO, "\r\033[K");
    progress->drawn = false;
}
