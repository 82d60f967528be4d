/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_progress.h - how far a soak is: a line that is drawn over itself on a terminal,
 * else a line a minute, on standard error. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct soak_progress {
    bool wanted, terminal, drawn;
    int64_t begun_ms, next_ms;
    uint64_t run_count;
    double hours_count; /* of all runs, if each goes on to its end */
    double hours_begun; /* of runs that were done before */
};

/* How far it is. */
struct soak_state {
    uint64_t done, jams; /* runs; those of them with a jam */
    double hours;        /* simulated */
};

void soak_progress_init(struct soak_progress *progress, uint64_t run_count, double hours_count,
                        double hours_begun, bool wanted);
/* True when it is time to show something. */
bool soak_progress_is_due(const struct soak_progress *progress);
void soak_progress_show(struct soak_progress *progress, const struct soak_state *state);
/* Erases the line. */
void soak_progress_end(struct soak_progress *progress);
