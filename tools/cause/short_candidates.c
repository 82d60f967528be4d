/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_candidates.c - faster by what is missing, then twice as fast; one more beside
 * it; a higher threshold, more room. */
#include "tools/cause/short_candidates.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "model/scenario/reach.h"

enum { TEXT_MOST = 4096, WORDS_MOST = 256, NAME_MOST = 160 };

/* Sizes as those of other changes: of a number, of a gate that goes, of a new part. */
enum { SIZE_NUMBER = 10, SIZE_REMOVAL = 16, SIZE_PART = 20 };

struct thinking {
    const struct scenario *scenario;
    const struct root *root;
    double factor; /* how much faster, 1.05 .. 8 */
    short_sink *take;
    void *taker;
};

static void append(char *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void append(char *text, const char *format, ...) {
    size_t used = strlen(text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text + used, TEXT_MOST - used, format, arguments);
    va_end(arguments);
}

static void think(const struct thinking *thinking, uint32_t size, double effort, const char *words,
                  const char *text) {
    if (strlen(text) + 1 < TEXT_MOST)
        thinking->take(thinking->taker, &(struct short_candidate){text, words, size, effort});
}

/* ---- durations ---- */

/* Two digits, rounded down: who is to be faster may be a little more so. */
static int64_t two_digits(int64_t ticks) {
    int64_t unit = 1;
    while (ticks / unit >= 100)
        unit *= 10;
    return ticks / unit * unit;
}

/* A duration or distribution of which every draw is `by` times as long. */
static void append_span(const struct scenario *scenario, const struct span *span, double by,
                        char *text) {
    char seconds[QUANTITY_TEXT_SIZE];
    int64_t ticks = by < 1 ? two_digits((int64_t)((double)span->ticks * by)) : span->ticks;
    switch (span->kind) {
    case SPAN_FIXED:
        quantity_seconds(ticks > 1 || span->ticks < 1 ? ticks : 1, scenario->ticks_per_second,
                         seconds);
        append(text, "%s s", seconds);
        return;
    case SPAN_EXPONENTIAL: append(text, "{exponential: %.6g s}", span->a * by); return;
    case SPAN_UNIFORM:
        append(text, "{uniform: [%.6g s, %.6g s]}", span->a * by, span->b * by);
        return;
    case SPAN_NORMAL:
        append(text, "{normal: [%.6g s, %.6g s]}", span->a * by, span->b * by);
        return;
    case SPAN_LOGNORMAL: append(text, "{lognormal: [%.6g s, %.6g]}", span->a * by, span->b); return;
    case SPAN_GAMMA: append(text, "{gamma: [%.6g s, %.6g]}", span->a * by, span->b); return;
    case SPAN_WEIBULL: append(text, "{weibull: [%.6g s, %.6g]}", span->a * by, span->b); return;
    case SPAN_TRIANGULAR:
        append(text, "{triangular: [%.6g s, %.6g s, %.6g s]}", span->a * by, span->b * by,
               span->c * by);
        return;
    case SPAN_GEOMETRIC:
        append(text, "{geometric: %.6g}", span->a / by < 1 ? span->a / by : 1.0);
        return;
    }
}

static void think_faster(const struct thinking *thinking, const char *section, const char *name,
                         const char *key, const struct span *span, double factor) {
    char text[TEXT_MOST] = "", words[WORDS_MOST];
    append(text, "%s.%s.%s=", section, name, key);
    append_span(thinking->scenario, span, 1 / factor, text);
    int64_t rounded = two_digits((int64_t)((double)span->ticks / factor));
    if (span->kind == SPAN_FIXED && rounded > 0)
        factor = (double)span->ticks / (double)rounded;
    if (factor < 2)
        snprintf(words, sizeof words, "%.100s %.0f %% faster", name, 100 * (factor - 1));
    else
        snprintf(words, sizeof words, "%.100s %.3g times as fast", name, factor);
    think(thinking, SIZE_NUMBER, factor - 1, words, text);
}

/* As fast as must be, somewhat faster, and twice as fast as that. */
static void think_all_faster(const struct thinking *thinking, const char *section, const char *name,
                             const char *key, const struct span *span) {
    double factor = thinking->factor;
    think_faster(thinking, section, name, key, span, factor);
    think_faster(thinking, section, name, key, span, 1.2 * factor);
    think_faster(thinking, section, name, key, span, 2 * factor);
}

/* ---- one more ---- */

static void new_name(const struct scenario *scenario, const char *stem, char name[NAME_MOST]) {
    int number = 2;
    do
        snprintf(name, NAME_MOST, "%.100s-%d", stem, number++);
    while (scenario_has_name(scenario, name));
}

static void append_place(const struct scenario *scenario, struct place place, char *text) {
    switch (place.kind) {
    case PLACE_CHEST: append(text, "%s", scenario->chest[place.index].name); break;
    case PLACE_STATION: append(text, "%s", scenario->station[place.index].name); break;
    case PLACE_LANE:
        append(text, "%s@%u", scenario->lane[place.index].full_name, place.cell);
        break;
    case PLACE_LINE: append(text, "%s@%u", scenario->line[place.index].name, place.cell); break;
    }
}

/* What an arm names and can find. */
static void append_items(const struct scenario *scenario, const struct scenario_arm *arm,
                         char *text) {
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    uint32_t count = 0;
    append(text, ", items: [");
    for (uint32_t i = 0; i < arm->item_count; i++)
        if (reach_comes_to(&reach, layout_source(scenario, arm->from), arm->item[i]))
            append(text, "%s%s", count++ > 0 ? ", " : "", scenario->item[arm->item[i]].name);
    append(text, "]");
    reach_free(&reach);
}

/* An arm like another; `station` in the place of `instead` (NULL: nothing is changed). */
static void append_arm(const struct scenario *scenario, uint32_t index, uint32_t instead,
                       const char *station, char *text) {
    const struct scenario_arm *arm = &scenario->arm[index];
    char name[NAME_MOST];
    new_name(scenario, arm->name, name);
    append(text, "arms.%s={from: ", name);
    if (station != NULL && arm->from.kind == PLACE_STATION && arm->from.index == instead)
        append(text, "%s, to: ", station);
    else {
        append_place(scenario, arm->from, text);
        append(text, ", to: ");
    }
    if (station != NULL && arm->to.kind == PLACE_STATION && arm->to.index == instead)
        append(text, "%s", station);
    else
        append_place(scenario, arm->to, text);
    if (arm->item_count < scenario->item_count)
        append_items(scenario, arm, text);
    if (arm->hand > 1)
        append(text, ", hand: %u", arm->hand);
    append(text, ", swing: ");
    append_span(scenario, &arm->swing, 1, text);
    append(text, "}");
}

static void think_second_arm(const struct thinking *thinking, uint32_t index) {
    char text[TEXT_MOST] = "", words[WORDS_MOST];
    append_arm(thinking->scenario, index, NO_INDEX, NULL, text);
    snprintf(words, sizeof words, "a second arm beside %.100s",
             thinking->scenario->arm[index].name);
    think(thinking, SIZE_PART, 1.5, words, text);
}

static void append_station(const struct scenario *scenario, uint32_t index, const char *name,
                           char *text) {
    const struct scenario_station *station = &scenario->station[index];
    append(text, "stations.%s={takes: {", name);
    for (uint32_t i = 0; i < station->takes.count; i++)
        append(text, "%s%s: %lld", i > 0 ? ", " : "",
               scenario->item[station->takes.entry[i].item].name,
               (long long)station->takes.entry[i].count);
    append(text, "}, makes: {");
    for (uint32_t i = 0; i < station->makes_count; i++) {
        const struct station_output *makes = &station->makes[i];
        append(text, "%s%s: ", i > 0 ? ", " : "", scenario->item[makes->item].name);
        if (makes->has_chance)
            append(text, "{count: %lld, chance: %.9g}", (long long)makes->count, makes->chance);
        else
            append(text, "%lld", (long long)makes->count);
    }
    append(text, "}, ahead: %lld, time: ", (long long)station->ahead);
    append_span(scenario, &station->time, 1, text);
    append(text, "}");
}

/* With arms of its own, like those of the first. */
static void think_second_station(const struct thinking *thinking, uint32_t index) {
    const struct scenario *scenario = thinking->scenario;
    char text[TEXT_MOST] = "", words[WORDS_MOST], name[NAME_MOST];
    new_name(scenario, scenario->station[index].name, name);
    append_station(scenario, index, name, text);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct place from = scenario->arm[i].from, to = scenario->arm[i].to;
        if ((from.kind == PLACE_STATION && from.index == index) ||
            (to.kind == PLACE_STATION && to.index == index)) {
            append(text, "\n");
            append_arm(scenario, i, index, name, text);
        }
    }
    snprintf(words, sizeof words, "a second station beside %.100s, with arms of its own",
             scenario->station[index].name);
    think(thinking, 2 * SIZE_PART, 2.5, words, text);
}

/* ---- by kind ---- */

static void think_of_arm(const struct thinking *thinking, uint32_t index) {
    const struct scenario_arm *arm = &thinking->scenario->arm[index];
    char text[TEXT_MOST], words[WORDS_MOST];
    if (arm->swing.kind != SPAN_FIXED || arm->swing.ticks > 1)
        think_all_faster(thinking, "arms", arm->name, "swing", &arm->swing);
    for (uint32_t times = 2; times <= 4; times *= 2) {
        snprintf(text, sizeof text, "arms.%s.hand=%u", arm->name, times * arm->hand);
        snprintf(words, sizeof words, "a hand of %u for %.100s", times * arm->hand, arm->name);
        think(thinking, SIZE_NUMBER, times - 1, words, text);
    }
    think_second_arm(thinking, index);
}

static void think_of_station(const struct thinking *thinking, uint32_t index) {
    const struct scenario_station *station = &thinking->scenario->station[index];
    if (station->time.kind != SPAN_FIXED || station->time.ticks > 1)
        think_all_faster(thinking, "stations", station->name, "time", &station->time);
    think_second_station(thinking, index);
}

static void think_of_supply(const struct thinking *thinking, uint32_t index) {
    const struct scenario_stream *supply = &thinking->scenario->supply[index];
    char text[TEXT_MOST], words[WORDS_MOST];
    think_all_faster(thinking, "supplies", supply->name, "every", &supply->every);
    for (int64_t times = 2; times <= 4; times *= 2) {
        snprintf(text, sizeof text, "supplies.%s.batch=%lld", supply->name,
                 (long long)(times * supply->batch));
        snprintf(words, sizeof words, "%lld at once by %.100s", (long long)(times * supply->batch),
                 supply->name);
        think(thinking, SIZE_NUMBER, (double)times - 1, words, text);
    }
}

static const int64_t times_more[] = {2, 5, 20};
enum { TIMES_MORE = sizeof times_more / sizeof *times_more };

/* A larger number of a bound costs little. */
static double step_of(int which) { return 0.2 * (which + 1); }

static int64_t at_least_one(int64_t number) { return number > 0 ? number : 1; }

/* A limit or capacity that is below what a chest must hold is raised with it. */
static void append_room(const struct scenario *scenario, const struct scenario_gate *gate,
                        int64_t least, char *text) {
    if (gate->reads != READS_CHEST)
        return;
    const struct scenario_chest *chest = &scenario->chest[gate->subject];
    if (chest->capacity < least)
        append(text, "\nchests.%s.capacity=%lld", chest->name, (long long)least);
    for (uint32_t i = 0; i < chest->limits.count; i++)
        if (chest->limits.entry[i].item == gate->item && chest->limits.entry[i].count < least)
            append(text, "\nchests.%s.limits.%s=%lld", chest->name, scenario->item[gate->item].name,
                   (long long)least);
}

static void think_of_below(const struct thinking *thinking, const char *section, const char *name,
                           const struct scenario_gate *gate) {
    for (int i = 0; i < TIMES_MORE; i++) {
        char text[TEXT_MOST] = "", words[WORDS_MOST];
        int64_t below = times_more[i] * at_least_one(gate->threshold);
        append(text, "%s.%s.gate.below=%lld", section, name, (long long)below);
        if (gate->reopen_below != NOT_GIVEN)
            append(text, "\n%s.%s.gate.reopen_below=%lld", section, name,
                   (long long)(times_more[i] * at_least_one(gate->reopen_below)));
        snprintf(words, sizeof words, "the gate of %.100s at %lld", name, (long long)below);
        think(thinking, SIZE_NUMBER, step_of(i), words, text);
        char with_room[TEXT_MOST];
        memcpy(with_room, text, sizeof text);
        append_room(thinking->scenario, gate, 2 * below, with_room);
        if (strcmp(with_room, text) != 0) {
            snprintf(words, sizeof words, "the gate of %.100s at %lld, and room for %lld", name,
                     (long long)below, (long long)(2 * below));
            think(thinking, 2 * SIZE_NUMBER, 2 * step_of(i), words, with_room);
        }
    }
}

static void think_of_gate(const struct thinking *thinking, struct part subject) {
    const struct scenario *scenario = thinking->scenario;
    const char *section = subject.kind == PART_ARM       ? "arms"
                          : subject.kind == PART_STATION ? "stations"
                                                         : "supplies";
    const char *name = scenario_part_name(scenario, subject);
    uint32_t index = root_gate(scenario, subject);
    char text[TEXT_MOST], words[WORDS_MOST];
    const struct scenario_gate *gate = &scenario->gate[index];
    if (gate->kind == GATE_BELOW)
        think_of_below(thinking, section, name, gate);
    for (int64_t part = 2; gate->kind == GATE_AT_LEAST && gate->threshold / part > 0; part *= 2) {
        snprintf(text, sizeof text, "%s.%s.gate.at_least=%lld", section, name,
                 (long long)(gate->threshold / part));
        snprintf(words, sizeof words, "the gate of %.100s at %lld", name,
                 (long long)(gate->threshold / part));
        think(thinking, SIZE_NUMBER, 0.1 * (double)part, words, text);
    }
    snprintf(text, sizeof text, "%s.%s.gate=null", section, name);
    snprintf(words, sizeof words, "%.100s without its gate", name);
    think(thinking, SIZE_REMOVAL, 1.2, words, text);
}

/* Of what fills a chest up: each delivery waits while an eighth of the chest would not be left, as
 * `budget` advises where two kinds share a bin. */
static void think_of_own_gates(const struct thinking *thinking, uint32_t index) {
    const struct scenario *scenario = thinking->scenario;
    const struct scenario_chest *chest = &scenario->chest[index];
    char text[TEXT_MOST], words[WORDS_MOST];
    for (uint32_t i = 0; i < scenario->supply_count; i++) {
        const struct scenario_stream *supply = &scenario->supply[i];
        int64_t room = at_least_one(chest->capacity / 8);
        int64_t below = chest->capacity - room - supply->batch + 1;
        if (supply->chest != index || supply->item != thinking->root->crowd ||
            supply->gate != NO_INDEX || below < 1)
            continue;
        const char *item = scenario->item[supply->item].name;
        snprintf(text, sizeof text, "supplies.%s.gate={chest: %s, item: %s, below: %lld}",
                 supply->name, chest->name, item, (long long)below);
        snprintf(words, sizeof words, "a gate that holds %.60s back from %lld %.60s in %.60s on",
                 supply->name, (long long)below, item, chest->name);
        think(thinking, SIZE_NUMBER, step_of(0) / 2, words, text);
    }
}

/* The kinds that come into a chest, each with the same part of it; 0: there are no such limits. */
static uint32_t append_shares(const struct scenario *scenario, uint32_t index, char *text) {
    const struct scenario_chest *chest = &scenario->chest[index];
    struct reach reach = reach_of(scenario, REACH_WITH_DROPS, REACH_NO_STEPS_LIMIT);
    uint32_t source = layout_source(scenario, (struct place){.kind = PLACE_CHEST, .index = index});
    uint32_t kinds = 0, written = 0;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        kinds += reach_comes_to(&reach, source, i);
    int64_t part = kinds > 1 ? chest->capacity / kinds : 0;
    append(text, "chests.%s.limits={", chest->name);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (reach_comes_to(&reach, source, i))
            append(text, "%s%s: %lld", written++ > 0 ? ", " : "", scenario->item[i].name,
                   (long long)part);
    append(text, "}");
    reach_free(&reach);
    return part > 0 ? kinds : 0;
}

/* What one kind that fills a chest leaves to the others. */
static void think_of_crowd(const struct thinking *thinking, uint32_t index) {
    const struct scenario_chest *chest = &thinking->scenario->chest[index];
    char text[TEXT_MOST] = "", words[WORDS_MOST];
    if (thinking->root->crowd == NO_INDEX || chest->capacity == NO_LIMIT)
        return;
    think_of_own_gates(thinking, index);
    if (chest->limits.count > 0 || append_shares(thinking->scenario, index, text) == 0)
        return;
    snprintf(words, sizeof words, "the same room in %.100s for each kind", chest->name);
    think(thinking, SIZE_NUMBER, step_of(0) / 2, words, text);
}

static void think_of_room(const struct thinking *thinking, uint32_t index) {
    const struct scenario *scenario = thinking->scenario;
    const struct scenario_chest *chest = &scenario->chest[index];
    char text[TEXT_MOST], words[WORDS_MOST];
    think_of_crowd(thinking, index);
    for (int i = 0; i < TIMES_MORE && chest->capacity != NO_LIMIT; i++) {
        int64_t room = times_more[i] * at_least_one(chest->capacity);
        snprintf(text, sizeof text, "chests.%s.capacity=%lld", chest->name, (long long)room);
        snprintf(words, sizeof words, "room for %lld in %.100s", (long long)room, chest->name);
        think(thinking, SIZE_NUMBER, step_of(i), words, text);
    }
    for (uint32_t j = 0; j < chest->limits.count; j++)
        for (int i = 0; i < TIMES_MORE; i++) {
            const char *item = scenario->item[chest->limits.entry[j].item].name;
            int64_t room = times_more[i] * at_least_one(chest->limits.entry[j].count);
            snprintf(text, sizeof text, "chests.%s.limits.%s=%lld", chest->name, item,
                     (long long)room);
            snprintf(words, sizeof words, "room for %lld %.100s in %.100s", (long long)room, item,
                     chest->name);
            think(thinking, SIZE_NUMBER, step_of(i), words, text);
        }
}

static void think_of_lane(const struct thinking *thinking, struct part subject) {
    const struct scenario *scenario = thinking->scenario;
    bool is_line = subject.kind == PART_LINE;
    uint32_t index = is_line ? subject.index : scenario->lane[subject.index].loop;
    const char *name = is_line ? scenario->line[index].name : scenario->loop[index].name;
    struct ratio rate = is_line ? scenario->line[index].rate : scenario->loop[index].rate;
    const double times[] = {thinking->factor, 1.2 * thinking->factor, 1.5 * thinking->factor,
                            2 * thinking->factor};
    for (int i = 0; i < 4; i++) {
        char text[TEXT_MOST], words[WORDS_MOST];
        double faster = times[i] * (double)rate.numerator / (double)rate.denominator;
        int places = faster < 0.1 ? 3 : (faster < 1 ? 2 : (faster < 10 ? 1 : 0));
        snprintf(text, sizeof text, "%s.%s.rate=%.*f", is_line ? "lines" : "loops", name, places,
                 faster);
        snprintf(words, sizeof words, "%.100s at %.*f cells a second", name, places, faster);
        think(thinking, SIZE_NUMBER, times[i] - 1, words, text);
    }
}

void short_candidates_find(const struct scenario *scenario, const struct root *root, double factor,
                           short_sink *take, void *taker) {
    double wanted = isfinite(factor) && factor < 4 ? 1.05 * factor : 4;
    struct thinking thinking = {scenario, root, wanted < 1.05 ? 1.05 : wanted, take, taker};
    switch (root->kind) {
    case ROOT_SLOW_ARM: think_of_arm(&thinking, root->subject.index); break;
    case ROOT_SLOW_STATION: think_of_station(&thinking, root->subject.index); break;
    case ROOT_SHORT_SUPPLY: think_of_supply(&thinking, root->subject.index); break;
    case ROOT_LOW_THRESHOLD: think_of_gate(&thinking, root->subject); break;
    case ROOT_SMALL_ROOM: think_of_room(&thinking, root->subject.index); break;
    case ROOT_FULL_LANE: think_of_lane(&thinking, root->subject); break;
    case ROOT_FOREIGN_ITEM:
    case ROOT_STOPPED:
    case ROOT_DEAD_SUPPLY:
    case ROOT_GATE_SHUT:
    case ROOT_NO_EXIT:
    case ROOT_FULL_CHEST:
    case ROOT_SURPLUS:
    case ROOT_SLOW_TAKER:
    case ROOT_UNGATED_FEEDER: break; /* tried by remedy_candidates.c */
    }
}
