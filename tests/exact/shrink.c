/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/shrink.c - tries one change after the other, each written as an override, and
 * keeps those with which the comparison still fails, until no further change does. */
#include "tests/exact/shrink.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/exact/scatter.h"

/* Changes worth trying, one override each. */
struct changes {
    char **change;
    size_t count, room;
};

struct shrink {
    char *text;
    shrink_question *wrong;
    void *self;
    int tries;
};

static void add(struct changes *changes, char *change) {
    if (changes->count == changes->room) {
        changes->room = 2 * changes->room + 64;
        changes->change =
            require_more_memory(changes->change, changes->room, sizeof *changes->change);
    }
    changes->change[changes->count++] = change;
}

static void free_changes(struct changes *changes) {
    for (size_t i = 0; i < changes->count; i++)
        free(changes->change[i]);
    free(changes->change);
}

__attribute__((format(printf, 2, 3))) static void suggest(struct changes *changes,
                                                          const char *format, ...) {
    char *text = NULL;
    size_t length = 0;
    va_list arguments;
    FILE *out = open_memstream(&text, &length);
    require(out != NULL);
    va_start(arguments, format);
    vfprintf(out, format, arguments);
    va_end(arguments);
    require(fclose(out) == 0);
    add(changes, text);
}

/* A time, where it is longer than that. */
static void suggest_time(struct changes *changes, const struct scenario *scenario, int64_t now,
                         int64_t ticks, const char *path) {
    char *text = NULL;
    size_t length = 0;
    if (now <= ticks)
        return;
    FILE *out = open_memstream(&text, &length);
    require(out != NULL);
    fprintf(out, "%s=", path);
    scatter_write_ticks(out, ticks, scenario->ticks_per_second);
    require(fclose(out) == 0);
    add(changes, text);
}

static void suggest_shorter_run(struct changes *changes, const struct scenario *scenario) {
    int64_t now = scenario->run_ticks;
    const int64_t ticks[] = {now / 8,     now / 4,  now / 2, now * 3 / 4,
                             now * 7 / 8, now - 10, now - 1};
    for (size_t i = 0; i < sizeof ticks / sizeof *ticks; i++)
        if (ticks[i] > 0)
            suggest_time(changes, scenario, now, ticks[i], "run.for");
}

/* Takes `section.name.key` of each of `count` parts away; key "": the whole part. */
#define SUGGEST_WITHOUT(SECTION, LIST, COUNT, KEY)                                                 \
    for (uint32_t i = 0; i < (COUNT); i++)                                                         \
    suggest(changes, SECTION ".%s%s=null", (LIST)[i].name, KEY)

static void suggest_fewer_parts(struct changes *changes, const struct scenario *scenario) {
    for (uint32_t i = scenario->incident_count; i-- > 0;)
        suggest(changes, "incidents.%" PRIu32 "=null", i);
    SUGGEST_WITHOUT("demands", scenario->demand, scenario->demand_count, "");
    SUGGEST_WITHOUT("supplies", scenario->supply, scenario->supply_count, "");
    SUGGEST_WITHOUT("arms", scenario->arm, scenario->arm_count, "");
    SUGGEST_WITHOUT("stations", scenario->station, scenario->station_count, "");
    SUGGEST_WITHOUT("lines", scenario->line, scenario->line_count, "");
    SUGGEST_WITHOUT("loops", scenario->loop, scenario->loop_count, "");
    SUGGEST_WITHOUT("chests", scenario->chest, scenario->chest_count, "");
    SUGGEST_WITHOUT("items", scenario->item, scenario->item_count, "");
}

static void suggest_fewer_keys(struct changes *changes, const struct scenario *scenario) {
    static const char *const of_arm[] = {".gate",   ".breaks", ".hand",
                                         ".linger", ".choose", ".items"};
    static const char *const of_station[] = {".gate", ".breaks", ".ahead", ".room"};
    static const char *const of_supply[] = {".gate",  ".breaks",    ".batch", ".from",
                                            ".first", ".when_full", ".until"};
    static const char *const of_demand[] = {".batch", ".from",   ".first",
                                            ".until", ".outlet", ".when_short"};
    static const char *const of_chest[] = {".capacity", ".limits", ".start"};
    for (size_t k = 0; k < sizeof of_arm / sizeof *of_arm; k++)
        SUGGEST_WITHOUT("arms", scenario->arm, scenario->arm_count, of_arm[k]);
    for (size_t k = 0; k < sizeof of_station / sizeof *of_station; k++)
        SUGGEST_WITHOUT("stations", scenario->station, scenario->station_count, of_station[k]);
    for (size_t k = 0; k < sizeof of_supply / sizeof *of_supply; k++)
        SUGGEST_WITHOUT("supplies", scenario->supply, scenario->supply_count, of_supply[k]);
    for (size_t k = 0; k < sizeof of_demand / sizeof *of_demand; k++)
        SUGGEST_WITHOUT("demands", scenario->demand, scenario->demand_count, of_demand[k]);
    for (size_t k = 0; k < sizeof of_chest / sizeof *of_chest; k++)
        SUGGEST_WITHOUT("chests", scenario->chest, scenario->chest_count, of_chest[k]);
    SUGGEST_WITHOUT("loops", scenario->loop, scenario->loop_count, ".breaks");
    SUGGEST_WITHOUT("lines", scenario->line, scenario->line_count, ".breaks");
    suggest(changes, "watch=null");
}

/* Single inputs and outputs of stations, kinds in chests. */
static void suggest_fewer_kinds(struct changes *changes, const struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct scenario_station *station = &scenario->station[i];
        for (uint32_t k = 0; k < station->takes.count; k++)
            suggest(changes, "stations.%s.takes.%s=null", station->name,
                    scenario->item[station->takes.entry[k].item].name);
        for (uint32_t k = 0; k < station->makes_count; k++)
            suggest(changes, "stations.%s.makes.%s=null", station->name,
                    scenario->item[station->makes[k].item].name);
    }
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t k = 0; k < scenario->chest[i].start.count; k++)
            suggest(changes, "chests.%s.start.%s=null", scenario->chest[i].name,
                    scenario->item[scenario->chest[i].start.entry[k].item].name);
}

static void suggest_plain_numbers(struct changes *changes, const struct scenario *scenario) {
    char path[128];
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        snprintf(path, sizeof path, "arms.%s.swing", scenario->arm[i].name);
        bool random = span_is_random(&scenario->arm[i].swing);
        suggest_time(changes, scenario, random ? 3 : scenario->arm[i].swing.ticks, 2, path);
        suggest_time(changes, scenario, random ? 3 : scenario->arm[i].swing.ticks, 0, path);
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        snprintf(path, sizeof path, "stations.%s.time", scenario->station[i].name);
        bool random = span_is_random(&scenario->station[i].time);
        suggest_time(changes, scenario, random ? 2 : scenario->station[i].time.ticks, 1, path);
    }
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (scenario->item[i].length > 1)
            suggest(changes, "items.%s.length=1", scenario->item[i].name);
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        for (uint32_t cells = 1; cells < scenario->loop[i].cell_count; cells *= 2)
            suggest(changes, "loops.%s.cells=%" PRIu32, scenario->loop[i].name, cells);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        for (uint32_t cells = 1; cells < scenario->line[i].cell_count; cells *= 2)
            suggest(changes, "lines.%s.cells=%" PRIu32, scenario->line[i].name, cells);
}

static struct changes all_changes(const struct scenario *scenario) {
    struct changes changes = {0};
    suggest_shorter_run(&changes, scenario);
    suggest_fewer_parts(&changes, scenario);
    suggest_fewer_keys(&changes, scenario);
    suggest_fewer_kinds(&changes, scenario);
    suggest_plain_numbers(&changes, scenario);
    return changes;
}

static struct scenario *read(const char *text, const char *const *change) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(text, strlen(text), "shrunk", change, change == NULL ? 0 : 1, &faults);
    faults_free(&faults);
    return scenario;
}

/* Keeps the change if the scenario stays valid, is another, and still goes wrong. */
static bool keep(struct shrink *shrink, const char *change) {
    struct scenario *scenario = read(shrink->text, &change);
    bool kept = scenario != NULL && strcmp(scenario->text, shrink->text) != 0 &&
                shrink->tries > 0 && shrink->tries-- > 0 &&
                shrink->wrong(scenario->text, shrink->self);
    if (kept) {
        free(shrink->text);
        shrink->text = require_text(scenario->text);
    }
    scenario_free(scenario);
    return kept;
}

/* Tries each change once; a part that is gone makes its other changes invalid, no harm done. */
static bool any_kept(struct shrink *shrink) {
    struct scenario *scenario = read(shrink->text, NULL);
    if (scenario == NULL)
        return false;
    struct changes changes = all_changes(scenario);
    bool any = false;
    for (size_t i = 0; i < changes.count && shrink->tries > 0; i++)
        any |= keep(shrink, changes.change[i]);
    free_changes(&changes);
    scenario_free(scenario);
    return any;
}

char *shrink_scenario(const char *text, shrink_question *wrong, void *self, int tries) {
    struct shrink shrink = {require_text(text), wrong, self, tries};
    while (any_kept(&shrink))
        ;
    return shrink.text;
}
