/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_progress.c - the only part of a soak that reads the wall clock. */
#include "tools/soak/soak_progress.h"

#include <inttypes.h>
#include <stdio.h>
#include <unistd.h>

#include "model/scenario/quantity.h"
#include "sim/estimate.h"
#include "tools/base/elapsed.h"
#include "tools/base/progress.h"
#include "tools/soak/soak_report.h"

enum { FIRST_MS = 500, EVERY_MS = 200, LOG_MS = 60000 };

void soak_progress_init(struct soak_progress *progress, uint64_t run_count, double hours_count,
                        double hours_begun, bool wanted) {
    *progress = (struct soak_progress){.wanted = wanted,
                                       .terminal = progress_can_draw(),
                                       .begun_ms = elapsed_ms(),
                                       .run_count = run_count,
                                       .hours_count = hours_count,
                                       .hours_begun = hours_begun};
    progress->next_ms = progress->begun_ms + (progress->terminal ? FIRST_MS : LOG_MS);
}

bool soak_progress_is_due(const struct soak_progress *progress) {
    return progress->wanted && elapsed_ms() >= progress->next_ms;
}

static void print_left(double seconds) {
    if (seconds < 120)
        fprintf(stderr, "about %.0f s left", seconds);
    else if (seconds < 7200)
        fprintf(stderr, "about %.0f min left", seconds / 60);
    else
        fprintf(stderr, "about %.1f h left", seconds / 3600);
}

static void print_state(const struct soak_progress *progress, const struct soak_state *state) {
    double took_s = (double)(elapsed_ms() - progress->begun_ms) / 1000;
    double rate = took_s > 0 ? (state->hours - progress->hours_begun) / took_s : 0;
    char hours[QUANTITY_TEXT_SIZE];
    fprintf(stderr, "%" PRIu64 " of %" PRIu64 " runs, %s h simulated, %.4g h/s, ", state->done,
            progress->run_count, quantity_grouped((int64_t)state->hours, hours), rate);
    fprintf(stderr, "%" PRIu64 " with a jam", state->jams);
    if (state->done > 0) {
        struct estimate jam = estimate_probability(state->jams, state->done, SOAK_CONFIDENCE);
        fprintf(stderr, " (%.3g to %.3g %%)", 100 * jam.low, 100 * jam.high);
    }
    if (rate > 0) {
        fputs(", ", stderr);
        print_left((progress->hours_count - state->hours) / rate);
    }
}

void soak_progress_show(struct soak_progress *progress, const struct soak_state *state) {
    dprintf(STDERR_FILENO, "%s", progress->terminal ? "\r" : "soak: ");
    print_state(progress, state);
    dprintf(STDERR_FILENO, "%s", progress->terminal ? "\033[K" : "\n");
    progress->drawn = progress->terminal;
    progress->next_ms = elapsed_ms() + (progress->terminal ? EVERY_MS : LOG_MS);
}

void soak_progress_end(struct soak_progress *progress) {
    if (progress->drawn)
        dprintf(STDERR_FILENO, "\r\033[K");
    progress->drawn = false;
}
