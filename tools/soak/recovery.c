/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/recovery.c - each product is waited for by itself: of many, some are always a little
 * slow. */
#include "tools/soak/recovery.h"

#include <stdlib.h>

#include "sim/require.h"

void recovery_init(struct recovery *recovery, const struct disturbances *list,
                   struct makings *makings, const struct asking *asking) {
    *recovery = (struct recovery){.list = list, .makings = makings, .asking = asking};
    recovery->missing = require_memory(makings->count, sizeof *recovery->missing);
}

void recovery_free(struct recovery *recovery) {
    free(recovery->missing);
    *recovery = (struct recovery){.list = NULL};
}

int64_t recovery_next_stop(const struct recovery *recovery, int64_t tick, int64_t last) {
    if (recovery->next >= recovery->list->count)
        return last;
    const struct disturbance *next = &recovery->list->entry[recovery->next];
    int64_t stop = recovery->has_begun ? next->end_tick : next->begin_tick;
    return stop > tick ? stop : tick + 1;
}

static void finish(struct recovery *recovery, int64_t tick) {
    int64_t took = tick - recovery->from_tick;
    recovery->waits = false;
    recovery->count++;
    recovery->sum_ticks += took;
    if (took > recovery->most_ticks)
        recovery->most_ticks = took;
}

static void give_up(struct recovery *recovery) {
    recovery->never += recovery->waits;
    recovery->waits = false;
}

static void begin_to_wait(struct recovery *recovery, int64_t tick) {
    const struct makings *makings = recovery->makings;
    makings_forget(recovery->makings);
    recovery->missing_count = 0;
    for (uint32_t i = 0; i < makings->count; i++) {
        recovery->missing[i] =
            makings->making[i].usual.times > 0 &&
            asking_since(recovery->asking, makings->making[i].item, tick) != NOT_GIVEN;
        recovery->missing_count += recovery->missing[i];
    }
    recovery->waits = recovery->missing_count > 0;
    recovery->from_tick = tick;
}

void recovery_stop(struct recovery *recovery, int64_t tick) {
    while (recovery->next < recovery->list->count) {
        const struct disturbance *next = &recovery->list->entry[recovery->next];
        if (!recovery->has_begun && tick >= next->begin_tick) {
            give_up(recovery);
            recovery->has_begun = true;
        } else if (recovery->has_begun && tick >= next->end_tick) {
            begin_to_wait(recovery, tick);
            recovery->has_begun = false;
            recovery->next++;
        } else {
            return;
        }
    }
}

void recovery_look(struct recovery *recovery, int64_t tick) {
    for (uint32_t i = 0; i < recovery->makings->count && recovery->waits; i++) {
        if (!recovery->missing[i] || !makings_is_usual(&recovery->makings->making[i], tick))
            continue;
        recovery->missing[i] = false;
        if (--recovery->missing_count == 0)
            finish(recovery, tick);
    }
}

void recovery_end(struct recovery *recovery) { give_up(recovery); }
