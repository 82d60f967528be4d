/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal_stream.c - supplies and demands (section 7). */
#include "tests/exact/literal_state.h"

static int64_t interval(struct literal *literal, const struct scenario_stream *plan,
                        struct literal_stream *stream) {
    return span_draw(&plan->every, &stream->interval, literal->scenario->ticks_per_second);
}

/* None is due after `until`. */
static int64_t due_or_never(const struct scenario_stream *plan, int64_t tick) {
    return tick > plan->until_tick ? NOT_YET : tick;
}

/* The first event: at the later of `first` (default: one interval after 0) and `from`. */
static void start(struct literal *literal, const struct scenario_stream *plan,
                  struct literal_stream *stream) {
    random_start(&stream->interval, literal->scenario->seed, plan->name, "interval");
    int64_t first = plan->first_tick;
    if (first == NOT_GIVEN)
        first = interval(literal, plan, stream);
    stream->due_tick = due_or_never(plan, first > plan->from_tick ? first : plan->from_tick);
}

void literal_stream_start(struct literal *literal) {
    for (uint32_t i = 0; i < literal->scenario->supply_count; i++)
        start(literal, &literal->scenario->supply[i], &literal->supply[i]);
    for (uint32_t i = 0; i < literal->scenario->demand_count; i++)
        start(literal, &literal->scenario->demand[i], &literal->demand[i]);
}

void literal_stream_deliver(struct literal *literal, uint32_t index) {
    const struct scenario_stream *plan = &literal->scenario->supply[index];
    struct literal_stream *supply = &literal->supply[index];
    struct place chest = {PLACE_CHEST, plan->chest, 0};
    if (supply->waiting == 0 && supply->due_tick == literal->tick) {
        supply->waiting = plan->batch;
        supply->due_tick = NOT_YET;
    }
    if (supply->waiting == 0 || literal_incident_stopped(literal, PART_SUPPLY, index) ||
        !literal_store_gate_open(literal, plan->gate))
        return;
    while (supply->waiting > 0 && literal_store_accepts(literal, chest, plan->item)) {
        literal_store_put(literal, chest, plan->item, 1);
        literal->item[plan->item].supplied++;
        supply->waiting--;
    }
    if (plan->when == WHEN_LOSE)
        supply->waiting = 0;
    if (supply->waiting == 0) /* this one is in: the clock of the next starts */
        supply->due_tick = due_or_never(plan, literal->tick + interval(literal, plan, supply));
}

/* What is owed is taken as soon as it is there; what a demand that loses asked for, and what an
 * outlet can take, is open only within the tick. */
void literal_stream_demand(struct literal *literal, uint32_t index) {
    const struct scenario_stream *plan = &literal->scenario->demand[index];
    struct literal_stream *demand = &literal->demand[index];
    struct place chest = {PLACE_CHEST, plan->chest, 0};
    struct item_totals *totals = &literal->item[plan->item];
    bool stopped = literal_incident_stopped(literal, PART_DEMAND, index);
    if (demand->due_tick == literal->tick) {
        if (!stopped) {
            demand->waiting += plan->batch;
            totals->demanded += plan->outlet ? 0 : plan->batch;
        }
        demand->due_tick = due_or_never(plan, literal->tick + interval(literal, plan, demand));
    }
    if (stopped)
        return;
    int64_t there = literal_store_count(literal, chest, plan->item);
    int64_t taken = there < demand->waiting ? there : demand->waiting;
    if (taken > 0)
        literal_store_take(literal, chest, plan->item, taken);
    totals->met += taken;
    demand->waiting -= taken;
    if (plan->when == WHEN_LOSE) {
        totals->lost += plan->outlet ? 0 : demand->waiting;
        demand->waiting = 0;
    }
}
