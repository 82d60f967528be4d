/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/drive.c - from one tick in which somebody looks to the next. */
#include "tools/record/drive.h"

#include "tools/base/interrupt.h"

/* Simulated seconds in one go, so that a signal is noticed soon. */
enum { STRETCH_SECONDS = 60 };

static int64_t earlier(int64_t a, int64_t b) { return a < b ? a : b; }

/* The first multiple of `every` behind `tick`, which is -1 before the run. */
static int64_t sample_behind(int64_t every, int64_t tick) {
    return tick < 0 ? 0 : (tick / every + 1) * every;
}

/* A what-if may have put the end of the warm-up before where it begins: then it ends at once. */
static bool warm_up_ends(const struct record *record) {
    return !record->window.open && world_tick(record->world) >= record->scenario->warm_up_ticks;
}

/* The next tick behind which something is to be done. */
static int64_t next_stop(const struct record *record, int64_t last_tick) {
    const struct scenario *scenario = record->scenario;
    int64_t tick = world_tick(record->world);
    int64_t next = earlier(last_tick, tick + STRETCH_SECONDS * scenario->ticks_per_second);
    next = earlier(next, sample_behind(scenario->watch.every_ticks, tick));
    if (scenario->warm_up_ticks > tick)
        next = earlier(next, scenario->warm_up_ticks);
    if (record->keeper != NULL)
        next = earlier(next, capsule_policy_next(record->keeper, tick) - 1);
    return next;
}

static void stop_at(struct record *record, int64_t tick) {
    if (warm_up_ends(record))
        record_warm(record);
    if (tick % record->scenario->watch.every_ticks == 0)
        record_sample(record);
    if (record->keeper != NULL)
        capsule_policy_take(record->keeper, record);
}

static void advance(struct record *record, struct replay_view *show, int64_t tick) {
    if (show == NULL) {
        starvation_advance(record->starvation, record->world, tick);
        return;
    }
    while (world_step(record->world, tick)) {
        starvation_look(record->starvation);
        replay_view_look(show);
    }
}

void drive_until(struct record *record, struct progress *progress, struct replay_view *show,
                 int64_t last_tick) {
    while (world_tick(record->world) < last_tick) {
        int64_t next = next_stop(record, last_tick);
        advance(record, show, next);
        stop_at(record, next);
        progress_show(progress, next);
        if (interrupt_signal() != 0 || record_failed(record))
            return;
    }
}
