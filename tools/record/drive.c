/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/drive.c - from one stop to the next. */
#include "tools/record/drive.h"

#include "tools/base/interrupt.h"

/* Simulated seconds in one go, so that a signal is noticed soon. */
enum { STRETCH_SECONDS = 60 };

static int64_t earlier(int64_t a, int64_t b) { return a < b ? a : b; }

/* The first multiple of `every` after `tick`, which is -1 before the run. */
static int64_t sample_after(int64_t every, int64_t tick) {
    return tick < 0 ? 0 : (tick / every + 1) * every;
}

static int64_t next_stop(const struct drive *drive, int64_t last_tick) {
    const struct scenario *scenario = drive->scenario;
    int64_t tick = world_tick(drive->world);
    int64_t next = earlier(last_tick, tick + STRETCH_SECONDS * scenario->ticks_per_second);
    if (drive->sample != NULL)
        next = earlier(next, sample_after(scenario->watch.every_ticks, tick));
    if (!drive->is_warm && scenario->warm_up_ticks > tick)
        next = earlier(next, scenario->warm_up_ticks);
    if (drive->next_stop != NULL)
        next = earlier(next, drive->next_stop(drive->self, tick));
    return next;
}

/* Those who follow starvations pause the world when they want to look; `look` always wants to. */
static bool advance_to_look(const struct drive *drive, int64_t tick) {
    return drive->look != NULL ? world_step(drive->world, tick) : world_run(drive->world, tick);
}

/* False: `look` wants the run to stop after the tick that the world has reached. */
static bool advance(const struct drive *drive, int64_t tick) {
    while (advance_to_look(drive, tick)) {
        if (drive->starvation != NULL)
            starvation_look(drive->starvation);
        if (drive->look != NULL && !drive->look(drive->self))
            return false;
    }
    return true;
}

/* False: `stop` wants the run to stop here. */
static bool act_at_stop(struct drive *drive) {
    int64_t tick = world_tick(drive->world);
    bool warm_up_ends = !drive->is_warm && tick >= drive->scenario->warm_up_ticks;
    drive->is_warm = drive->is_warm || warm_up_ends;
    if (warm_up_ends && drive->warm_up_ended != NULL)
        drive->warm_up_ended(drive->self);
    if (drive->sample != NULL && tick % drive->scenario->watch.every_ticks == 0)
        drive->sample(drive->self);
    return drive->stop == NULL || drive->stop(drive->self);
}

bool drive_until(struct drive *drive, int64_t last_tick) {
    while (world_tick(drive->world) < last_tick) {
        bool goes_on = advance(drive, next_stop(drive, last_tick));
        if (goes_on)
            goes_on = act_at_stop(drive);
        if (interrupt_signal() != 0)
            return false;
        if (!goes_on)
            return true;
    }
    return true;
}
