/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_candidates.c - proposes what people usually change when a loop jams, by the
 * kind of root. A candidate only costs a run: it need not be right, but the likely ones come
 * first. */
#include "tools/cause/remedy_candidates.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/gate_text.h"
#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "model/scenario/reach.h"
#include "sim/require.h"
#include "tools/cause/drain_left.h"
#include "tools/cause/short_candidates.h"
#include "tools/cause/wait_words.h"

enum { TEXT_MOST = 4096, NAME_MOST = 160 };

/* The keys that make a demand take what there is and owe nothing. */
#define OUTLET "outlet: true"
/* Somebody who comes to a new box, so that it does not fill on and on. */
#define EMPTIED "demands.%s={chest: %s, item: %s, every: 1 min, batch: 100, " OUTLET "}"

/* How much a change is: of a number, of a bound that goes, of a gate, of a new part. */
enum { SIZE_NUMBER = 10, SIZE_KEY = 12, SIZE_GATE = 14, SIZE_REMOVAL = 16, SIZE_PART = 20 };

struct guessing {
    const struct cause_case *self;
    const struct scenario *scenario;
    const struct root *root;
    uint32_t root_index;
    enum remedy_rank rank;
    bool proves;
    remedy_sink *add;
    void *sink;
};

/* The same, for what is less, or more, than usual. */
static struct guessing ranked(const struct guessing *guessing, enum remedy_rank rank) {
    struct guessing other = *guessing;
    other.rank = rank;
    return other;
}

static void guess(const struct guessing *guessing, uint32_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
static void guess(const struct guessing *guessing, uint32_t size, const char *format, ...) {
    char text[TEXT_MOST];
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    if (length > 0 && (size_t)length < sizeof text)
        guessing->add(guessing->sink,
                      &(struct remedy_candidate){text, size, guessing->rank, guessing->proves,
                                                 guessing->root_index});
}

/* ---- words of a scenario ---- */

static const char *item_name(const struct guessing *guessing, uint32_t item) {
    return guessing->scenario->item[item].name;
}

static const char *seconds(const struct guessing *guessing, int64_t ticks,
                           char text[QUANTITY_TEXT_SIZE]) {
    quantity_seconds(ticks > 0 ? ticks : 1, guessing->scenario->ticks_per_second, text);
    strcat(text, " s");
    return text;
}

/* A name that nothing has yet: "spring-box", "spring-box-2", ... */
static const char *new_name(const struct guessing *guessing, const char *stem, const char *end,
                            char name[NAME_MOST]) {
    snprintf(name, NAME_MOST, "%.40s-%s", stem, end);
    for (int number = 2; scenario_has_name(guessing->scenario, name); number++)
        snprintf(name, NAME_MOST, "%.40s-%s-%d", stem, end, number);
    return name;
}

static const char *section_of(enum part_kind kind) {
    switch (kind) {
    case PART_ARM: return "arms";
    case PART_STATION: return "stations";
    case PART_SUPPLY: return "supplies";
    case PART_DEMAND: return "demands";
    case PART_CHEST: return "chests";
    case PART_LINE: return "lines";
    case PART_LOOP:
    case PART_LANE: break;
    }
    return "loops";
}

static const char *name_of(const struct guessing *guessing, struct part part) {
    return scenario_part_name(guessing->scenario, part);
}

/* "ring/outer@40", "line@3". */
static const char *track_at(const struct guessing *guessing, uint32_t track, uint32_t cell,
                            char text[NAME_MOST]) {
    snprintf(text, NAME_MOST, "%s@%u", layout_track_name(guessing->scenario, track), cell);
    return text;
}

static bool is_on_track(const struct scenario *scenario, struct place place, uint32_t track) {
    return layout_track(scenario, place) == track;
}

static uint32_t track_of(const struct scenario *scenario, struct part part) {
    enum place_kind kind = part.kind == PART_LINE ? PLACE_LINE : PLACE_LANE;
    return layout_track(scenario, (struct place){kind, part.index, 0});
}

static bool is_chest(struct place place, uint32_t chest) {
    return place.kind == PLACE_CHEST && place.index == chest;
}

static bool is_station(struct place place, uint32_t station) {
    return place.kind == PLACE_STATION && place.index == station;
}

static int64_t swing_ticks(const struct scenario_arm *arm) {
    return arm->swing.kind == SPAN_FIXED ? arm->swing.ticks : arm->swing.mean_ticks;
}

/* ---- incidents ---- */

static bool gate_has(const struct scenario *scenario, uint32_t gate, uint32_t leaf) {
    if (gate == NO_INDEX || gate == leaf)
        return gate == leaf && gate != NO_INDEX;
    for (uint32_t child = scenario->gate[gate].first_child; child != NO_INDEX;
         child = scenario->gate[child].next_sibling)
        if (gate_has(scenario, child, leaf))
            return true;
    return false;
}

static void take_incident_away(const struct guessing *guessing, uint32_t index) {
    char path[WAIT_WORDS_BYTES];
    struct guessing expert = ranked(guessing, REMEDY_EXPERT);
    guess(&expert, SIZE_NUMBER, "%s=null",
          wait_words_incident_path(guessing->scenario, index, path));
}

/* Nobody drops an item there. */
static void leave_lane_alone(const struct guessing *guessing, uint32_t track, uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind == INCIDENT_DROP && scenario->incident[i].item == item &&
            is_on_track(scenario, scenario->incident[i].track, track))
            take_incident_away(guessing, i);
}

/* Nobody changes the capacity of a chest. */
static void leave_room_alone(const struct guessing *guessing, uint32_t chest) {
    for (uint32_t i = 0; i < guessing->scenario->incident_count; i++)
        if (guessing->scenario->incident[i].kind == INCIDENT_SET_CAPACITY &&
            guessing->scenario->incident[i].chest == chest)
            take_incident_away(guessing, i);
}

/* Nobody changes the thresholds of a gate. */
static void leave_gate_alone(const struct guessing *guessing, uint32_t gate) {
    const struct scenario *scenario = guessing->scenario;
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        enum incident_kind kind = scenario->incident[i].kind;
        bool sets = kind == INCIDENT_SET_BELOW || kind == INCIDENT_SET_AT_LEAST ||
                    kind == INCIDENT_SET_REOPEN;
        if (sets && gate_has(scenario, gate, scenario->incident[i].gate))
            take_incident_away(guessing, i);
    }
}

/* ---- gates ---- */

static void append(char *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void append(char *text, const char *format, ...) {
    size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text + used, TEXT_MOST / 2 - used, format, arguments);
    va_end(arguments);
}

/* A gate as it would be written. */
static void append_gate(const struct scenario *scenario, uint32_t index, char *text) {
    char *gate = gate_text(scenario, index);
    append(text, "%s", gate);
    free(gate);
}

/* A threshold that somebody has found good for an item in this chest already; else half of what it
 * holds, ten at most. */
static int64_t threshold_for(const struct scenario *scenario, uint32_t chest) {
    int64_t room = layout_chest_capacity(scenario, chest);
    for (uint32_t i = 0; i < scenario->gate_count; i++) {
        const struct scenario_gate *gate = &scenario->gate[i];
        if (gate->kind == GATE_BELOW && gate->first_child == NO_INDEX &&
            gate->reads == READS_CHEST && gate->subject == chest && gate->threshold > 0 &&
            gate->threshold < room)
            return gate->threshold;
    }
    if (room > 20)
        return 10;
    return room > 1 ? room / 2 : 1;
}

/* ---- what is made, and used ---- */

static bool is_made(const struct scenario *scenario, uint32_t item) {
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            if (scenario->station[i].makes[j].item == item)
                return true;
    return false;
}

static int64_t taken_in_batch(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->takes.count; i++)
        if (station->takes.entry[i].item == item)
            return station->takes.entry[i].count;
    return 0;
}

static bool is_used(const struct scenario *scenario, uint32_t item) {
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (taken_in_batch(&scenario->station[i], item) > 0)
            return true;
    return false;
}

/* ---- chests ---- */

static int64_t limit_of(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    const struct item_counts *limits = &scenario->chest[chest].limits;
    for (uint32_t i = 0; i < limits->count; i++)
        if (limits->entry[i].item == item)
            return limits->entry[i].count;
    return NO_LIMIT;
}

static void guess_more_room(const struct guessing *guessing, uint32_t chest, uint32_t item) {
    static const int64_t times[] = {2, 5, 20};
    const struct scenario_chest *self = &guessing->scenario->chest[chest];
    int64_t limit = item != NO_INDEX ? limit_of(guessing->scenario, chest, item) : NO_LIMIT;
    struct guessing expert = ranked(guessing, REMEDY_EXPERT);
    if (self->capacity == 0)
        guess(&expert, SIZE_KEY, "chests.%s.capacity=null", self->name);
    if (limit == 0)
        guess(&expert, SIZE_KEY, "chests.%s.limits.%s=null", self->name, item_name(guessing, item));
    for (int i = 0; i < 3; i++) {
        if (self->capacity != NO_LIMIT)
            guess(&expert, SIZE_NUMBER, "chests.%s.capacity=%lld", self->name,
                  (long long)(times[i] * (self->capacity > 0 ? self->capacity : 1)));
        if (limit != NO_LIMIT)
            guess(&expert, SIZE_NUMBER, "chests.%s.limits.%s=%lld", self->name,
                  item_name(guessing, item), (long long)(times[i] * (limit > 0 ? limit : 1)));
    }
    leave_room_alone(guessing, chest);
}

static bool is_demanded_at(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].chest == chest && scenario->demand[i].item == item)
            return true;
    return false;
}

/* Somebody comes once a minute and empties the chest. What is ordered stays as it is; where orders
 * come for the same, or a station uses it, that is not the first thing to do, and shows nothing of
 * the root. */
static void guess_outlet(const struct guessing *guessing, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    char name[NAME_MOST];
    int64_t batch = scenario->chest[chest].capacity;
    if (item == NO_INDEX)
        return;
    bool wanted = is_demanded_at(scenario, chest, item) || is_used(scenario, item);
    struct guessing own = ranked(guessing, wanted ? REMEDY_HAPPENS : REMEDY_EXPERT);
    own.proves = guessing->proves && !is_used(scenario, item);
    guess(
        &own, SIZE_PART, "demands.%s={chest: %s, item: %s, every: 1 min, batch: %lld, " OUTLET "}",
        new_name(guessing, item_name(guessing, item), "carter", name), scenario->chest[chest].name,
        item_name(guessing, item), (long long)(batch != NO_LIMIT ? batch : 100));
}

/* What fills the chest from outside stops in time, so that room is left for what comes back. */
static void guess_supply_gates(const struct guessing *usual, uint32_t chest) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const struct scenario *scenario = guessing->scenario;
    int64_t capacity = scenario->chest[chest].capacity;
    for (uint32_t i = 0; i < scenario->supply_count; i++) {
        const struct scenario_stream *supply = &scenario->supply[i];
        if (supply->chest != chest)
            continue;
        if (capacity != NO_LIMIT && supply->gate == NO_INDEX)
            for (int64_t part = 2; part <= 4; part *= 2)
                guess(guessing, SIZE_GATE, "supplies.%s.gate={chest: %s, item: %s, below: %lld}",
                      supply->name, scenario->chest[chest].name, item_name(guessing, supply->item),
                      (long long)(capacity / part > 0 ? capacity / part : 1));
        if (supply->gate != NO_INDEX && scenario->gate[supply->gate].kind == GATE_BELOW)
            guess(guessing, SIZE_NUMBER, "supplies.%s.gate.below=%lld", supply->name,
                  (long long)(scenario->gate[supply->gate].threshold / 2));
    }
}

/* Whether a supply or an arm brings an item to a chest: an arm that names few, since one that names
 * all brings what happens to lie where it takes. */
static bool is_brought_to(const struct scenario *scenario, uint32_t chest, uint32_t item) {
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_chest(scenario->arm[i].to, chest) && layout_may_carry(&scenario->arm[i], item))
            return true;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].chest == chest && scenario->supply[i].item == item)
            return true;
    return false;
}

/* A tray for several kinds that fills with one of them: each gets its share. */
static void guess_shared_limits(const struct guessing *usual, uint32_t chest) {
    const struct scenario *scenario = usual->scenario;
    struct guessing guessing = ranked(usual, REMEDY_EXPERT);
    char limits[TEXT_MOST / 2] = "";
    int64_t kinds = 0, capacity = scenario->chest[chest].capacity;
    if (capacity == NO_LIMIT || scenario->chest[chest].limits.count > 0)
        return;
    for (uint32_t item = 0; item < scenario->item_count; item++)
        kinds += is_brought_to(scenario, chest, item);
    for (uint32_t item = 0; item < scenario->item_count && kinds > 1; item++)
        if (is_brought_to(scenario, chest, item))
            append(limits, "%s%s: %lld", limits[0] != '\0' ? ", " : "", scenario->item[item].name,
                   (long long)(capacity / kinds));
    if (kinds > 1 && kinds <= 12 && capacity >= kinds)
        guess(&guessing, SIZE_GATE, "chests.%s.limits={%s}", scenario->chest[chest].name, limits);
}

static void guess_for_chest(const struct guessing *guessing, uint32_t chest, uint32_t item) {
    guess_supply_gates(guessing, chest);
    guess_outlet(guessing, chest, item);
    guess_more_room(guessing, chest, item);
}

/* ---- takers and feeders of an item on a track ---- */

/* A swing with which `hand` items a swing make this rate. */
static int64_t swing_for(const struct scenario *scenario, uint32_t hand, double rate) {
    return (int64_t)((double)hand * (double)scenario->ticks_per_second / rate);
}

static void guess_faster(const struct guessing *guessing, uint32_t index, double fed) {
    const struct scenario_arm *arm = &guessing->scenario->arm[index];
    char text[QUANTITY_TEXT_SIZE + 4];
    int64_t swing = swing_ticks(arm);
    int64_t wanted = fed > 0 ? swing_for(guessing->scenario, arm->hand, 1.25 * fed) : swing;
    if (wanted < swing)
        guess(guessing, SIZE_NUMBER, "arms.%s.swing=%s", arm->name,
              seconds(guessing, wanted, text));
    guess(guessing, SIZE_NUMBER, "arms.%s.swing=%s", arm->name, seconds(guessing, swing / 2, text));
    for (uint32_t times = 2; times <= 4; times *= 2)
        guess(guessing, SIZE_NUMBER, "arms.%s.hand=%u", arm->name, times * arm->hand);
    if (arm->hand > 1)
        guess(guessing, SIZE_NUMBER, "arms.%s.hand=1", arm->name);
}

static void guess_faster_takers(const struct guessing *guessing, uint32_t track, uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_on_track(scenario, scenario->arm[i].from, track) &&
            layout_may_carry(&scenario->arm[i], item))
            guess_faster(guessing, i, guessing->root->fed);
}

static void guess_slower(const struct guessing *guessing, uint32_t index, double taken) {
    const struct scenario_arm *arm = &guessing->scenario->arm[index];
    char text[QUANTITY_TEXT_SIZE + 4];
    int64_t swing = swing_ticks(arm);
    if (arm->hand > 1)
        guess(guessing, SIZE_NUMBER, "arms.%s.hand=1", arm->name);
    int64_t wanted = taken > 0 ? swing_for(guessing->scenario, arm->hand, 0.8 * taken) : 0;
    if (wanted > swing)
        guess(guessing, SIZE_NUMBER, "arms.%s.swing=%s", arm->name,
              seconds(guessing, wanted, text));
    for (int64_t times = 2; times <= 4; times *= 2)
        guess(guessing, SIZE_NUMBER, "arms.%s.swing=%s", arm->name,
              seconds(guessing, times * swing, text));
}

static void guess_slower_feeders(const struct guessing *guessing, uint32_t track, uint32_t item,
                                 double taken) {
    const struct scenario *scenario = guessing->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_on_track(scenario, scenario->arm[i].to, track) &&
            layout_may_carry(&scenario->arm[i], item) && scenario->arm[i].from.kind == PLACE_CHEST)
            guess_slower(guessing, i, taken);
}

/* ---- clearing takers ---- */

/* The cell after the last taker of an item, going round from its first feeder. */
static uint32_t cell_behind_takers(const struct scenario *scenario, uint32_t track, uint32_t item) {
    uint32_t cells = layout_track_cells(scenario, track), start = 0, furthest = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_on_track(scenario, scenario->arm[i].to, track) &&
            layout_may_carry(&scenario->arm[i], item)) {
            start = scenario->arm[i].to.cell;
            break;
        }
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        uint32_t ahead = (arm->from.cell + cells - start) % cells;
        if (is_on_track(scenario, arm->from, track) && ahead > furthest)
            furthest = ahead;
    }
    return track < scenario->lane_count ? (start + furthest + 1) % cells : cells - 1;
}

/* On a line what has passed its taker never comes back: its place is the end. */
static void guess_place_at_end(const struct guessing *usual, uint32_t track, uint32_t item) {
    const struct scenario *scenario = usual->scenario;
    struct guessing expert = ranked(usual, REMEDY_EXPERT);
    char place[NAME_MOST];
    uint32_t end = layout_track_cells(scenario, track) - 1;
    for (uint32_t i = 0; i < scenario->arm_count && track >= scenario->lane_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (is_on_track(scenario, arm->from, track) && layout_may_carry(arm, item) &&
            arm->from.cell != end)
            guess(&expert, SIZE_NUMBER, "arms.%s.from=%s", arm->name,
                  track_at(usual, track, end, place));
    }
}

/* The swing of the quickest arm at the track: what can be had here. */
static int64_t quickest_swing(const struct scenario *scenario, uint32_t track) {
    int64_t least = scenario->ticks_per_second;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        bool there =
            is_on_track(scenario, arm->from, track) || is_on_track(scenario, arm->to, track);
        if (there && swing_ticks(arm) > 0 && swing_ticks(arm) < least)
            least = swing_ticks(arm);
    }
    return least;
}

/* What is used goes back to where its feeder takes it: not to where another feeder, which would
 * take all items, finds only others. */
static void guess_return(const struct guessing *guessing, uint32_t track, uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    char clearer[NAME_MOST], place[NAME_MOST], text[QUANTITY_TEXT_SIZE + 4];
    struct guessing expert = ranked(guessing, REMEDY_EXPERT);
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    bool found = !is_used(scenario, item);
    for (uint32_t i = 0; i < scenario->arm_count && !found; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (!is_on_track(scenario, arm->to, track) || !layout_may_carry(arm, item) ||
            arm->from.kind != PLACE_CHEST ||
            !reach_comes_to(&reach, layout_source(scenario, arm->from), item))
            continue;
        guess(&expert, SIZE_PART, "arms.%s={from: %s, to: %s, items: [%s], swing: %s}",
              new_name(guessing, item_name(guessing, item), "clearer", clearer),
              track_at(guessing, track, cell_behind_takers(scenario, track, item), place),
              scenario->chest[arm->from.index].name, item_name(guessing, item),
              seconds(guessing, quickest_swing(scenario, track), text));
        found = true;
    }
    reach_free(&reach);
}

/* What is used elsewhere is thrown away only where nothing better helps. */
static void guess_clearer(const struct guessing *guessing, uint32_t track, uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    char box[NAME_MOST], clearer[NAME_MOST], carter[NAME_MOST], place[NAME_MOST];
    char text[QUANTITY_TEXT_SIZE + 4];
    const char *name = item_name(guessing, item);
    struct guessing expert =
        ranked(guessing, is_used(scenario, item) ? REMEDY_USUAL : REMEDY_EXPERT);
    guess_return(guessing, track, item);
    guess(&expert, 3 * SIZE_PART,
          "chests.%s={}\narms.%s={from: %s, to: %s, items: [%s], swing: %s}\n" EMPTIED,
          new_name(guessing, name, "box", box), new_name(guessing, name, "clearer", clearer),
          track_at(guessing, track, cell_behind_takers(scenario, track, item), place), box, name,
          seconds(guessing, quickest_swing(scenario, track), text),
          new_name(guessing, name, "carter", carter), box, name);
}

static void append_items(const struct guessing *guessing, const struct scenario_arm *arm,
                         uint32_t without, char *text) {
    bool some = false;
    for (uint32_t i = 0; i < arm->item_count; i++) {
        if (arm->item[i] == without)
            continue;
        append(text, "%s%s", some ? ", " : "", item_name(guessing, arm->item[i]));
        some = true;
    }
}

/* A taker that puts into a chest takes this one too; a feeder that brings it leaves it alone. */
static void guess_items(const struct guessing *usual, uint32_t track, uint32_t item) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const struct scenario *scenario = guessing->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        char items[TEXT_MOST / 2] = "";
        if (is_on_track(scenario, arm->to, track) && layout_may_carry(arm, item) &&
            arm->item_count > 1 && arm->item_count <= 12 && arm->from.kind == PLACE_CHEST) {
            append_items(guessing, arm, item, items);
            guess(guessing, SIZE_KEY, "arms.%s.items=[%s]", arm->name, items);
        } else if (is_on_track(scenario, arm->from, track) && !layout_may_carry(arm, item) &&
                   arm->to.kind == PLACE_CHEST && arm->item_count <= 12) {
            append_items(guessing, arm, NO_INDEX, items);
            guess(guessing, SIZE_KEY, "arms.%s.items=[%s, %s]", arm->name, items,
                  item_name(guessing, item));
        }
    }
}

/* A feeder on the wrong lane belongs on the one off which its item is taken. */
static void guess_right_track(const struct guessing *usual, uint32_t track, uint32_t item) {
    const struct scenario *scenario = usual->scenario;
    struct guessing expert = ranked(usual, REMEDY_EXPERT);
    char place[NAME_MOST];
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (!is_on_track(scenario, arm->to, track) || !layout_may_carry(arm, item))
            continue;
        for (uint32_t j = 0; j < scenario->arm_count; j++) {
            const struct scenario_arm *taker = &scenario->arm[j];
            if (!layout_is_track(taker->from) || !layout_may_carry(taker, item))
                continue;
            uint32_t other = layout_track(scenario, taker->from);
            if (other != track && arm->to.cell < layout_track_cells(scenario, other))
                guess(&expert, SIZE_NUMBER, "arms.%s.to=%s", arm->name,
                      track_at(usual, other, arm->to.cell, place));
        }
    }
}

static void guess_exit(const struct guessing *guessing, uint32_t track, uint32_t item) {
    guess_right_track(guessing, track, item);
    guess_place_at_end(guessing, track, item);
    guess_clearer(guessing, track, item);
    guess_items(guessing, track, item);
}

/* ---- feeders without a gate ---- */

static bool gate_reads(const struct scenario *scenario, uint32_t index, enum reading_kind reads,
                       uint32_t subject, uint32_t item) {
    const struct scenario_gate *gate = &scenario->gate[index];
    if (gate->kind == GATE_BELOW)
        return gate->reads == reads && gate->subject == subject && gate->item == item;
    if (gate->kind == GATE_ALL)
        for (uint32_t child = gate->first_child; child != NO_INDEX;
             child = scenario->gate[child].next_sibling)
            if (gate_reads(scenario, child, reads, subject, item))
                return true;
    return false;
}

/* Whether the gate of an arm reads this already: then its threshold may change, not the gate. */
static bool is_gated_by(const struct scenario *scenario, uint32_t arm, enum reading_kind reads,
                        uint32_t subject, uint32_t item) {
    return scenario->arm[arm].gate != NO_INDEX &&
           gate_reads(scenario, scenario->arm[arm].gate, reads, subject, item);
}

/* Whether a feeder is held by something else than by its own item where that ends, or by a product
 * of which there is enough: another input, another kind in a tray, all that lies on a lane. Its own
 * gate may stand in the place of that one. */
static bool counts_others(const struct scenario *scenario, uint32_t feeder) {
    const struct scenario_arm *arm = &scenario->arm[feeder];
    if (arm->gate == NO_INDEX)
        return false;
    const struct scenario_gate *gate = &scenario->gate[arm->gate];
    if (gate->kind != GATE_BELOW)
        return false;
    if (gate->reads == READS_LOOP || gate->reads == READS_LANE || gate->reads == READS_LINE)
        return true;
    return gate->item == NO_INDEX ||
           (!layout_may_carry(arm, gate->item) && !is_made(scenario, gate->item));
}

/* The change that gives a feeder a gate, beside the one that it has, which holds it for a reason of
 * its own. */
static void append_gate_for(const struct scenario *scenario, uint32_t feeder, const char *gate,
                            char *text) {
    const struct scenario_arm *arm = &scenario->arm[feeder];
    if (arm->gate == NO_INDEX) {
        append(text, "arms.%s.gate=%s", arm->name, gate);
        return;
    }
    append(text, "arms.%s.gate={all: [", arm->name);
    append_gate(scenario, arm->gate, text);
    append(text, ", %s]}", gate);
}

static void guess_gate(const struct guessing *guessing, uint32_t feeder, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
static void guess_gate(const struct guessing *guessing, uint32_t feeder, const char *format, ...) {
    char gate[TEXT_MOST / 4], text[TEXT_MOST / 2] = "";
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(gate, sizeof gate, format, arguments);
    va_end(arguments);
    bool replaces = guessing->rank != REMEDY_HAPPENS && counts_others(guessing->scenario, feeder);
    struct guessing beside = ranked(guessing, replaces ? REMEDY_USUAL : guessing->rank);
    if (replaces)
        guess(guessing, SIZE_GATE, "arms.%s.gate=%s", guessing->scenario->arm[feeder].name, gate);
    append_gate_for(guessing->scenario, feeder, gate, text);
    guess(&beside, SIZE_GATE, "%s", text);
}

static bool brings(const struct guessing *guessing, uint32_t feeder, uint32_t item) {
    return layout_may_carry(&guessing->scenario->arm[feeder], item);
}

/* Writes gates that would hold a feeder of an item whose takers put it into `to`. Of its own item
 * that is what ends the trouble; of what is made of it, it halts in time at best. */
static void guess_gates_at_chest(const struct guessing *usual, uint32_t feeder, uint32_t chest,
                                 uint32_t item) {
    const struct scenario *scenario = usual->scenario;
    struct guessing guessing =
        ranked(usual, brings(usual, feeder, item) ? REMEDY_EXPERT : REMEDY_USUAL);
    int64_t below = threshold_for(scenario, chest);
    if (is_gated_by(scenario, feeder, READS_CHEST, chest, item))
        return;
    for (int64_t part = 1; part <= 2 && (part == 1 || below > 2); part++)
        guess_gate(&guessing, feeder, "{chest: %s, item: %s, below: %lld}",
                   scenario->chest[chest].name, item_name(&guessing, item),
                   (long long)(below / part));
}

/* A gate that counts the feeder's own item where it rides: so many that others find places. */
static void guess_gates_on_track(const struct guessing *usual, uint32_t feeder, uint32_t track,
                                 uint32_t item) {
    const struct scenario *scenario = usual->scenario;
    struct guessing guessing = ranked(usual, REMEDY_SOUND);
    bool is_line = track >= scenario->lane_count;
    int64_t places = layout_track_cells(scenario, track) / scenario->item[item].length, kinds = 1;
    if (is_gated_by(scenario, feeder, is_line ? READS_LINE : READS_LANE,
                    is_line ? track - scenario->lane_count : track, item))
        return;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        kinds += i != feeder && is_on_track(scenario, scenario->arm[i].to, track);
    for (int64_t part = 2; part <= 8; part *= 4)
        if (places / (part * kinds) > 0)
            guess_gate(&guessing, feeder, "{%s: %s, item: %s, below: %lld}",
                       is_line ? "line" : "lane",
                       is_line ? scenario->line[track - scenario->lane_count].name
                               : scenario->lane[track].full_name,
                       item_name(&guessing, item), (long long)(places / (part * kinds)));
}

static void guess_gates_at_station(const struct guessing *usual, uint32_t feeder, uint32_t station,
                                   uint32_t item) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const struct scenario_station *self = &guessing->scenario->station[station];
    int64_t batch = taken_in_batch(self, item), most = batch * self->ahead;
    if (batch == 0 || is_gated_by(guessing->scenario, feeder, READS_STATION_INPUT, station, item))
        return;
    for (int64_t below = most; below > 0; below = below > batch ? batch : 0)
        guess_gate(guessing, feeder, "{station: %s, input: %s, below: %lld}", self->name,
                   item_name(guessing, item), (long long)below);
}

/* The chests in which the products of a station end. */
static void guess_gates_behind(const struct guessing *guessing, uint32_t feeder, uint32_t station) {
    const struct scenario *scenario = guessing->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (!is_station(arm->from, station) || arm->to.kind != PLACE_CHEST)
            continue;
        for (uint32_t j = 0; j < scenario->station[station].makes_count; j++)
            if (layout_may_carry(arm, scenario->station[station].makes[j].item))
                guess_gates_at_chest(guessing, feeder, arm->to.index,
                                     scenario->station[station].makes[j].item);
    }
}

static void guess_gates_towards(const struct guessing *guessing, uint32_t feeder, struct place to,
                                uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    if (to.kind == PLACE_STATION) {
        guess_gates_at_station(guessing, feeder, to.index, item);
        guess_gates_behind(guessing, feeder, to.index);
    }
    if (to.kind != PLACE_CHEST)
        return;
    guess_gates_at_chest(guessing, feeder, to.index, item);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_chest(scenario->arm[i].from, to.index) &&
            scenario->arm[i].to.kind == PLACE_STATION && layout_may_carry(&scenario->arm[i], item))
            guess_gates_behind(guessing, feeder, scenario->arm[i].to.index);
}

/* What holds another feeder of the track may hold this one. */
static void guess_gates_of_others(const struct guessing *guessing, uint32_t feeder,
                                  uint32_t track) {
    const struct scenario *scenario = guessing->scenario;
    struct guessing happens = ranked(guessing, REMEDY_HAPPENS);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        char gate[TEXT_MOST / 2] = "";
        if (i == feeder || arm->gate == NO_INDEX || !is_on_track(scenario, arm->to, track))
            continue;
        append_gate(scenario, arm->gate, gate);
        guess_gate(&happens, feeder, "%s", gate);
    }
}

/* The only item that comes to where an arm takes, of those that it names; NO_INDEX: there are
 * several, or none. */
static uint32_t sole_item(const struct scenario *scenario, const struct reach *reach,
                          const struct scenario_arm *arm) {
    uint32_t item = NO_INDEX;
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (reach_comes_to(reach, layout_source(scenario, arm->from), arm->item[i])) {
            if (item != NO_INDEX)
                return NO_INDEX;
            item = arm->item[i];
        }
    return item;
}

/* All feeders of the track that have no gate, each at the station that uses what it brings. */
static void guess_gates_for_all(const struct guessing *guessing, uint32_t track) {
    const struct scenario *scenario = guessing->scenario;
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    char text[TEXT_MOST / 2] = "";
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *feeder = &scenario->arm[i];
        uint32_t item = sole_item(scenario, &reach, feeder);
        if (!is_on_track(scenario, feeder->to, track) || feeder->gate != NO_INDEX ||
            feeder->from.kind != PLACE_CHEST || item == NO_INDEX)
            continue;
        for (uint32_t j = 0; j < scenario->arm_count; j++) {
            const struct scenario_arm *taker = &scenario->arm[j];
            if (!is_on_track(scenario, taker->from, track) || !layout_may_carry(taker, item) ||
                taker->to.kind != PLACE_STATION)
                continue;
            const struct scenario_station *station = &scenario->station[taker->to.index];
            append(text, "%sarms.%s.gate={station: %s, input: %s, below: %lld}",
                   count++ > 0 ? "\n" : "", feeder->name, station->name, item_name(guessing, item),
                   (long long)(station->ahead * taken_in_batch(station, item)));
            break;
        }
    }
    reach_free(&reach);
    struct guessing expert = ranked(guessing, REMEDY_EXPERT);
    if (count > 1)
        guess(&expert, count * SIZE_GATE, "%s", text);
}

/* The first arm that takes an item off a track; NULL: none does. */
static const struct scenario_arm *taker_of(const struct scenario *scenario, uint32_t track,
                                           uint32_t item) {
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_on_track(scenario, scenario->arm[i].from, track) &&
            layout_may_carry(&scenario->arm[i], item))
            return &scenario->arm[i];
    return NULL;
}

/* Adds a gate of a feeder on its item in the station that the taker serves, if it has none. */
static bool append_gate_at_taker(const struct scenario *scenario, uint32_t feeder,
                                 const struct scenario_arm *taker, uint32_t item, bool more,
                                 char *text) {
    char gate[TEXT_MOST / 4] = "";
    if (taker == NULL || taker->to.kind != PLACE_STATION)
        return false;
    const struct scenario_station *station = &scenario->station[taker->to.index];
    int64_t most = station->ahead * taken_in_batch(station, item);
    if (most == 0 || is_gated_by(scenario, feeder, READS_STATION_INPUT, taker->to.index, item))
        return false;
    append(gate, "{station: %s, input: %s, below: %lld}", station->name, scenario->item[item].name,
           (long long)most);
    append(text, "%s", more ? "\n" : "");
    append_gate_for(scenario, feeder, gate, text);
    return true;
}

enum { GATES_BESIDE_MOST = 8 };

/* All feeders of a track that are held by something else than their own item, each at the station
 * that uses what it brings, beside what holds it already: where all are held by a product of which
 * there is not enough, each fills the track while another item is missing. Of more than so many it
 * takes too many runs to find out which of the gates are needed, though halves are tried first. */
static void guess_gates_beside_for_all(const struct guessing *usual, uint32_t track) {
    const struct scenario *scenario = usual->scenario;
    struct guessing expert = ranked(usual, REMEDY_EXPERT);
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    char text[TEXT_MOST / 2] = "";
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *feeder = &scenario->arm[i], *taker = NULL;
        if (is_on_track(scenario, feeder->to, track) && feeder->from.kind == PLACE_CHEST) {
            uint32_t item = sole_item(scenario, &reach, feeder);
            taker = item != NO_INDEX ? taker_of(scenario, track, item) : NULL;
            count += append_gate_at_taker(scenario, i, taker, item, count > 0, text);
        }
    }
    reach_free(&reach);
    if (count > 1 && count <= GATES_BESIDE_MOST && strlen(text) + 1 < sizeof text)
        guess(&expert, count * SIZE_GATE, "%s", text);
}

static void guess_below(const struct guessing *guessing, const char *feeder, int64_t below,
                        int64_t reopen_below) {
    if (reopen_below > below)
        guess(guessing, 2 * SIZE_NUMBER, "arms.%s.gate.below=%lld\narms.%s.gate.reopen_below=%lld",
              feeder, (long long)below, feeder, (long long)below);
    else
        guess(guessing, SIZE_NUMBER, "arms.%s.gate.below=%lld", feeder, (long long)below);
}

/* Below what it is; and below what the chest that the gate reads can hold. */
static void guess_lower_threshold(const struct guessing *guessing, uint32_t feeder) {
    const struct scenario *scenario = guessing->scenario;
    uint32_t gate = scenario->arm[feeder].gate;
    if (gate == NO_INDEX || scenario->gate[gate].kind != GATE_BELOW)
        return;
    leave_gate_alone(guessing, gate);
    const struct scenario_gate *self = &scenario->gate[gate];
    int64_t most = self->threshold;
    if (self->reads == READS_CHEST) {
        leave_room_alone(guessing, self->subject);
        if (layout_chest_capacity(scenario, self->subject) < most)
            most = layout_chest_capacity(scenario, self->subject);
    }
    for (int64_t part = 2; part <= 4; part *= 2)
        if (most / part > 0)
            guess_below(guessing, scenario->arm[feeder].name, most / part, self->reopen_below);
}

/* Whether a station takes all that an arm will ever find where it takes, and it finds something. */
static bool takes_all_of(const struct scenario *scenario, const struct scenario_station *station,
                         const struct scenario_arm *arm) {
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    uint32_t source = layout_source(scenario, arm->from), found = 0, taken = 0;
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (reach_comes_to(&reach, source, arm->item[i])) {
            found++;
            taken += taken_in_batch(station, arm->item[i]) > 0;
        }
    reach_free(&reach);
    return found > 0 && taken == found;
}

/* On a line what is in the way stays there: a feeder may put straight into the station that the
 * line's taker serves, if that takes all that the feeder brings. */
static void guess_straight(const struct guessing *usual, uint32_t feeder, uint32_t track,
                           uint32_t item) {
    const struct scenario *scenario = usual->scenario;
    struct guessing sound = ranked(usual, REMEDY_SOUND);
    for (uint32_t i = 0; i < scenario->arm_count && track >= scenario->lane_count; i++) {
        const struct scenario_arm *taker = &scenario->arm[i];
        if (!is_on_track(scenario, taker->from, track) || !layout_may_carry(taker, item) ||
            taker->to.kind != PLACE_STATION)
            continue;
        const struct scenario_station *station = &scenario->station[taker->to.index];
        if (takes_all_of(scenario, station, &scenario->arm[feeder]))
            guess(&sound, SIZE_NUMBER, "arms.%s.to=%s", scenario->arm[feeder].name, station->name);
    }
}

static void guess_own_gates(const struct guessing *guessing, uint32_t feeder, uint32_t track,
                            uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_on_track(scenario, scenario->arm[i].from, track) &&
            layout_may_carry(&scenario->arm[i], item))
            guess_gates_towards(guessing, feeder, scenario->arm[i].to, item);
    guess_gates_on_track(guessing, feeder, track, item);
}

/* A gate on an item where its taker puts it: in a chest its share of the room, of which a part is
 * left for what is under way. False: there is nothing to count. */
static bool append_own_gate(const struct scenario *scenario, struct place to, uint32_t item,
                            int64_t kinds, int64_t part, char *text) {
    if (to.kind == PLACE_STATION) {
        const struct scenario_station *station = &scenario->station[to.index];
        int64_t most = station->ahead * taken_in_batch(station, item);
        append(text, "{station: %s, input: %s, below: %lld}", station->name,
               scenario->item[item].name, (long long)most);
        return most > 0;
    }
    if (to.kind != PLACE_CHEST)
        return false;
    int64_t room = layout_chest_capacity(scenario, to.index);
    int64_t below = room == NO_LIMIT ? 10 : room / (part * kinds);
    append(text, "{chest: %s, item: %s, below: %lld}", scenario->chest[to.index].name,
           scenario->item[item].name, (long long)below);
    return below > 0;
}

/* All feeders of a track that are held by what others bring as well: each by its own. */
static void guess_own_gates_for_all(const struct guessing *usual, uint32_t track, int64_t part) {
    const struct scenario *scenario = usual->scenario;
    struct guessing guessing = ranked(usual, REMEDY_EXPERT);
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    char text[TEXT_MOST / 2] = "";
    uint32_t count = 0;
    int64_t kinds = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        kinds += is_on_track(scenario, scenario->arm[i].to, track);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *feeder = &scenario->arm[i];
        uint32_t item = sole_item(scenario, &reach, feeder);
        char gate[TEXT_MOST / 4] = "";
        if (!is_on_track(scenario, feeder->to, track) || !counts_others(scenario, i) ||
            item == NO_INDEX)
            continue;
        const struct scenario_arm *taker = taker_of(scenario, track, item);
        if (taker != NULL && append_own_gate(scenario, taker->to, item, kinds, part, gate))
            append(text, "%sarms.%s.gate=%s", count++ > 0 ? "\n" : "", feeder->name, gate);
    }
    reach_free(&reach);
    if (count > 1)
        guess(&guessing, count * SIZE_GATE, "%s", text);
}

/* A feeder whose gate is shut because of something else may have one of its own. */
static void guess_other_gate(const struct guessing *usual, struct part subject) {
    const struct scenario *scenario = usual->scenario;
    struct guessing guessing = ranked(usual, REMEDY_EXPERT);
    if (subject.kind != PART_ARM || !counts_others(scenario, subject.index))
        return;
    const struct scenario_arm *feeder = &scenario->arm[subject.index];
    for (int64_t part = 2; part <= 4 && layout_is_track(feeder->to); part *= 2)
        guess_own_gates_for_all(&guessing, layout_track(scenario, feeder->to), part);
    for (uint32_t i = 0; i < feeder->item_count && layout_is_track(feeder->to); i++)
        if (layout_may_carry(feeder, feeder->item[i]))
            guess_own_gates(&guessing, subject.index, layout_track(scenario, feeder->to),
                            feeder->item[i]);
}

/* What comes round unused may be cleared: that ends most jams, whatever their cause, and so shows
 * nothing of the feeder. */
static void guess_for_feeder(const struct guessing *guessing, uint32_t feeder, uint32_t track,
                             uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    struct guessing helps = *guessing;
    helps.proves = false;
    guess_lower_threshold(guessing, feeder);
    if (scenario->arm[feeder].gate != NO_INDEX)
        guess_gates_beside_for_all(guessing, track);
    guess_own_gates(guessing, feeder, track, item);
    guess_straight(guessing, feeder, track, item);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_on_track(scenario, scenario->arm[i].from, track) &&
            layout_may_carry(&scenario->arm[i], item) && scenario->arm[i].to.kind == PLACE_CHEST)
            guess_shared_limits(&helps, scenario->arm[i].to.index);
    guess_gates_of_others(guessing, feeder, track);
    guess_clearer(&helps, track, item);
    guess_slower(guessing, feeder, 0);
    guess_gates_for_all(guessing, track);
}

/* ---- what has stopped, ended, or shut ---- */

static bool stops(const struct scenario_incident *incident, struct part part) {
    return incident->kind == INCIDENT_STOP && incident->actor.kind == part.kind &&
           incident->actor.index == part.index;
}

static void guess_no_breaks(const struct guessing *usual, struct part part) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const char *section = section_of(part.kind), *name = name_of(guessing, part);
    if (part.kind == PART_DEMAND || !scenario_part_breaks(guessing->scenario, part)->present)
        return;
    guess(guessing, SIZE_KEY, "%s.%s.breaks->repair=1 min", section, name);
    guess(guessing, SIZE_REMOVAL, "%s.%s.breaks=null", section, name);
}

/* That `loopwright drain` ends the orders is what was asked for. */
static void guess_start(const struct guessing *guessing, struct part subject) {
    for (uint32_t i = 0; i < guessing->scenario->incident_count; i++)
        if (stops(&guessing->scenario->incident[i], subject) &&
            !drain_left_is_of_drain(&guessing->scenario->incident[i]))
            take_incident_away(guessing, i);
    guess_no_breaks(guessing, subject);
}

static double times_a_minute(const struct scenario *scenario, const struct span *span) {
    int64_t ticks = span->kind == SPAN_FIXED ? span->ticks : span->mean_ticks;
    return 60 * (double)scenario->ticks_per_second / (double)(ticks > 0 ? ticks : 1);
}

/* What all stations use of an item in a minute, at best, and what is ordered of it. */
static int64_t used_per_minute(const struct scenario *scenario, uint32_t item) {
    double used = 0;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        used += (double)taken_in_batch(&scenario->station[i], item) *
                times_a_minute(scenario, &scenario->station[i].time);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].item == item && !scenario->demand[i].outlet)
            used += (double)scenario->demand[i].batch *
                    times_a_minute(scenario, &scenario->demand[i].every);
    return used < 1 ? 1 : (int64_t)(used + 0.999);
}

static void guess_new_supply(const struct guessing *guessing, uint32_t chest, uint32_t item) {
    char name[NAME_MOST];
    if (item != NO_INDEX)
        guess(guessing, SIZE_PART, "supplies.%s={chest: %s, item: %s, every: 1 min, batch: %lld}",
              new_name(guessing, item_name(guessing, item), "delivery", name),
              guessing->scenario->chest[chest].name, item_name(guessing, item),
              (long long)used_per_minute(guessing->scenario, item));
}

/* What nobody brings to a station comes from a bin of its own, at the pace of its work. */
static void guess_new_feeder(const struct guessing *guessing, uint32_t station, uint32_t item) {
    enum { SWINGS_A_MINUTE = 60 };
    const struct scenario_station *self = &guessing->scenario->station[station];
    char bin[NAME_MOST], delivery[NAME_MOST], feeder[NAME_MOST];
    const char *name = item_name(guessing, item);
    double used =
        (double)taken_in_batch(self, item) * times_a_minute(guessing->scenario, &self->time);
    int64_t batch = used < 1 ? 1 : (int64_t)(used + 0.999);
    guess(guessing, 3 * SIZE_PART,
          "chests.%s={capacity: %lld}\narms.%s={from: %s, to: %s, items: [%s], hand: %lld, swing: "
          "1 s}\n"
          "supplies.%s={chest: %s, item: %s, first: 0 s, every: 1 min, batch: %lld}",
          new_name(guessing, name, "bin", bin), (long long)(2 * batch),
          new_name(guessing, name, "feeder", feeder), bin, self->name, name,
          (long long)(batch / SWINGS_A_MINUTE + 1), new_name(guessing, name, "delivery", delivery),
          bin, name, (long long)batch);
}

/* Whether a station takes an item and gives it back, as a carrier. */
static bool is_given_back(const struct scenario *scenario, uint32_t item) {
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++)
            if (scenario->station[i].makes[j].item == item &&
                taken_in_batch(&scenario->station[i], item) > 0)
                return true;
    return false;
}

/* What goes round is not delivered: more of it at the start helps for good. */
static void guess_more_at_start(const struct guessing *guessing, uint32_t chest, uint32_t item) {
    static const int64_t times[] = {2, 4, 8};
    const struct scenario_chest *self = &guessing->scenario->chest[chest];
    for (uint32_t i = 0; i < self->start.count; i++)
        for (int j = 0; j < 3 && self->start.entry[i].item == item; j++)
            guess(guessing, SIZE_NUMBER, "chests.%s.start.%s=%lld", self->name,
                  item_name(guessing, item), (long long)(times[j] * self->start.entry[i].count));
}

static void guess_supply(const struct guessing *usual, struct part subject, uint32_t item) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const struct scenario *scenario = guessing->scenario;
    if (subject.kind == PART_CHEST && is_given_back(scenario, item))
        guess_more_at_start(guessing, subject.index, item);
    if (subject.kind == PART_CHEST)
        guess_new_supply(guessing, subject.index, item);
    if (subject.kind == PART_STATION && item != NO_INDEX)
        guess_new_feeder(guessing, subject.index, item);
    if (subject.kind != PART_SUPPLY)
        return;
    const struct scenario_stream *supply = &scenario->supply[subject.index];
    if (supply->until_tick != NO_LIMIT)
        guess(guessing, SIZE_KEY, "supplies.%s.until=null", supply->name);
    guess_new_supply(guessing, supply->chest, supply->item);
}

static void guess_threshold(const struct guessing *guessing, const char *section, const char *name,
                            const struct scenario_gate *gate) {
    static const int64_t times[] = {2, 5, 20};
    if (gate->kind == GATE_BELOW)
        for (int i = 0; i < 3; i++)
            guess(guessing, SIZE_NUMBER, "%s.%s.gate.below=%lld", section, name,
                  (long long)(times[i] * (gate->threshold > 0 ? gate->threshold : 1)));
    if (gate->kind == GATE_AT_LEAST) {
        guess(guessing, SIZE_NUMBER, "%s.%s.gate.at_least=%lld", section, name,
              (long long)(gate->threshold / 2));
        guess(guessing, SIZE_NUMBER, "%s.%s.gate.at_least=1", section, name);
    }
    if ((gate->kind == GATE_BELOW || gate->kind == GATE_AT_LEAST) && gate->reads == READS_CHEST)
        guess_outlet(guessing, gate->subject, gate->item);
}

static void guess_opening(const struct guessing *usual, struct part subject) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const struct scenario *scenario = guessing->scenario;
    const char *section = section_of(subject.kind), *name = name_of(guessing, subject);
    uint32_t gate = root_gate(scenario, subject);
    require(gate != NO_INDEX);
    leave_gate_alone(guessing, gate);
    guess_threshold(guessing, section, name, &scenario->gate[gate]);
    guess(guessing, SIZE_REMOVAL, "%s.%s.gate=null", section, name);
}

/* ---- what is made, and has no room ---- */

/* Whether an arm brings something from outside to a track that goes into a product. */
static bool feeds_product(const struct scenario *scenario, const struct reach *reach, uint32_t arm,
                          uint32_t item) {
    const struct scenario_arm *self = &scenario->arm[arm];
    bool onto_track = self->to.kind == PLACE_LANE || self->to.kind == PLACE_LINE;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct scenario_station *station = &scenario->station[i];
        bool makes = false;
        for (uint32_t j = 0; j < station->makes_count; j++)
            makes |= station->makes[j].item == item;
        for (uint32_t j = 0; j < station->takes.count && makes; j++)
            if (onto_track && self->from.kind == PLACE_CHEST &&
                layout_may_carry(self, station->takes.entry[j].item) &&
                reach_comes_to(reach, layout_source(scenario, self->from),
                               station->takes.entry[j].item))
                return true;
    }
    return false;
}

/* What stops the outputs stops the inputs: all feeders of what goes into an item wait while enough
 * of it lies in the chest in which it ends. */
static void guess_halt_of_inputs(const struct guessing *usual, uint32_t chest, uint32_t item) {
    const struct scenario *scenario = usual->scenario;
    struct guessing guessing = ranked(usual, REMEDY_EXPERT);
    char text[TEXT_MOST / 2] = "", gate[TEXT_MOST / 4];
    uint32_t count = 0;
    if (item == NO_INDEX)
        return;
    snprintf(gate, sizeof gate, "{chest: %s, item: %s, below: %lld}", scenario->chest[chest].name,
             item_name(usual, item), (long long)threshold_for(scenario, chest));
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (feeds_product(scenario, &reach, i, item) &&
            !is_gated_by(scenario, i, READS_CHEST, chest, item)) {
            append(text, "%s", count++ > 0 ? "\n" : "");
            append_gate_for(scenario, i, gate, text);
        }
    reach_free(&reach);
    if (count > 0)
        guess(&guessing, count * SIZE_GATE, "%s", text);
}

/* ---- surplus ---- */

/* The station halts in time: its gate reads where the item goes. */
static void guess_halt(const struct guessing *guessing, uint32_t station, uint32_t item) {
    const struct scenario *scenario = guessing->scenario;
    if (scenario->station[station].gate != NO_INDEX)
        return;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (layout_may_carry(&scenario->arm[i], item) && scenario->arm[i].to.kind == PLACE_CHEST)
            guess(guessing, SIZE_GATE, "stations.%s.gate={chest: %s, item: %s, below: %lld}",
                  scenario->station[station].name, scenario->chest[scenario->arm[i].to.index].name,
                  item_name(guessing, item),
                  (long long)threshold_for(scenario, scenario->arm[i].to.index));
}

/* What is used elsewhere is not thrown away: its station waits while enough of it is under way on
 * the track. */
static void guess_halt_by_track(const struct guessing *usual, uint32_t station, uint32_t track,
                                uint32_t item) {
    const struct scenario *scenario = usual->scenario;
    struct guessing guessing = ranked(usual, REMEDY_EXPERT);
    bool is_line = track >= scenario->lane_count;
    int64_t places = layout_track_cells(scenario, track) / scenario->item[item].length;
    if (scenario->station[station].gate != NO_INDEX || !is_used(scenario, item))
        return;
    for (int64_t part = 4; part <= 16 && places / part > 0; part *= 4)
        guess(&guessing, SIZE_GATE, "stations.%s.gate={%s: %s, item: %s, below: %lld}",
              scenario->station[station].name, is_line ? "line" : "lane",
              layout_track_name(scenario, track), item_name(usual, item),
              (long long)(places / part));
}

static void guess_unloader(const struct guessing *usual, uint32_t station, uint32_t item) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const struct scenario *scenario = guessing->scenario;
    char box[NAME_MOST], arm[NAME_MOST], carter[NAME_MOST];
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (is_station(scenario->arm[i].from, station) && layout_may_carry(&scenario->arm[i], item))
            return;
    const char *name = item_name(guessing, item);
    guess(guessing, 3 * SIZE_PART,
          "chests.%s={}\narms.%s={from: %s, to: %s, items: [%s], swing: 1 s}\n" EMPTIED,
          new_name(guessing, name, "box", box), new_name(guessing, name, "unloader", arm),
          scenario->station[station].name, box, name, new_name(guessing, name, "carter", carter),
          box, name);
}

static void guess_for_surplus(const struct guessing *guessing, const struct root *root) {
    const struct scenario *scenario = guessing->scenario;
    guess_unloader(guessing, root->subject.index, root->item);
    if (root->lane != NO_INDEX) {
        uint32_t track = waits_thing(&guessing->self->waits, root->lane).index;
        guess_halt_by_track(guessing, root->subject.index, track, root->item);
        guess_clearer(guessing, track, root->item);
        guess_faster_takers(guessing, track, root->item);
        for (uint32_t i = 0; i < scenario->arm_count; i++)
            if (is_on_track(scenario, scenario->arm[i].from, track) &&
                layout_may_carry(&scenario->arm[i], root->item) &&
                scenario->arm[i].to.kind == PLACE_CHEST)
                guess_for_chest(guessing, scenario->arm[i].to.index, root->item);
    }
    guess_halt(guessing, root->subject.index, root->item);
}

/* ---- slow takers ---- */

/* A slower feeder may help, but that does not show that the taker is to blame. */
static void guess_for_slow_taker(const struct guessing *usual, uint32_t arm, uint32_t item) {
    struct guessing expert = ranked(usual, REMEDY_EXPERT), *guessing = &expert;
    const struct scenario *scenario = guessing->scenario;
    uint32_t track = layout_track(scenario, scenario->arm[arm].from);
    struct guessing helps = *usual;
    helps.proves = false;
    if (guessing->root->lingers) {
        guess(guessing, SIZE_NUMBER, "arms.%s.linger=0 s", scenario->arm[arm].name);
        guess(guessing, SIZE_NUMBER, "arms.%s.hand=1", scenario->arm[arm].name);
        return; /* it is not slow */
    }
    guess_faster(guessing, arm, guessing->root->fed);
    guess_slower_feeders(&helps, track, item, root_rate_of_arm(scenario, arm));
}

/* ---- all kinds ---- */

enum { UNKNOWN_FACTOR = 2 };

static void take_short(void *self, const struct short_candidate *candidate) {
    const struct guessing *guessing = self;
    guess(guessing, candidate->size, "%s", candidate->text);
}

static void guess_for_root(struct guessing *guessing) {
    const struct root *root = guessing->root;
    uint32_t index = root->subject.index;
    uint32_t track =
        root->lane != NO_INDEX ? waits_thing(&guessing->self->waits, root->lane).index : 0;
    switch (root->kind) {
    case ROOT_FOREIGN_ITEM:
        leave_lane_alone(guessing, track_of(guessing->scenario, root->subject), root->item);
        guess_exit(guessing, track_of(guessing->scenario, root->subject), root->item);
        break;
    case ROOT_NO_EXIT:
        guess_exit(guessing, track_of(guessing->scenario, root->subject), root->item);
        break;
    case ROOT_STOPPED: guess_start(guessing, root->subject); break;
    case ROOT_DEAD_SUPPLY: guess_supply(guessing, root->subject, root->item); break;
    case ROOT_GATE_SHUT:
        guess_other_gate(guessing, root->subject);
        guess_opening(guessing, root->subject);
        break;
    case ROOT_FULL_CHEST:
        guess_for_chest(guessing, index, root->item);
        guess_halt_of_inputs(guessing, index, root->item);
        guess_shared_limits(guessing, index);
        break;
    case ROOT_SURPLUS: guess_for_surplus(guessing, root); break;
    case ROOT_SLOW_TAKER: guess_for_slow_taker(guessing, index, root->item); break;
    case ROOT_UNGATED_FEEDER: guess_for_feeder(guessing, index, track, root->item); break;
    case ROOT_SLOW_ARM:
    case ROOT_SLOW_STATION:
    case ROOT_SHORT_SUPPLY:
    case ROOT_LOW_THRESHOLD:
    case ROOT_SMALL_ROOM:
    case ROOT_FULL_LANE: /* those of a shortage; how much more is wanted is not known here */
        if (root->kind == ROOT_LOW_THRESHOLD)
            guess_other_gate(guessing, root->subject);
        short_candidates_find(guessing->scenario, root, UNKNOWN_FACTOR, take_short, guessing);
    }
}

void remedy_candidates_find(const struct cause_case *self, uint32_t root, remedy_sink *add,
                            void *sink) {
    struct guessing guessing = {
        self, self->waits.scenario, &self->roots.root[root], root, REMEDY_USUAL, true, add, sink};
    guess_for_root(&guessing);
}
