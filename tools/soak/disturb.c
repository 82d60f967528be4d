/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/disturb.c - draws the episodes of disturbance from one random stream, with quiet
 * times between them. */
#include "tools/soak/disturb.h"

#include <inttypes.h>
#include <stdlib.h>

#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "model/scenario/reach.h"
#include "sim/array.h"
#include "sim/random.h"
#include "sim/require.h"
#include "tools/base/scenario_edit.h"

/* Minutes, each shorter where there are less than SHORT_RUN of them. */
enum { SHORT_RUN = 60, QUIET_LEAST = 2, QUIET_MOST = 10 };
enum { EPISODES_MAX = 200 }; /* of longer runs the quiet is longer */
enum { TAKERS_MOST = 4, HEAP_LEAST = 10, HEAP_MOST = 50 /* per cent of the lane */ };

struct drawing {
    const struct scenario *scenario;
    struct reach reach;
    struct scenario_edit additions;
    struct random_stream chance;
    int64_t minute;  /* in ticks */
    int64_t stretch; /* factor of the quiet */
    int64_t tick, last_tick;
    struct disturbances *list;
};

/* ---- drawing ---- */

/* Ticks from `least` to `most` sixtieths of a minute, each equally likely. */
static int64_t draw_seconds(struct drawing *drawing, int64_t least, int64_t most) {
    int64_t from = least * drawing->minute / 60, to = most * drawing->minute / 60;
    return from + random_below(&drawing->chance, (uint32_t)(to - from) + 1);
}

static int64_t draw_minutes(struct drawing *drawing, int64_t least, int64_t most) {
    return draw_seconds(drawing, 60 * least, 60 * most);
}

/* Goes on by so many ticks, at most to the last tick. */
static void pass(struct drawing *drawing, int64_t ticks) {
    int64_t left = drawing->last_tick - drawing->tick;
    drawing->tick += ticks < left ? ticks : left;
}

/* Some of 0 .. count - 1, in random order, at the head of the list that is made. */
static uint32_t *draw_order(struct drawing *drawing, const uint32_t *from, uint32_t count) {
    uint32_t *order = require_memory(count, sizeof *order);
    for (uint32_t i = 0; i < count; i++) {
        uint32_t at = random_below(&drawing->chance, i + 1);
        order[i] = order[at];
        order[at] = from != NULL ? from[i] : i;
    }
    return order;
}

static void add_act(struct drawing *drawing, int64_t tick, const char *act, const char *name) {
    char at[QUANTITY_TEXT_SIZE];
    quantity_seconds(tick, drawing->scenario->ticks_per_second, at);
    scenario_edit_part(&drawing->additions, "incidents", "{at: %s s, %s: %s}", at, act, name);
}

/* ---- the kinds of episodes; each leaves drawing->tick at its end, where what it did is undone;
 * a heap ends as it falls ---- */

/* Arms that pick from a lane or line, the first *count of the list that is made. */
static uint32_t *list_takers(const struct scenario *scenario, uint32_t *count) {
    uint32_t *taker = require_memory(scenario->arm_count, sizeof *taker);
    *count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (layout_is_track(scenario->arm[i].from))
            taker[(*count)++] = i;
    return taker;
}

static void act_on_takers(struct drawing *drawing, const char *act, const uint32_t *taker,
                          uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        pass(drawing, i > 0 ? draw_seconds(drawing, 0, 30) : 0);
        add_act(drawing, drawing->tick, act, drawing->scenario->arm[taker[i]].name);
    }
}

static bool stop_takers(struct drawing *drawing) {
    uint32_t taker_count;
    uint32_t *taker = list_takers(drawing->scenario, &taker_count);
    if (taker_count > 0) {
        uint32_t *order = draw_order(drawing, taker, taker_count);
        uint32_t most = taker_count < TAKERS_MOST ? taker_count : TAKERS_MOST;
        uint32_t count = 1 + random_below(&drawing->chance, most);
        act_on_takers(drawing, "stop", order, count);
        pass(drawing, draw_minutes(drawing, 1, 5));
        uint32_t *again = draw_order(drawing, order, count);
        act_on_takers(drawing, "start", again, count);
        free(again);
        free(order);
    }
    free(taker);
    return taker_count > 0;
}

/* All that was missed comes at once. */
static void add_rush(struct drawing *drawing, const struct scenario_stream *supply,
                     int64_t missed_ticks) {
    const struct scenario *scenario = drawing->scenario;
    int64_t interval = supply->every.mean_ticks > 0 ? supply->every.mean_ticks : 1;
    int64_t deliveries = 1 + missed_ticks / interval;
    int64_t batch =
        deliveries > LIMIT_COUNT / supply->batch ? LIMIT_COUNT : deliveries * supply->batch;
    char at[QUANTITY_TEXT_SIZE];
    quantity_seconds(drawing->tick, scenario->ticks_per_second, at);
    scenario_edit_part(
        &drawing->additions, "supplies",
        "{chest: %s, item: %s, every: 1 h, batch: %" PRId64 ", first: %s s, until: %s s}",
        scenario->chest[supply->chest].name, scenario->item[supply->item].name, batch, at, at);
}

static bool fail_supply(struct drawing *drawing) {
    const struct scenario *scenario = drawing->scenario;
    if (scenario->supply_count == 0)
        return false;
    const struct scenario_stream *supply =
        &scenario->supply[random_below(&drawing->chance, scenario->supply_count)];
    int64_t from = drawing->tick;
    add_act(drawing, drawing->tick, "stop", supply->name);
    pass(drawing, draw_minutes(drawing, 2, 10));
    add_act(drawing, drawing->tick, "start", supply->name);
    add_rush(drawing, supply, drawing->tick - from);
    return true;
}

/* A kind that arms can place on the lane, each equally likely; NO_INDEX: there is none. */
static uint32_t draw_kind(struct drawing *drawing, uint32_t lane) {
    uint32_t items = drawing->scenario->item_count;
    uint32_t *order = draw_order(drawing, NULL, items), item = NO_INDEX;
    uint32_t place = layout_track_place(drawing->scenario, lane);
    for (uint32_t i = 0; i < items && item == NO_INDEX; i++)
        if (reach_comes_to(&drawing->reach, place, order[i]))
            item = order[i];
    free(order);
    return item;
}

static bool drop_heap(struct drawing *drawing) {
    const struct scenario *scenario = drawing->scenario;
    if (scenario->lane_count == 0)
        return false;
    uint32_t lane = random_below(&drawing->chance, scenario->lane_count);
    uint32_t item = draw_kind(drawing, lane);
    if (item == NO_INDEX)
        return false;
    int64_t cells = scenario->loop[scenario->lane[lane].loop].cell_count;
    int64_t share = HEAP_LEAST + random_below(&drawing->chance, HEAP_MOST - HEAP_LEAST + 1);
    int64_t count = cells * share / 100 / scenario->item[item].length;
    char at[QUANTITY_TEXT_SIZE];
    quantity_seconds(drawing->tick, scenario->ticks_per_second, at);
    scenario_edit_part(&drawing->additions, "incidents",
                       "{at: %s s, drop: {item: %s, count: %" PRId64 ", lane: %s}}", at,
                       scenario->item[item].name, count > 0 ? count : 1,
                       scenario->lane[lane].full_name);
    return true;
}

/* Outlets go on. */
static void act_on_demands(struct drawing *drawing, const char *act) {
    for (uint32_t i = 0; i < drawing->scenario->demand_count; i++)
        if (!drawing->scenario->demand[i].outlet)
            add_act(drawing, drawing->tick, act, drawing->scenario->demand[i].name);
}

static bool pause_demands(struct drawing *drawing) {
    if (!scenario_has_orders(drawing->scenario))
        return false;
    act_on_demands(drawing, "stop");
    pass(drawing, draw_minutes(drawing, 2, 10));
    act_on_demands(drawing, "start");
    return true;
}

/* ---- a run of them ---- */

static void note(struct drawing *drawing, int64_t begin_tick) {
    struct disturbances *list = drawing->list;
    list->entry = array_with_room(list->entry, list->count, &list->capacity, sizeof *list->entry);
    list->entry[list->count++] = (struct disturbance){begin_tick, drawing->tick};
}

/* A kind that the scenario has nothing for is none: then the next one is taken. */
static void draw_episode(struct drawing *drawing) {
    static bool (*const kind[])(struct drawing *) = {stop_takers, fail_supply, drop_heap,
                                                     pause_demands};
    enum { KINDS = sizeof kind / sizeof *kind };
    int64_t begin_tick = drawing->tick;
    uint32_t first = random_below(&drawing->chance, KINDS);
    for (uint32_t i = 0; i < KINDS; i++)
        if (kind[(first + i) % KINDS](drawing)) {
            note(drawing, begin_tick);
            return;
        }
}

static void draw_episodes(struct drawing *drawing) {
    for (int episode = 0; episode < EPISODES_MAX; episode++) {
        drawing->tick += drawing->stretch * draw_minutes(drawing, QUIET_LEAST, QUIET_MOST);
        if (drawing->tick >= drawing->last_tick)
            return;
        draw_episode(drawing);
    }
}

struct scenario *disturb_scenario(const struct scenario *scenario, uint64_t seed, int64_t last_tick,
                                  struct disturbances *list) {
    struct drawing drawing = {.scenario = scenario,
                              .tick = scenario->warm_up_ticks,
                              .last_tick = last_tick,
                              .list = list};
    int64_t ticks = last_tick > drawing.tick ? last_tick - drawing.tick : 0;
    int64_t minute = 60 * scenario->ticks_per_second;
    *list = (struct disturbances){.count = 0};
    drawing.minute = ticks / SHORT_RUN < minute ? ticks / SHORT_RUN : minute;
    drawing.stretch = 1 + ticks / minute / EPISODES_MAX / (QUIET_LEAST + QUIET_MOST);
    scenario_edit_init(&drawing.additions, scenario, "disturbance");
    scenario_edit_change(&drawing.additions, "run.seed=%" PRIu64, seed);
    random_start(&drawing.chance, seed, drawing.additions.prefix, "episodes");
    drawing.reach = reach_of(scenario, REACH_WITHOUT_DROPS, REACH_NO_STEPS_LIMIT);
    draw_episodes(&drawing);
    reach_free(&drawing.reach);
    struct scenario *made = scenario_edit_read(&drawing.additions);
    scenario_edit_free(&drawing.additions);
    return made;
}

void disturbances_free(struct disturbances *list) {
    free(list->entry);
    *list = (struct disturbances){0};
}
