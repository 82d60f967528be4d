/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/verdict.c - one row for each thing expected; bounds are compared as exact fractions.
 */
#include "tools/record/verdict.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/quantity.h"
#include "sim/require.h"

static struct verdict_point *add_point(struct verdict *verdict, const char *key, const char *name) {
    size_t room = strlen(key) + strlen(name) + 2;
    char *what = require_memory(room, 1);
    snprintf(what, room, "%s%s%s", key, name[0] != '\0' ? "." : "", name);
    struct verdict_point *point = &verdict->point[verdict->point_count++];
    *point = (struct verdict_point){.what = what};
    return point;
}

/* ---- yes or no ---- */

static void add_flag(struct verdict *verdict, const char *key, enum expect_flag expected,
                     bool found) {
    if (expected == EXPECT_OPEN)
        return;
    struct verdict_point *point = add_point(verdict, key, "");
    point->expected = require_text(expected == EXPECT_YES ? "yes" : "no");
    point->words = require_text(found ? "yes" : "no");
    point->holds = found == (expected == EXPECT_YES);
}

bool verdict_is_drained(const struct scenario *scenario, const struct world *world) {
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        if (world_track_count(world, (struct place){PLACE_LANE, i, 0}, NO_INDEX) > 0)
            return false;
    return true;
}

static void add_flags(struct verdict *verdict, const struct evidence *evidence) {
    const struct scenario_expect *expect = &evidence->scenario->expect;
    add_flag(verdict, "jam", expect->jam, verdict->jams > 0);
    add_flag(verdict, "deadlock", expect->deadlock, verdict->deadlocks > 0);
    add_flag(verdict, "drained", expect->drained,
             verdict_is_drained(evidence->scenario, evidence->world));
    add_flag(verdict, "rest", expect->rest, events_tally(evidence->events, EVENT_REST, 0)->open);
    add_flag(verdict, "clogged", expect->clogged,
             events_tally(evidence->events, EVENT_CLOGGED, 0)->open);
}

/* ---- stations that starved ---- */

/* The names of the stations that are marked, "none" for none. */
static char *marked_names(const struct scenario *scenario, const bool *marked) {
    char *text = require_text("");
    size_t length = 0;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        if (!marked[i])
            continue;
        const char *name = scenario->station[i].name;
        text = require_more_memory(text, length + strlen(name) + 3, 1);
        length += (size_t)sprintf(text + length, "%s%s", length > 0 ? ", " : "", name);
    }
    if (length > 0)
        return text;
    free(text);
    return require_text("none");
}

static void add_starved(struct verdict *verdict, const struct evidence *evidence) {
    const struct scenario *scenario = evidence->scenario;
    if (!scenario->expect.has_starved)
        return;
    bool *expected = require_memory(scenario->station_count, sizeof *expected);
    bool *found = require_memory(scenario->station_count, sizeof *found);
    for (uint32_t i = 0; i < scenario->expect.starved_count; i++)
        expected[scenario->expect.starved[i]] = true;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        found[i] = starvation_lasted(evidence->starvation, i);
    struct verdict_point *point = add_point(verdict, "starved", "");
    point->expected = marked_names(scenario, expected);
    point->words = marked_names(scenario, found);
    point->holds = memcmp(expected, found, scenario->station_count * sizeof *found) == 0;
    free(expected);
    free(found);
}

/* ---- bounds ---- */

static char *bound_text(const struct expect_bound *bound) {
    char least[QUANTITY_TEXT_SIZE] = "", most[QUANTITY_TEXT_SIZE] = "";
    char text[2 * QUANTITY_TEXT_SIZE + sizeof "at least  and at most "];
    if (bound->has_least)
        quantity_ratio_text(bound->least, least);
    if (bound->has_most)
        quantity_ratio_text(bound->most, most);
    snprintf(text, sizeof text, "%s%s%s%s%s", bound->has_least ? "at least " : "", least,
             bound->has_least && bound->has_most ? " and " : "", bound->has_most ? "at most " : "",
             most);
    return require_text(text);
}

static bool is_within(const struct expect_bound *bound, struct ratio found) {
    return !(bound->has_least && quantity_compare(found, bound->least) < 0) &&
           !(bound->has_most && quantity_compare(found, bound->most) > 0);
}

static void add_count(struct verdict *verdict, const char *key, const char *name,
                      const struct expect_bound *bound, int64_t found) {
    struct verdict_point *point = add_point(verdict, key, name);
    point->expected = bound_text(bound);
    point->kind = FOUND_COUNT;
    point->count = found;
    point->holds = is_within(bound, (struct ratio){found, 1});
}

/* Of what was asked for: what outlets took is none of it. Where nothing was asked for, all of it
 * was met. */
static void add_met(struct verdict *verdict, const struct evidence *evidence,
                    const struct expect_item *expected) {
    struct item_totals totals = world_item_totals(evidence->world, expected->item);
    struct ratio met = {1, 1};
    if (totals.demanded > 0)
        met = (struct ratio){totals.demanded - totals.owed - totals.lost, totals.demanded};
    struct verdict_point *point =
        add_point(verdict, "demand_met", evidence->scenario->item[expected->item].name);
    point->expected = bound_text(&expected->bound);
    point->kind = FOUND_SHARE;
    point->share = (double)met.numerator / (double)met.denominator;
    point->holds = is_within(&expected->bound, met);
}

static void add_bounds(struct verdict *verdict, const struct evidence *evidence) {
    const struct scenario *scenario = evidence->scenario;
    const struct scenario_expect *expect = &scenario->expect;
    for (uint32_t i = 0; i < expect->made_count; i++) {
        const struct expect_item *made = &expect->made[i];
        add_count(verdict, "made", scenario->item[made->item].name, &made->bound,
                  world_item_totals(evidence->world, made->item).made);
    }
    for (uint32_t i = 0; i < expect->demand_met_count; i++)
        add_met(verdict, evidence, &expect->demand_met[i]);
    for (uint32_t i = 0; i < expect->on_lane_count; i++) {
        const struct expect_lane *lane = &expect->on_lane[i];
        struct place track = {PLACE_LANE, lane->lane, 0};
        add_count(verdict, "on_lane", scenario->lane[lane->lane].full_name, &lane->bound,
                  world_track_count(evidence->world, track, NO_INDEX));
    }
}

/* ---- all together ---- */

enum { POINTS_OF_FLAGS = 6 }; /* jam, deadlock, drained, rest, clogged, starved */

void verdict_reach(struct verdict *verdict, const struct evidence *evidence) {
    const struct scenario_expect *expect = &evidence->scenario->expect;
    *verdict = (struct verdict){.jams = events_counted(evidence->events, EVENT_JAM),
                                .deadlocks = events_counted(evidence->events, EVENT_DEADLOCK)};
    verdict->holds = expect->present || verdict->jams == 0;
    if (!expect->present)
        return;
    verdict->point = require_memory((size_t)POINTS_OF_FLAGS + expect->made_count +
                                        expect->demand_met_count + expect->on_lane_count,
                                    sizeof *verdict->point);
    add_flags(verdict, evidence);
    add_starved(verdict, evidence);
    add_bounds(verdict, evidence);
    for (uint32_t i = 0; i < verdict->point_count; i++)
        verdict->holds = verdict->holds && verdict->point[i].holds;
}

void verdict_free(struct verdict *verdict) {
    for (uint32_t i = 0; i < verdict->point_count; i++) {
        free(verdict->point[i].what);
        free(verdict->point[i].expected);
        free(verdict->point[i].words);
    }
    free(verdict->point);
    *verdict = (struct verdict){0};
}
