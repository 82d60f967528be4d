/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/activity.c - tallies what the graph of waits says, look by look. */
#include "model/cause/activity.h"

#include <stdlib.h>

#include "model/engine/parts.h"
#include "model/scenario/layout.h"
#include "sim/array.h"
#include "sim/require.h"

/* ---- making ---- */

void activity_init(struct activity *activity, const struct waits *waits) {
    const struct scenario *scenario = waits->scenario;
    size_t tracks = layout_track_count(scenario);
    *activity = (struct activity){.scenario = scenario, .from_tick = NOT_GIVEN};
    activity->vertex_count = waits_vertices(waits);
    activity->of = require_memory(activity->vertex_count, sizeof *activity->of);
    activity->arm_at_first = require_memory(scenario->arm_count, sizeof *activity->arm_at_first);
    activity->arm_at_last = require_memory(scenario->arm_count, sizeof *activity->arm_at_last);
    activity->station_at_first =
        require_memory(scenario->station_count, sizeof *activity->station_at_first);
    activity->station_at_last =
        require_memory(scenario->station_count, sizeof *activity->station_at_last);
    activity->first_item =
        require_memory((size_t)scenario->arm_count + 1, sizeof *activity->first_item);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        activity->first_item[i + 1] = activity->first_item[i] + scenario->arm[i].item_count;
    activity->placed =
        require_memory(activity->first_item[scenario->arm_count], sizeof *activity->placed);
    activity->on_track = require_memory(tracks * scenario->item_count, sizeof *activity->on_track);
}

void activity_free(struct activity *activity) {
    for (uint32_t i = 0; i < activity->vertex_count; i++)
        free(activity->of[i].wait);
    free(activity->of);
    free(activity->arm_at_first);
    free(activity->arm_at_last);
    free(activity->station_at_first);
    free(activity->station_at_last);
    free(activity->first_item);
    free(activity->placed);
    free(activity->on_track);
    *activity = (struct activity){0};
}

/* ---- who waits for what ---- */

/* A station waits for an item, whoever is to bring it. */
static enum wait_reason reason_of(enum waits_kind kind, enum wait_reason why) {
    return kind == WAITS_STATION && why == WAITS_TO_BRING ? WAITS_FOR_ITEM : why;
}

static void count_wait(struct activity_of *of, enum wait_reason why, uint32_t item, uint32_t to) {
    for (uint32_t i = 0; i < of->wait_count; i++)
        if (of->wait[i].why == why && of->wait[i].item == item) {
            of->wait[i].looks++;
            return;
        }
    of->wait = array_with_room(of->wait, of->wait_count, &of->wait_capacity, sizeof *of->wait);
    of->wait[of->wait_count++] = (struct activity_wait){why, item, 1, to};
}

/* True when an earlier edge of the same vertex says the same. */
static bool is_said(const struct waits *waits, uint32_t edge, enum waits_kind kind) {
    const struct waits_edge *self = &waits->edge[edge];
    for (uint32_t i = waits->first[self->from]; i < edge; i++)
        if (reason_of(kind, waits->edge[i].why) == reason_of(kind, self->why) &&
            waits->edge[i].item == self->item)
            return true;
    return false;
}

static bool has_edge(const struct waits *waits, uint32_t vertex, enum wait_reason why) {
    for (uint32_t i = waits->first[vertex]; i < waits->first[vertex + 1]; i++)
        if (waits->edge[i].why == why)
            return true;
    return false;
}

/* What holds up an arm that reaches, or a supply. An item that is not there counts more than
 * room that is lacking for another. */
static enum activity_state held_by(const struct waits *waits, uint32_t vertex) {
    switch (waits->status[vertex]) {
    case STATUS_STOPPED:
    case STATUS_ENDED: return ACTIVITY_STOPPED;
    case STATUS_ACTIVE:
        return waits_thing(waits, vertex).kind == WAITS_ARM ? ACTIVITY_ITEM : ACTIVITY_BUSY;
    case STATUS_WAITING: break;
    }
    if (has_edge(waits, vertex, WAITS_FOR_GATE))
        return ACTIVITY_GATE;
    return has_edge(waits, vertex, WAITS_FOR_ITEM) ? ACTIVITY_ITEM : ACTIVITY_ROOM;
}

static bool is_place(enum waits_kind kind) { return kind == WAITS_TRACK || kind == WAITS_CHEST; }

static void count_waits(struct activity *activity, const struct waits *waits, uint32_t vertex,
                        enum waits_kind kind) {
    for (uint32_t i = waits->first[vertex]; i < waits->first[vertex + 1]; i++)
        if (!is_said(waits, i, kind))
            count_wait(&activity->of[vertex], reason_of(kind, waits->edge[i].why),
                       waits->edge[i].item, waits->edge[i].to);
}

/* ---- active periods ---- */

static int64_t passive_of_arm(const struct arm_totals *arm) {
    return arm->ticks[ARM_REACHING] + arm->ticks[ARM_PLACING] + arm->ticks[ARM_STOPPED];
}

static int64_t passive_of_station(const struct station_totals *station) {
    return station->ticks[STATION_STARVED] + station->ticks[STATION_BLOCKED] +
           station->ticks[STATION_GATED] + station->ticks[STATION_STOPPED];
}

/* A supply has no totals: it counts as passive since the look before where it is seen so. */
static int64_t passive_of_supply(const struct activity *activity, uint32_t vertex,
                                 enum activity_state state, int64_t tick) {
    int64_t before = activity->of[vertex].periods.passive_total;
    if (activity->looks == 0 || state == ACTIVITY_BUSY)
        return before;
    return before + tick - activity->to_tick;
}

static void end_period(struct activity_periods *periods, int64_t tick) {
    if (tick - periods->since > periods->longest_ticks)
        periods->longest_ticks = tick - periods->since;
    periods->since = NOT_GIVEN;
}

/* `before`: the tick of the last look. */
static void count_period(struct activity_periods *periods, int64_t passive_total, int64_t before,
                         int64_t tick) {
    int64_t passive = passive_total - periods->passive_total;
    int64_t active = tick - before - passive;
    periods->passive_total = passive_total;
    if (active > 0 && periods->since == NOT_GIVEN) {
        periods->since = tick - active;
        periods->count++;
    }
    periods->active_ticks += active;
    if (passive > 0 && periods->since != NOT_GIVEN)
        end_period(periods, tick - passive > periods->since ? tick - passive : tick);
}

static void look_at_periods(struct activity *activity, uint32_t vertex, int64_t passive_total,
                            int64_t tick) {
    struct activity_periods *periods = &activity->of[vertex].periods;
    if (activity->looks == 0)
        *periods = (struct activity_periods){.passive_total = passive_total, .since = NOT_GIVEN};
    else
        count_period(periods, passive_total, activity->to_tick, tick);
}

/* ---- looking ---- */

static void look_at_arm(struct activity *activity, const struct waits *waits,
                        const struct world *world, uint32_t index) {
    uint32_t vertex = waits_vertex(waits, WAITS_ARM, index);
    struct arm_totals *last = &activity->arm_at_last[index];
    *last = world_arm_totals(world, index);
    if (activity->looks == 0)
        activity->arm_at_first[index] = *last;
    look_at_periods(activity, vertex, passive_of_arm(last), world_tick(world));
    if (world_arm_state(world, index) == ARM_REACHING)
        activity->of[vertex].seen[held_by(waits, vertex)]++;
}

static void look_at_station(struct activity *activity, const struct waits *waits,
                            const struct world *world, uint32_t index) {
    struct station_totals *last = &activity->station_at_last[index];
    *last = world_station_totals(world, index);
    if (activity->looks == 0)
        activity->station_at_first[index] = *last;
    look_at_periods(activity, waits_vertex(waits, WAITS_STATION, index), passive_of_station(last),
                    world_tick(world));
}

static void look_at_supply(struct activity *activity, const struct waits *waits,
                           const struct world *world, uint32_t index) {
    uint32_t vertex = waits_vertex(waits, WAITS_SUPPLY, index);
    enum activity_state state = held_by(waits, vertex);
    if (state != ACTIVITY_STOPPED && world_supply_held(world, index) == 0)
        state = ACTIVITY_BUSY; /* what would keep it from delivering now may be gone by then */
    look_at_periods(activity, vertex, passive_of_supply(activity, vertex, state, world_tick(world)),
                    world_tick(world));
    activity->of[vertex].seen[state]++;
}

static void look_at_tracks(struct activity *activity, const struct world *world) {
    const struct scenario *scenario = activity->scenario;
    for (uint32_t i = 0; i < layout_track_count(scenario); i++) {
        const struct track_plan *track = &world->track[i].plan;
        for (uint32_t j = 0; j < track->kind_count; j++) {
            const struct track_kind *kind = &world->kind[track->first_kind + j];
            activity->on_track[(size_t)i * scenario->item_count + kind->item] += kind->count;
        }
    }
}

void activity_look(struct activity *activity, const struct waits *waits,
                   const struct world *world) {
    const struct scenario *scenario = activity->scenario;
    for (uint32_t i = 0; i < activity->vertex_count; i++)
        if (!is_place(waits_thing(waits, i).kind))
            count_waits(activity, waits, i, waits_thing(waits, i).kind);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        look_at_arm(activity, waits, world, i);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        look_at_station(activity, waits, world, i);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        look_at_supply(activity, waits, world, i);
    for (uint32_t i = 0; i < scenario->demand_count; i++) {
        uint32_t vertex = waits_vertex(waits, WAITS_DEMAND, i);
        activity->of[vertex].seen[held_by(waits, vertex)]++;
    }
    look_at_tracks(activity, world);
    if (activity->looks++ == 0)
        activity->from_tick = world_tick(world);
    activity->to_tick = world_tick(world);
}

void activity_moved(struct activity *activity, const struct move *move) {
    const struct scenario_arm *arm = &activity->scenario->arm[move->arm];
    if (activity->looks == 0 || move->act != MOVE_PLACE)
        return;
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (arm->item[i] == move->item) {
            activity->placed[activity->first_item[move->arm] + i] += move->count;
            return;
        }
}

/* Multiples of an irrational number, less their whole part, lie evenly: H. Weyl, "Ueber die
 * Gleichverteilung von Zahlen mod. Eins", Mathematische Annalen 77 (1916) 313-352; here the golden
 * section, in parts of 2^32. */
int64_t activity_next_look(uint32_t looks, int64_t tick, int64_t every) {
    uint64_t part = (uint64_t)looks * UINT64_C(2654435769) & UINT32_MAX;
    int64_t step = every / 2 + (int64_t)((wide_count)part * (wide_count)(every + 1) >> 32);
    return tick + (step > 0 ? step : 1);
}

/* ---- asking ---- */

static int64_t ticks_of(const struct activity *activity) {
    int64_t ticks = activity->to_tick - activity->from_tick;
    return activity->looks > 0 && ticks > 0 ? ticks : 1;
}

static struct activity_shares shares_of_arm(const struct activity *activity, uint32_t vertex,
                                            uint32_t index) {
    const struct activity_of *of = &activity->of[vertex];
    struct activity_shares shares = {{0}};
    double ticks = (double)ticks_of(activity), state[ARM_STATES], looks = 0;
    for (int i = 0; i < ARM_STATES; i++)
        state[i] = (double)(activity->arm_at_last[index].ticks[i] -
                            activity->arm_at_first[index].ticks[i]) /
                   ticks;
    for (int i = 0; i < ACTIVITY_STATES; i++)
        looks += of->seen[i];
    shares.share[ACTIVITY_BUSY] = state[ARM_CARRYING] + state[ARM_RETURNING];
    shares.share[ACTIVITY_ROOM] = state[ARM_PLACING];
    shares.share[ACTIVITY_STOPPED] = state[ARM_STOPPED];
    for (int i = ACTIVITY_ITEM; i < ACTIVITY_STATES && looks > 0; i++)
        shares.share[i] += state[ARM_REACHING] * of->seen[i] / looks;
    shares.share[ACTIVITY_ITEM] += looks > 0 ? 0 : state[ARM_REACHING];
    return shares;
}

static struct activity_shares shares_of_station(const struct activity *activity, uint32_t index) {
    static const enum activity_state state[STATION_STATES] = {[STATION_WORKING] = ACTIVITY_BUSY,
                                                              [STATION_STARVED] = ACTIVITY_ITEM,
                                                              [STATION_BLOCKED] = ACTIVITY_ROOM,
                                                              [STATION_GATED] = ACTIVITY_GATE,
                                                              [STATION_STOPPED] = ACTIVITY_STOPPED};
    struct activity_shares shares = {{0}};
    for (int i = 0; i < STATION_STATES; i++)
        shares.share[state[i]] = (double)(activity->station_at_last[index].ticks[i] -
                                          activity->station_at_first[index].ticks[i]) /
                                 (double)ticks_of(activity);
    return shares;
}

struct activity_shares activity_shares(const struct activity *activity, const struct waits *waits,
                                       uint32_t vertex) {
    struct waits_thing thing = waits_thing(waits, vertex);
    struct activity_shares shares = {{0}};
    if (thing.kind == WAITS_ARM)
        return shares_of_arm(activity, vertex, thing.index);
    if (thing.kind == WAITS_STATION)
        return shares_of_station(activity, thing.index);
    for (int i = 0; i < ACTIVITY_STATES && activity->looks > 0; i++)
        shares.share[i] = (double)activity->of[vertex].seen[i] / activity->looks;
    return shares;
}

double activity_wait_share(const struct activity *activity, uint32_t vertex, enum wait_reason why,
                           uint32_t item) {
    const struct activity_of *of = &activity->of[vertex];
    uint32_t looks = 0;
    for (uint32_t i = 0; i < of->wait_count; i++)
        if (of->wait[i].why == why && (item == NO_INDEX || of->wait[i].item == item) &&
            of->wait[i].looks > looks)
            looks = of->wait[i].looks;
    return activity->looks > 0 ? (double)looks / activity->looks : 0;
}

const struct activity_wait *activity_gate_wait(const struct activity *activity, uint32_t gate) {
    const struct activity_of *of = &activity->of[gate];
    const struct activity_wait *most = NULL;
    for (uint32_t i = 0; i < of->wait_count; i++)
        if (most == NULL || of->wait[i].looks > most->looks)
            most = &of->wait[i];
    return most;
}

double activity_mean_period(const struct activity *activity, uint32_t vertex) {
    const struct activity_periods *periods = &activity->of[vertex].periods;
    if (periods->count == 0)
        return 0;
    return (double)periods->active_ticks / periods->count /
           (double)activity->scenario->ticks_per_second;
}

double activity_rate(const struct activity *activity, uint32_t arm, uint32_t item) {
    const struct scenario_arm *fixed = &activity->scenario->arm[arm];
    for (uint32_t i = 0; i < fixed->item_count; i++)
        if (fixed->item[i] == item)
            return (double)activity->placed[activity->first_item[arm] + i] *
                   (double)activity->scenario->ticks_per_second / (double)ticks_of(activity);
    return 0;
}

double activity_mean_on_track(const struct activity *activity, uint32_t track, uint32_t item) {
    return activity->looks > 0
               ? activity->on_track[(size_t)track * activity->scenario->item_count + item] /
                     activity->looks
               : 0;
}
