/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/calm.c - a run of which only the makings are looked at. */
#include "tools/soak/calm.h"

#include "model/engine/belt_clock.h"
#include "model/engine/world.h"
#include "tools/record/drive.h"

enum { MARGIN_SECONDS = 3600, MARGIN_REVOLUTIONS = 30, MARGIN_INTERVALS = 20 };

struct calm {
    struct makings makings;
    const struct world *world;
    _Atomic int64_t *simulated;
    int64_t simulated_tick;
};

static bool look(void *self) {
    struct calm *calm = self;
    makings_look(&calm->makings);
    return true;
}

static void warm_up_ended(void *self) {
    struct calm *calm = self;
    makings_warm(&calm->makings);
}

static bool stop(void *self) {
    struct calm *calm = self;
    int64_t tick = world_tick(calm->world);
    *calm->simulated += tick - calm->simulated_tick;
    calm->simulated_tick = tick;
    return true;
}

bool calm_run(const struct scenario *scenario, struct mean_interval *usual,
              _Atomic int64_t *simulated) {
    struct world *world = world_new(scenario);
    struct calm calm = {.world = world, .simulated = simulated};
    makings_init(&calm.makings, scenario, world);
    struct drive drive = {.scenario = scenario,
                          .world = world,
                          .self = &calm,
                          .look = look,
                          .warm_up_ended = warm_up_ended,
                          .stop = stop};
    bool whole = drive_until(&drive, scenario->run_ticks);
    for (uint32_t i = 0; i < calm.makings.count; i++)
        usual[i] = makings_mean_to_last(&calm.makings.making[i], scenario->warm_up_ticks);
    makings_free(&calm.makings);
    world_free(world);
    return whole;
}

static int64_t longer(int64_t a, int64_t b) { return a > b ? a : b; }

int64_t calm_margin_ticks(const struct scenario *scenario, const struct mean_interval *usual,
                          uint32_t count) {
    int64_t margin = MARGIN_SECONDS * scenario->ticks_per_second;
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        struct belt_clock clock;
        belt_clock_init(&clock, scenario->loop[i].rate, scenario->ticks_per_second);
        int64_t steps = (int64_t)MARGIN_REVOLUTIONS * scenario->loop[i].cell_count;
        margin = longer(margin, belt_clock_tick_of(&clock, steps));
    }
    for (uint32_t i = 0; i < count; i++)
        if (usual[i].times > 0)
            margin = longer(margin, MARGIN_INTERVALS * usual[i].ticks / usual[i].times);
    return margin;
}
