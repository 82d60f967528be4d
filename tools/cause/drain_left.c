/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/drain_left.c - runs the changed scenario without the incidents that end the drain:
 * with a change it may take longer to come to rest. */
#include "tools/cause/drain_left.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/scenario/layout.h"
#include "sim/require.h"
#include "sim/text_stream.h"

/* As long as `drain` waits by default. */
enum { WITHIN_SECONDS = 3600 };

static bool has_drain_name(const struct scenario_incident *incident) {
    return incident->name != NULL && strncmp(incident->name, "drain-", strlen("drain-")) == 0;
}

bool drain_left_is_of_drain(const struct scenario_incident *incident) {
    return incident->actor.kind == PART_DEMAND && has_drain_name(incident);
}

/* When the demands stop; NOT_GIVEN: it is no drain. */
static int64_t stop_tick(const struct scenario *scenario) {
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind == INCIDENT_STOP &&
            drain_left_is_of_drain(&scenario->incident[i]))
            return scenario->incident[i].at_tick;
    return NOT_GIVEN;
}

/* Without the starts of the drain. Only its list of incidents is its own. */
static struct scenario without_restart(const struct scenario *scenario) {
    struct scenario changed = *scenario;
    changed.incident = require_memory(scenario->incident_count, sizeof *changed.incident);
    changed.incident_count = 0;
    for (uint32_t i = 0; i < scenario->incident_count; i++)
        if (scenario->incident[i].kind != INCIDENT_START || !has_drain_name(&scenario->incident[i]))
            changed.incident[changed.incident_count++] = scenario->incident[i];
    return changed;
}

static int64_t count_on_tracks(const struct world *world, const struct scenario *scenario,
                               uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        count += world_track_count(world, layout_track_as_place(scenario, i), item);
    return count;
}

/* NULL: nothing lies there. */
static char *list_left(const struct world *world, const struct scenario *scenario) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    uint32_t kinds = 0;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        int64_t count = count_on_tracks(world, scenario, i);
        if (count > 0)
            fprintf(out, "%s%lld %s", kinds++ > 0 ? ", " : "", (long long)count,
                    scenario->item[i].name);
    }
    char *text = text_stream_end(&stream);
    if (kinds > 0)
        return text;
    free(text);
    return NULL;
}

char *drain_left_by(const struct trial_book *book, const struct trial *trial) {
    if (stop_tick(book->scenario) == NOT_GIVEN)
        return NULL; /* without reading the changed scenario, which may be long */
    struct scenario *scenario = trial_scenario(book, trial);
    int64_t stop = scenario != NULL ? stop_tick(scenario) : NOT_GIVEN;
    char *text = NULL;
    if (stop != NOT_GIVEN) {
        struct scenario changed = without_restart(scenario);
        struct world *world = world_new(&changed);
        require(world != NULL);
        world_advance(world, stop + WITHIN_SECONDS * changed.ticks_per_second);
        text = list_left(world, &changed);
        world_free(world);
        free(changed.incident);
    }
    scenario_free(scenario);
    return text;
}
