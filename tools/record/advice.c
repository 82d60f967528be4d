/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/advice.c - the first of several troubles that was met is named. */
#include "tools/record/advice.h"

#include <math.h>
#include <stdlib.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/base/options.h"
#include "tools/record/event_kinds.h"

enum { TEXT_BYTES = 400 };

/* A product of which less than this share was met is short; what is busy for so much of the time is
 * busy all the time. */
static const double met_least = 0.98, busy_least = 0.98;

/* ---- what was seen ---- */

/* The subject of a kind of event whose first event came first; NO_INDEX: there was none. */
static uint32_t first_subject(const struct outcome *outcome, enum event_kind kind) {
    uint32_t first = NO_INDEX, count = event_kind_subject_count(outcome->scenario, kind);
    int64_t first_tick = NOT_GIVEN;
    for (uint32_t i = 0; i < count; i++) {
        const struct event_tally *tally = events_tally(outcome->events, kind, i);
        if (tally->count == 0 || (first != NO_INDEX && tally->first_start_tick >= first_tick))
            continue;
        first = i;
        first_tick = tally->first_start_tick;
    }
    return first;
}

static bool sees_jam(const struct outcome *outcome, char text[TEXT_BYTES]) {
    uint32_t lane = outcome->verdict->jams > 0 ? first_subject(outcome, EVENT_JAM) : NO_INDEX;
    if (lane != NO_INDEX)
        snprintf(text, TEXT_BYTES, "%s jammed", outcome->scenario->lane[lane].full_name);
    return lane != NO_INDEX;
}

static bool sees_clog(const struct outcome *outcome, char text[TEXT_BYTES]) {
    bool open = events_tally(outcome->events, EVENT_CLOGGED, 0)->open;
    if (open)
        snprintf(text, TEXT_BYTES, "Everything rests, and items are left on the loops");
    return open;
}

static bool sees_starvation(const struct outcome *outcome, char text[TEXT_BYTES]) {
    if (outcome->is_part)
        return false; /* it may still end */
    for (uint32_t i = 0; i < outcome->scenario->station_count; i++) {
        if (!starvation_lasted(outcome->starvation, i))
            continue;
        snprintf(text, TEXT_BYTES, "%s starved for long", outcome->scenario->station[i].name);
        return true;
    }
    return false;
}

/* ---- what limits a product, where that is plain ---- */

static bool makes(const struct scenario_station *station, uint32_t item) {
    for (uint32_t i = 0; i < station->makes_count; i++)
        if (station->makes[i].item == item)
            return true;
    return false;
}

/* The one station that makes an item; NO_INDEX: none, or several. */
static uint32_t only_maker(const struct scenario *scenario, uint32_t item) {
    uint32_t maker = NO_INDEX;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        if (!makes(&scenario->station[i], item))
            continue;
        if (maker != NO_INDEX)
            return NO_INDEX;
        maker = i;
    }
    return maker;
}

/* The one arm that takes from a station; NO_INDEX: none, or several. */
static uint32_t only_taker(const struct scenario *scenario, uint32_t station) {
    uint32_t taker = NO_INDEX;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct place *from = &scenario->arm[i].from;
        if (from->kind != PLACE_STATION || from->index != station)
            continue;
        if (taker != NO_INDEX)
            return NO_INDEX;
        taker = i;
    }
    return taker;
}

/* Share of time in which an arm is under way with something, or back from it. */
static double busy_share(const struct outcome *outcome, uint32_t arm) {
    return totals_arm_share(outcome->window, arm, ARM_CARRYING) +
           totals_arm_share(outcome->window, arm, ARM_RETURNING);
}

/* "; bench works all the time", or "". */
static void name_limit(const struct outcome *outcome, uint32_t item, char text[TEXT_BYTES]) {
    const struct scenario *scenario = outcome->scenario;
    uint32_t maker = only_maker(scenario, item);
    text[0] = '\0';
    if (maker == NO_INDEX)
        return;
    uint32_t taker = only_taker(scenario, maker);
    if (totals_station_share(outcome->window, maker, STATION_WORKING) >= busy_least)
        snprintf(text, TEXT_BYTES, "; %s works all the time", scenario->station[maker].name);
    else if (taker != NO_INDEX && busy_share(outcome, taker) >= busy_least)
        snprintf(text, TEXT_BYTES, "; %s swings all the time", scenario->arm[taker].name);
}

/* Of what was asked for after the warm-up; 1 where nothing was. */
static double met_share(const struct outcome *outcome, uint32_t item) {
    const struct item_totals *before = &outcome->window->item[item];
    struct item_totals now = world_item_totals(outcome->world, item);
    int64_t asked = now.demanded - before->demanded;
    if (!outcome->window->open || asked <= 0)
        return 1;
    return (double)(now.met - before->met) / (double)asked;
}

static bool sees_short_product(const struct outcome *outcome, char text[TEXT_BYTES]) {
    const struct scenario *scenario = outcome->scenario;
    bool *product = require_memory(scenario->item_count, sizeof *product);
    uint32_t worst = NO_INDEX;
    double worst_share = met_least;
    layout_mark_products(scenario, product);
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        double share = product[i] ? met_share(outcome, i) : 1;
        if (share >= worst_share)
            continue;
        worst = i;
        worst_share = share;
    }
    free(product);
    if (worst == NO_INDEX)
        return false;
    char limit[TEXT_BYTES];
    name_limit(outcome, worst, limit);
    snprintf(text, TEXT_BYTES, "Orders for %s are short (%.0f %% met%.200s)",
             scenario->item[worst].name, floor(100 * worst_share), limit);
    return true;
}

/* ---- which command ---- */

/* "TEXT: loopwright COMMAND PATH MORE"; without a path, how to get one. */
static void print_line(const char *text, const char *command, const char *explained,
                       const char *more, FILE *out) {
    fprintf(out, "\n%s: ", text);
    if (explained == NULL) {
        fprintf(out, "run it with --out DIR, then loopwright %s DIR%s\n", command, more);
        return;
    }
    fprintf(out, "loopwright %s ", command);
    options_print_word(explained, out);
    fprintf(out, "%s\n", more);
}

void advice_print(const struct outcome *outcome, const char *explained, FILE *out) {
    static bool (*const sees[])(const struct outcome *outcome, char text[TEXT_BYTES]) = {
        sees_jam, sees_short_product, sees_clog, sees_starvation};
    char text[TEXT_BYTES];
    for (size_t i = 0; i < sizeof sees / sizeof *sees; i++) {
        if (!sees[i](outcome, text))
            continue;
        print_line(text, "cause", explained, "", out);
        return;
    }
    if (!outcome->verdict->holds && !outcome->is_part)
        print_line("It came otherwise than expected", "replay", explained, " --show", out);
}
