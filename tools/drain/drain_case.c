/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_case.c - advances from one tick in which something is due to the next, and
 * checks after each whether the drain has ended. */
#include "tools/drain/drain_case.h"

#include <inttypes.h>
#include <stdlib.h>

#include "model/cause/waits.h"
#include "model/engine/belt_clock.h"
#include "model/scenario/layout.h"
#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/scenario_edit.h"
#include "tools/cause/drain_why.h"
#include "tools/record/drive.h"
#include "tools/record/makings.h"

struct course {
    const struct drain_order *order;
    const struct scenario *scenario;
    struct world *world;
    struct drain_found *found;
    int64_t on_loops;         /* items on all lanes */
    int64_t empty_tick;       /* from when there are none, while there are none */
    int64_t rest_tick;        /* `since` of the open rest; NOT_GIVEN: none is open */
    uint32_t deadlocks, jams; /* open */
    struct makings makings;
    /* Asked after each tick in which something was due: false: that is enough. NULL: go on. */
    bool (*goes_on)(const struct course *course);
};

/* ---- listening ---- */

static void count_on_loops(struct course *course, int64_t tick, int64_t count) {
    bool empty_before = course->on_loops == 0;
    course->on_loops += count;
    if (course->on_loops == 0 && !empty_before)
        course->empty_tick = tick;
}

static void moved(void *self, const struct move *move) {
    if (move->place.kind == PLACE_LANE)
        count_on_loops(self, move->tick, move->act == MOVE_PLACE ? move->count : -move->count);
}

static void happened(void *self, const struct event *event) {
    if (event->subject != SUBJECT_TRACK || event->track.kind != PLACE_LANE)
        return;
    if (event->kind == EVENT_DROP)
        count_on_loops(self, event->start_tick, event->count);
    if (event->kind == EVENT_CLEAR)
        count_on_loops(self, event->start_tick, -event->count);
}

static void began(void *self, const struct event *event) {
    struct course *course = self;
    course->jams += event->kind == EVENT_JAM;
    course->deadlocks += event->kind == EVENT_DEADLOCK;
    if (event->kind == EVENT_REST)
        course->rest_tick = event->since_tick;
}

static void ended(void *self, const struct event *event) {
    struct course *course = self;
    course->jams -= event->kind == EVENT_JAM;
    course->deadlocks -= event->kind == EVENT_DEADLOCK;
    if (event->kind == EVENT_REST)
        course->rest_tick = NOT_GIVEN;
}

/* ---- looking ---- */

static bool is_below(const struct course *course, uint32_t lane) {
    struct place track = {PLACE_LANE, lane, 0};
    int64_t cells = course->scenario->loop[course->scenario->lane[lane].loop].cell_count;
    struct ratio share = {world_track_cells(course->world, track), cells};
    return quantity_compare(share, course->scenario->watch.congested_at) < 0;
}

static void look_at_flood(struct course *course) {
    if (!course->order->flood.wanted || course->found->recovered_tick != NOT_GIVEN)
        return;
    for (uint32_t lane = 0; lane < course->scenario->lane_count; lane++)
        if (course->order->flood.falls_on[lane] && !is_below(course, lane))
            return;
    course->found->recovered_tick = world_tick(course->world);
}

static bool look(void *self) {
    struct course *course = self;
    makings_look(&course->makings);
    look_at_flood(course);
    return course->goes_on == NULL || course->goes_on(course);
}

/* To a tick, or to where `goes_on` says false. False: a signal was noted. */
static bool go_to(struct course *course, int64_t tick) {
    struct drive drive = {.scenario = course->scenario,
                          .world = course->world,
                          .is_warm = true,
                          .self = course,
                          .look = look};
    return drive_until(&drive, tick);
}

/* ---- the drain ---- */

/* Ticks in which every loop that runs comes round, and every line makes a step. */
static int64_t revolution_ticks(const struct scenario *scenario) {
    int64_t longest = 1;
    struct belt_clock pace;
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        belt_clock_init(&pace, scenario->loop[i].rate, scenario->ticks_per_second);
        int64_t ticks = belt_clock_tick_of(&pace, scenario->loop[i].cell_count) + 1;
        longest = ticks > longest ? ticks : longest;
    }
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        belt_clock_init(&pace, scenario->line[i].rate, scenario->ticks_per_second);
        int64_t ticks = belt_clock_tick_of(&pace, 1) + 1;
        longest = ticks > longest ? ticks : longest;
    }
    return longest;
}

static bool stop_at_once(const struct course *course) {
    (void)course;
    return false;
}

static bool lasts(const struct course *course) {
    return course->rest_tick != NOT_GIVEN || course->deadlocks > 0;
}

/* True when an incident may still happen up to `limit`. */
static bool incident_comes(const struct scenario *scenario, int64_t tick, int64_t limit) {
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->repeats || (incident->at_tick > tick && incident->at_tick <= limit))
            return true;
    }
    return false;
}

/* Some arm wants to put something onto a lane of a loop that runs. */
static bool lane_is_wanted(const struct course *course) {
    const struct scenario *scenario = course->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct place to = scenario->arm[i].to;
        if (to.kind == PLACE_LANE && world_arm_state(course->world, i) == ARM_PLACING &&
            world_belt_clock(course->world, scenario->lane[to.index].loop).running)
            return true;
    }
    return false;
}

/* From when nothing has moved, where nothing can move any more up to `limit` either, although that
 * is no rest (a hand waits to put something down) and no deadlock (no lane is jammed, and none will
 * be): at `limit` all would be as it is now. NOT_GIVEN: it is not so, or not yet. */
static int64_t still_since(const struct course *course, int64_t limit) {
    int64_t since = world_still_since(course->world);
    if (since == NOT_GIVEN || lane_is_wanted(course) ||
        incident_comes(course->scenario, world_tick(course->world), limit))
        return NOT_GIVEN;
    return since;
}

/* From the stop on, to its end: a rest or a deadlock lasts, and for a whole revolution no help from
 * the edge was to come. So long a rest goes on, too, when what was broken has just been
 * repaired. */
static bool drain(struct course *course, bool *in_time) {
    int64_t limit = course->found->stopped_tick + course->order->within_ticks;
    int64_t revolution = revolution_ticks(course->scenario), alone = NOT_GIVEN;
    *in_time = false;
    course->goes_on = stop_at_once;
    for (;;) {
        int64_t tick = world_tick(course->world);
        if (world_help_comes(course->world))
            alone = NOT_GIVEN;
        else if (alone == NOT_GIVEN)
            alone = tick;
        *in_time = lasts(course) && alone != NOT_GIVEN && tick >= alone + revolution;
        if (*in_time || tick >= limit)
            return true;
        if (!lasts(course))
            course->found->still_tick = still_since(course, limit);
        if (course->found->still_tick != NOT_GIVEN)
            return true;
        bool waits = lasts(course) && alone != NOT_GIVEN && alone + revolution < limit;
        if (!go_to(course, waits ? alone + revolution : limit))
            return false;
    }
}

static void judge(struct course *course, bool in_time) {
    struct drain_found *found = course->found;
    int64_t half = found->stopped_tick + course->order->within_ticks / 2;
    found->drained = course->on_loops == 0 && (in_time || course->empty_tick <= half);
    found->emptied_tick = NOT_GIVEN;
    if (found->drained)
        found->emptied_tick =
            course->empty_tick > found->stopped_tick ? course->empty_tick : found->stopped_tick;
    found->rest_tick = course->rest_tick;
    found->deadlocked = course->deadlocks > 0;
    found->empty_late = !found->drained && course->on_loops == 0 ? course->empty_tick : NOT_GIVEN;
    found->end_tick = world_tick(course->world);
    found->recovered = found->recovered_tick != NOT_GIVEN && course->jams == 0;
}

/* ---- what is left ---- */

static void add_left(struct drain_found *found, const char *place, uint32_t item, int64_t count,
                     char *why) {
    found->left =
        array_with_room(found->left, found->left_count, &found->left_capacity, sizeof *found->left);
    found->left[found->left_count++] = (struct drain_left){require_text(place), item, count, why};
}

static void list_track(struct course *course, const struct waits *waits, struct place track,
                       const char *name) {
    if (world_track_count(course->world, track, NO_INDEX) == 0)
        return;
    for (uint32_t item = 0; item < course->scenario->item_count; item++) {
        int64_t count = world_track_count(course->world, track, item);
        if (count > 0)
            add_left(course->found, name, item, count,
                     drain_why_on_track(waits, course->world, track, item));
    }
}

static void list_hand(struct course *course, const struct waits *waits, uint32_t index) {
    const struct scenario_arm *arm = &course->scenario->arm[index];
    for (uint32_t i = 0; i < arm->item_count; i++) {
        int64_t count = world_hand_count(course->world, index, arm->item[i]);
        if (count > 0)
            add_left(course->found, arm->name, arm->item[i], count,
                     drain_why_in_hand(waits, course->world, index));
    }
}

static void list_left(struct course *course) {
    const struct scenario *scenario = course->scenario;
    struct waits waits;
    waits_init(&waits, scenario);
    waits_look(&waits, course->world);
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        list_track(course, &waits, layout_track_as_place(scenario, i),
                   layout_track_name(scenario, i));
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        list_hand(course, &waits, i);
    waits_free(&waits);
}

/* ---- starting again ---- */

/* The mean interval from the warm-up to the stop; a product that was not made then has none, and is
 * not waited for. */
static void set_means(struct course *course) {
    for (uint32_t i = 0; i < course->makings.count; i++) {
        struct making *making = &course->makings.making[i];
        making->usual =
            makings_mean(making, course->scenario->warm_up_ticks, course->found->stopped_tick);
    }
}

static bool is_running_again(const struct course *course) {
    bool any = false;
    for (uint32_t i = 0; i < course->makings.count; i++) {
        const struct making *making = &course->makings.making[i];
        if (!makings_is_usual(making, world_tick(course->world)))
            return false;
        any = any || making->usual.times > 0;
    }
    return any;
}

static bool is_not_running_again(const struct course *course) { return !is_running_again(course); }

/* Nothing was made between the warm-up and the stop, so that there is nothing to wait for. */
static bool makes_nothing(const struct course *course) {
    for (uint32_t i = 0; i < course->makings.count; i++)
        if (course->makings.making[i].usual.times > 0)
            return false;
    return true;
}

static void list_late(struct course *course) {
    struct drain_found *found = course->found;
    found->late = require_memory(course->scenario->item_count, sizeof *found->late);
    for (uint32_t i = 0; i < course->makings.count && !found->restarted; i++) {
        const struct making *making = &course->makings.making[i];
        found->late[making->item] = !makings_is_usual(making, world_tick(course->world));
    }
}

/* From the end of the drain on: the demands start in the tick after it. */
static bool start_again(struct course *course) {
    struct drain_found *found = course->found;
    int64_t start = found->end_tick + 1, limit = start + course->order->within_ticks;
    makings_forget(&course->makings);
    course->goes_on = is_not_running_again;
    if (is_not_running_again(course) && !go_to(course, limit))
        return false;
    found->restarted = is_running_again(course);
    found->makes_nothing = makes_nothing(course);
    if (found->restarted)
        found->restart_ticks = world_tick(course->world) - start;
    list_late(course);
    return true;
}

/* ---- courses ---- */

static void open_course(struct course *course) {
    struct listener listener = {course, moved, happened, began, ended, NULL};
    course->rest_tick = NOT_GIVEN;
    course->found->recovered_tick = NOT_GIVEN;
    course->world = world_new(course->scenario);
    makings_init(&course->makings, course->scenario, course->world);
    world_listen(course->world, &listener);
}

static void close_course(struct course *course) {
    world_free(course->world);
    makings_free(&course->makings);
}

static bool go_to_stop(struct course *course) {
    int64_t stop = course->found->stopped_tick, warm = course->scenario->warm_up_ticks;
    if (!go_to(course, warm < stop ? warm : stop))
        return false;
    makings_warm(&course->makings);
    return go_to(course, stop);
}

/* The first time through, to the end of the drain. */
static bool find_end(const struct drain_order *order, const struct scenario *scenario,
                     struct drain_found *found) {
    struct course course = {.order = order, .scenario = scenario, .found = found};
    bool in_time = false;
    open_course(&course);
    bool whole = go_to_stop(&course) && drain(&course, &in_time);
    if (whole) {
        judge(&course, in_time);
        list_left(&course);
    }
    close_course(&course);
    return whole;
}

/* The second time through, from 0, because the scenario has the new start in it now. */
static bool find_restart(const struct drain_order *order, const struct scenario *scenario,
                         struct drain_found *found) {
    struct course course = {.order = order, .scenario = scenario, .found = found};
    int64_t recovered = found->recovered_tick;
    open_course(&course);
    bool whole = go_to_stop(&course);
    if (whole) {
        set_means(&course);
        whole = go_to(&course, found->end_tick) && start_again(&course);
    }
    found->recovered_tick = recovered;
    close_course(&course);
    return whole;
}

/* ---- scenarios ---- */

static void add_acts(struct scenario_edit *additions, const struct drain_order *order,
                     const char *act, int64_t tick) {
    const struct scenario *scenario = additions->scenario;
    char at[QUANTITY_TEXT_SIZE];
    quantity_seconds(tick, scenario->ticks_per_second, at);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet)
            scenario_edit_part(additions, "incidents", "{at: %s s, %s: %s}", at, act,
                               scenario->demand[i].name);
    for (uint32_t i = 0; order->supplies_too && i < scenario->supply_count; i++)
        scenario_edit_part(additions, "incidents", "{at: %s s, %s: %s}", at, act,
                           scenario->supply[i].name);
}

/* The scenario with what was added so far, to be run up to `last_tick`, which is never before the
 * end of the warm-up. */
static struct scenario *scenario_to(struct scenario_edit *additions, int64_t last_tick) {
    const struct scenario *scenario = additions->scenario;
    char until[QUANTITY_TEXT_SIZE];
    int64_t ticks = last_tick > scenario->warm_up_ticks ? last_tick : scenario->warm_up_ticks;
    quantity_seconds(ticks > 0 ? ticks : 1, scenario->ticks_per_second, until);
    scenario_edit_change(additions, "run.for=%s s", until);
    return scenario_edit_read(additions);
}

static bool run_first(const struct drain_order *order, struct scenario_edit *additions,
                      struct drain_found *found) {
    struct scenario *scenario = scenario_to(additions, found->stopped_tick + order->within_ticks);
    bool whole = find_end(order, scenario, found);
    scenario_free(scenario);
    return whole;
}

static bool run_again(const struct drain_order *order, struct scenario_edit *additions,
                      struct drain_found *found) {
    int64_t start = found->end_tick + 1;
    add_acts(additions, order, "start", start);
    struct scenario *scenario = scenario_to(additions, start + order->within_ticks);
    bool whole = find_restart(order, scenario, found);
    scenario_free(scenario);
    return whole;
}

uint64_t drain_case_seed(const struct scenario *scenario, uint64_t number) {
    return (scenario->seed + number) & (uint64_t)LIMIT_SEED;
}

int64_t drain_case_stop(const struct scenario *scenario, int64_t after_ticks, uint64_t number,
                        uint64_t runs) {
    int64_t spread = DRAIN_SPREAD_SECONDS * scenario->ticks_per_second, count = (int64_t)runs;
    return after_ticks + spread / count * (int64_t)number +
           spread % count * (int64_t)number / count;
}

bool drain_case_run(const struct drain_order *order, uint64_t seed, int64_t stop_tick,
                    struct drain_found *found) {
    struct scenario_edit additions;
    *found = (struct drain_found){.seed = seed,
                                  .stopped_tick = stop_tick,
                                  .still_tick = NOT_GIVEN,
                                  .restart_ticks = NOT_GIVEN};
    scenario_edit_init(&additions, order->scenario, "drain");
    scenario_edit_change(&additions, "run.seed=%" PRIu64, seed);
    if (order->flood.wanted)
        found->flood_items = drain_flood_add(&order->flood, seed, &additions);
    add_acts(&additions, order, "stop", stop_tick);
    bool whole = run_first(order, &additions, found) &&
                 (!order->restart || run_again(order, &additions, found));
    int64_t last = found->end_tick;
    if (order->restart)
        last += 1 + (found->restarted ? found->restart_ticks : order->within_ticks);
    if (whole)
        found->scenario = scenario_to(&additions, last);
    else
        drain_case_free(found);
    scenario_edit_free(&additions);
    return whole;
}

void drain_case_free(struct drain_found *found) {
    for (uint32_t i = 0; i < found->left_count; i++) {
        free(found->left[i].place);
        free(found->left[i].why);
    }
    free(found->left);
    free(found->late);
    scenario_free(found->scenario);
    *found = (struct drain_found){0};
}
