/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_mends.c - for each rule what people change, with numbers that follow from
 * those of the finding. */
#include "model/budget/budget_mends.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget_gates.h"
#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "model/scenario/gate_text.h"
#include "model/scenario/limits.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "sim/text_stream.h"

/* A little more than would do, so that rounding does not undo it. */
static const double margin = 1.02;
enum { NAME_BYTES = LIMIT_NAME_LENGTH + 32, GATES_MOST = 3 };

struct mender {
    const struct budget *budget;
    const struct scenario *scenario;
    const struct budget_net *net;
    const struct budget_finding *finding;
    struct budget_texts *changes;
};

/* ---- names and numbers ---- */

static const char *item_of(const struct mender *mender) {
    return mender->scenario->item[mender->finding->item].name;
}

/* "pin-box", or "pin-box-2" where there is one. */
static char *new_name(const struct mender *mender, const char *what, char name[NAME_BYTES]) {
    snprintf(name, NAME_BYTES, "%s-%s", item_of(mender), what);
    for (int i = 2; scenario_has_name(mender->scenario, name); i++)
        snprintf(name, NAME_BYTES, "%s-%s-%d", item_of(mender), what, i);
    return name;
}

/* A duration of at least a tick, rounded down to whole ones. For what never comes, the time between
 * two of it would have no end: as long as a run at most. */
static char *seconds_text(const struct mender *mender, double seconds,
                          char text[QUANTITY_TEXT_SIZE]) {
    const struct scenario *scenario = mender->scenario;
    double ticks = floor(seconds * (double)scenario->ticks_per_second);
    int64_t most = scenario->run_ticks;
    int64_t whole = ticks < (double)most ? (int64_t)ticks : most;
    quantity_seconds(whole < 1 ? 1 : whole, scenario->ticks_per_second, text);
    return text;
}

/* ---- rates ---- */

/* A belt that carries what is needed, and so many times more. */
static void make_belt_faster(const struct mender *mender, double times) {
    const struct budget_finding *finding = mender->finding;
    double rate = ceil(finding->needs * times * margin * 10) / 10;
    if (rate <= (double)mender->scenario->ticks_per_second)
        budget_texts_add(mender->changes, "loops.%s.rate=%.1f",
                         mender->scenario->loop[mender->scenario->lane[finding->lane].loop].name,
                         rate);
}

/* Slows all feeders of a lane until together they put on what passes, each an equal share. */
static void slow_feeders(const struct mender *mender) {
    const struct scenario *scenario = mender->scenario;
    const struct layout_arms *into = &mender->net->by_target;
    uint32_t place = layout_track_place(scenario, mender->finding->lane);
    double share = mender->finding->has / (into->first[place + 1] - into->first[place]);
    char swing[QUANTITY_TEXT_SIZE];
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    for (uint32_t k = into->first[place]; k < into->first[place + 1]; k++) {
        const struct scenario_arm *arm = &scenario->arm[into->arm[k]];
        double longest = 1;
        for (uint32_t n = 0; n < arm->item_count; n++)
            longest = fmax(longest, scenario->item[arm->item[n]].length);
        double seconds = budget_hand(scenario, arm) * longest / share * margin;
        fprintf(out, "%sarms.%s.swing=%s s", k > into->first[place] ? "\n" : "", arm->name,
                seconds_text(mender, seconds + 1. / (double)scenario->ticks_per_second, swing));
    }
    char *text = text_stream_end(&stream);
    budget_texts_add(mender->changes, "%s", text);
    free(text);
}

/* A cell where no arm works on a lane, after the last taker of an item, another one for each item
 * as long as there are enough; NO_INDEX: none. */
static uint32_t free_cell(const struct mender *mender, uint32_t lane) {
    const struct scenario *scenario = mender->scenario;
    uint32_t cells = layout_track_cells(scenario, lane);
    const struct budget_net *net = mender->net;
    bool *busy = require_memory(cells, sizeof *busy);
    uint32_t last = cells - 1, free_cells = 0, found = NO_INDEX, item = mender->finding->item;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct place end[] = {scenario->arm[i].from, scenario->arm[i].to};
        for (int k = 0; k < 2; k++)
            if (end[k].kind == PLACE_LANE && end[k].index == lane)
                busy[end[k].cell] = true;
    }
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++)
        if (budget_takes_off(net, k, lane))
            last = scenario->arm[net->carrier[k]].from.cell;
    for (uint32_t i = 0; i < cells; i++)
        free_cells += !busy[i];
    uint32_t passed = 0, pass = free_cells > 0 ? item % free_cells : 0;
    for (uint32_t i = 1; i <= cells && passed <= pass; i++)
        if (!busy[(last + i) % cells]) {
            found = (last + i) % cells;
            passed++;
        }
    free(busy);
    return found;
}

/* A taker of the item into a new chest without a bound, that takes so many a second. */
static void add_clearer(const struct mender *mender, uint32_t lane, double rate) {
    char box[NAME_BYTES], arm[NAME_BYTES], swing[QUANTITY_TEXT_SIZE];
    uint32_t cell = free_cell(mender, lane);
    if (cell == NO_INDEX || mender->scenario->item[mender->finding->item].length >
                                layout_track_cells(mender->scenario, lane))
        return;
    budget_texts_add(mender->changes,
                     "chests.%s={}\narms.%s={from: %s@%u, to: %s, items: [%s], swing: %s s}",
                     new_name(mender, "box", box), new_name(mender, "clearer", arm),
                     layout_track_name(mender->scenario, lane), cell, box, item_of(mender),
                     seconds_text(mender, rate > 0 ? 0.9 / rate : 1, swing));
}

/* Makes the first taker of the item as fast as all of them have to be together. */
static void make_taker_faster(const struct mender *mender) {
    const struct budget_net *net = mender->net;
    const struct budget_finding *finding = mender->finding;
    uint32_t k = net->first_carrier[finding->item], end = net->first_carrier[finding->item + 1];
    while (k < end && !budget_takes_off(net, k, finding->lane))
        k++;
    if (k == end) {
        add_clearer(mender, finding->lane, finding->needs);
        return;
    }
    const struct scenario_arm *arm = &mender->scenario->arm[net->carrier[k]];
    double own = mender->budget->arm[net->carrier[k]].peak_rate;
    double wanted = (own + finding->needs - finding->has) * margin;
    double seconds = budget_hand(mender->scenario, arm) * budget_availability(arm->breaks) / wanted;
    char swing[QUANTITY_TEXT_SIZE];
    if (seconds * (double)mender->scenario->ticks_per_second >= 1)
        budget_texts_add(mender->changes, "arms.%s.swing=%s s", arm->name,
                         seconds_text(mender, seconds, swing));
    budget_texts_add(mender->changes, "arms.%s.hand=%.0f", arm->name,
                     ceil(arm->hand * wanted / own));
    add_clearer(mender, finding->lane, finding->needs);
}

/* ---- gates ---- */

/* Whether an incident sets the thresholds of a gate, which it can only of one that stands alone. */
static bool is_set(const struct mender *mender, uint32_t gate) {
    for (uint32_t i = 0; i < mender->scenario->incident_count; i++)
        if (mender->scenario->incident[i].kind >= INCIDENT_SET_BELOW &&
            mender->scenario->incident[i].gate == gate)
            return true;
    return false;
}

/* A gate of its own, as YAML; beside the one that it has. */
static void add_gate(const struct mender *mender, const char *section, const char *name,
                     uint32_t gate, const char *own) {
    if (is_set(mender, gate))
        return;
    char *old = gate != NO_INDEX ? gate_text(mender->scenario, gate) : NULL;
    budget_texts_add(mender->changes, "%s.%s.gate=%s%s%s%s%s", section, name,
                     old != NULL ? "{all: [" : "", old != NULL ? old : "", old != NULL ? ", " : "",
                     own, old != NULL ? "]}" : "");
    free(old);
}

/* How many of an item a chest may hold, by its own limit or by that of all. */
static int64_t room_of(const struct mender *mender, uint32_t chest, uint32_t item) {
    int64_t room = layout_chest_capacity(mender->scenario, chest);
    int64_t limit = layout_chest_limit(mender->scenario, chest, item);
    return limit < room ? limit : room;
}

static void add_chest_gate(const struct mender *mender, const char *section, const char *name,
                           uint32_t gate, uint32_t chest, uint32_t item, int64_t below) {
    char own[2 * NAME_BYTES + 64];
    if (room_of(mender, chest, item) < below) /* it would never shut */
        return;
    snprintf(own, sizeof own, "{chest: %s, item: %s, below: %" PRId64 "}",
             mender->scenario->chest[chest].name, mender->scenario->item[item].name, below);
    add_gate(mender, section, name, gate, own);
}

/* Writes the next gate of a list that begins with `count` 0: on what waits of the item at a
 * station, shut when half of what may wait there does, at least what one batch takes. */
static void write_input_gate(const struct mender *mender, uint32_t station, uint32_t count,
                             FILE *out) {
    const struct scenario_station *fixed = &mender->scenario->station[station];
    int64_t batch = (int64_t)budget_takes(mender->scenario, station, mender->finding->item);
    int64_t half = fixed->ahead / 2 * batch;
    fprintf(out, "%s{station: %s, input: %s, below: %" PRId64 "}", count > 0 ? ", " : "",
            fixed->name, item_of(mender), half > batch ? half : batch);
}

/* A gate of a feeder on the stations into which its lane's takers put its item: open while any of
 * them lacks it. False: there is no such station. */
static bool add_input_gate(const struct mender *mender) {
    const struct budget_net *net = mender->net;
    const struct scenario_arm *feeder = &mender->scenario->arm[mender->finding->arm];
    uint32_t item = mender->finding->item, count = 0;
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    for (uint32_t k = net->first_carrier[item]; k < net->first_carrier[item + 1]; k++) {
        struct place to = mender->scenario->arm[net->carrier[k]].to;
        if (to.kind == PLACE_STATION && budget_takes_off(net, k, mender->finding->lane))
            write_input_gate(mender, to.index, count++, out);
    }
    char *gates = text_stream_end(&stream), *own = gates;
    if (count > 1) {
        out = text_stream_begin(&stream);
        fprintf(out, "{any: [%s]}", gates);
        own = text_stream_end(&stream);
    }
    if (count > 0)
        add_gate(mender, "arms", feeder->name, feeder->gate, own);
    if (own != gates)
        free(own);
    free(gates);
    return count > 0;
}

/* Half of what a chest holds of an item, ten at most. */
static int64_t threshold_for(const struct mender *mender, uint32_t chest, uint32_t item) {
    int64_t room = room_of(mender, chest, item);
    return room > 20 ? 10 : room > 1 ? room / 2 : 1;
}

/* Gates of a feeder on stations that its lane serves, and on chests that come after it, but for the
 * one from which it takes. */
static void add_feeder_gates(const struct mender *mender) {
    const struct scenario *scenario = mender->scenario;
    const struct scenario_arm *arm = &scenario->arm[mender->finding->arm];
    struct budget_downstream downstream;
    if (is_set(mender, arm->gate)) {
        add_clearer(mender, mender->finding->lane, mender->budget->item[mender->finding->item].fed);
        return;
    }
    int gates = add_input_gate(mender);
    budget_downstream_init(&downstream, mender->net);
    budget_downstream_mark(&downstream, layout_target(scenario, arm->to), mender->finding->item,
                           true);
    for (uint32_t i = 0; i < downstream.count && gates < GATES_MOST; i++) {
        uint32_t chest = mender->net->pair_place[downstream.reached[i]];
        uint32_t item = mender->net->pair_item[downstream.reached[i]];
        if (chest >= scenario->chest_count ||
            (arm->from.kind == PLACE_CHEST && arm->from.index == chest))
            continue;
        add_chest_gate(mender, "arms", arm->name, arm->gate, chest, item,
                       threshold_for(mender, chest, item));
        gates++;
    }
    budget_downstream_free(&downstream);
    if (gates == 0)
        add_clearer(mender, mender->finding->lane, mender->budget->item[mender->finding->item].fed);
}

/* ---- room ---- */

static void make_room(const struct mender *mender) {
    const struct budget_finding *finding = mender->finding;
    if (finding->chest != NO_INDEX && isfinite(finding->needs) && finding->needs > finding->has) {
        const char *chest = mender->scenario->chest[finding->chest].name;
        int64_t limit = layout_chest_limit(mender->scenario, finding->chest, finding->item);
        if ((double)limit < finding->needs)
            budget_texts_add(mender->changes, "chests.%s.limits.%s=%.0f", chest, item_of(mender),
                             finding->needs);
        else
            budget_texts_add(mender->changes, "chests.%s.capacity=%.0f", chest, finding->needs);
    }
    add_clearer(mender, finding->lane, mender->budget->item[finding->item].fed);
}

/* The supply leaves an eighth of the chest, at least one place. */
static void hold_supply(const struct mender *mender) {
    const struct scenario_stream *supply = &mender->scenario->supply[mender->finding->supply];
    const char *chest = mender->scenario->chest[supply->chest].name;
    int64_t capacity = layout_chest_capacity(mender->scenario, supply->chest);
    int64_t room = capacity / 8 > 1 ? capacity / 8 : 1, below = capacity - room - supply->batch + 1;
    if (below >= 1)
        add_chest_gate(mender, "supplies", supply->name, supply->gate, supply->chest, supply->item,
                       below);
    if (layout_chest_start(mender->scenario, supply->chest, supply->item) <= capacity - room)
        budget_texts_add(mender->changes, "chests.%s.limits.%s=%" PRId64, chest, item_of(mender),
                         capacity - room);
}

/* ---- outputs ---- */

/* What is made of an item a second at best. */
static double made_of(const struct mender *mender) {
    uint32_t station = mender->finding->station;
    return mender->budget->station[station].greatest *
           budget_makes(mender->scenario, station, mender->finding->item);
}

/* An outlet that comes once a minute and takes all that can be made meanwhile; once a second where
 * that is too much at once. */
static void add_outlet(const struct mender *mender, uint32_t chest) {
    double each_min = ceil(60 * mender->finding->needs * margin);
    double each_s = ceil(mender->finding->needs * margin);
    bool often = each_min > (double)LIMIT_BATCH;
    char name[NAME_BYTES];
    if (each_s <= (double)LIMIT_BATCH)
        budget_texts_add(mender->changes,
                         "demands.%s={chest: %s, item: %s, every: 1 %s, batch: %.0f, outlet: true}",
                         new_name(mender, "outlet", name), mender->scenario->chest[chest].name,
                         item_of(mender), often ? "s" : "min", often ? each_s : each_min);
}

/* A clearing taker at each lane to which the output comes; an outlet that takes all that can be
 * made, or a gate of the station, at each chest. */
static void empty_or_watch(const struct mender *mender,
                           const struct budget_downstream *downstream) {
    const struct scenario *scenario = mender->scenario;
    const struct scenario_station *station = &scenario->station[mender->finding->station];
    for (uint32_t i = 0; i < downstream->count; i++) {
        uint32_t chest = mender->net->pair_place[downstream->reached[i]];
        uint32_t lanes = layout_track_place(scenario, 0);
        if (chest >= lanes && chest < lanes + scenario->lane_count)
            add_clearer(mender, chest - lanes, made_of(mender));
        if (chest >= scenario->chest_count)
            continue;
        add_outlet(mender, chest);
        add_chest_gate(mender, "stations", station->name, station->gate, chest,
                       mender->finding->item, threshold_for(mender, chest, mender->finding->item));
    }
}

static void carry_output(const struct mender *mender) {
    char box[NAME_BYTES], arm[NAME_BYTES], swing[QUANTITY_TEXT_SIZE];
    struct budget_downstream downstream;
    budget_downstream_init(&downstream, mender->net);
    budget_downstream_mark(&downstream,
                           layout_output_place(mender->scenario, mender->finding->station),
                           mender->finding->item, false);
    if (downstream.count == 1)
        budget_texts_add(mender->changes,
                         "chests.%s={}\narms.%s={from: %s, to: %s, items: [%s], swing: %s s}",
                         new_name(mender, "box", box), new_name(mender, "unloader", arm),
                         mender->scenario->station[mender->finding->station].name, box,
                         item_of(mender), seconds_text(mender, 0.9 / made_of(mender), swing));
    else
        empty_or_watch(mender, &downstream);
    budget_downstream_free(&downstream);
}

/* ---- all rules ---- */

void budget_mends(const struct budget *budget, enum budget_rule_kind rule,
                  const struct budget_finding *finding, struct budget_texts *changes) {
    struct mender mender = {budget, budget->scenario, budget->net, finding, changes};
    switch (rule) {
    case RULE_FEEDERS_WITHIN_LANE:
        make_belt_faster(&mender, 1);
        slow_feeders(&mender);
        make_belt_faster(&mender, 2); /* where feeders are as fast as the belt lets them */
        break;
    case RULE_BULK_ON_A_LINE: make_belt_faster(&mender, 1); break;
    case RULE_TAKERS_OUTPACE_FEEDERS: make_taker_faster(&mender); break;
    case RULE_EXIT_STAYS_OPEN: make_room(&mender); break;
    case RULE_GATE_WATCHES_END_CHEST:
    case RULE_INPUTS_GATED_ON_OUTPUTS: add_feeder_gates(&mender); break;
    case RULE_OUTPUTS_HAVE_EXIT: carry_output(&mender); break;
    case RULE_SUPPLIED_BIN_KEEPS_ROOM: hold_supply(&mender); break;
    }
}
