/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/again.c - the engine is exact, so that a run repeated from its scenario or capsule is
 * the run itself, whether it has kept its moves or not.
 *
 * A page may have some megabytes. Where a run needs more, these pieces stay whole, as far as there
 * is room: the first, the last, those around jams, deadlocks and clogs, then those around incidents
 * and other events, then the others from the start on. Of the rest a moment each remains. */
#include "tools/page/again.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/base/progress.h"
#include "tools/record/drive.h"

/* Bytes of a recording: so many, and so many more for each hour that was simulated. In base64 they
 * are a third more. */
enum { BYTES_LEAST = 3000000, BYTES_AN_HOUR = 150000, BYTES_MOST = 4600000 };
/* Of these, one part in so many for the frames of what is not whole. */
enum { FRAMES_PART = 5 };

struct course {
    struct again *again;
    struct progress *progress;
};

static bool look(void *self) {
    struct course *course = self;
    recording_look(&course->again->recording);
    return true;
}

static void sample(void *self) {
    struct course *course = self;
    series_take(course->again->series);
}

static bool stop(void *self) {
    struct course *course = self;
    progress_show(course->progress, world_tick(course->again->world));
    return true;
}

/* ---- what stays whole ---- */

enum { RANK_EDGE, RANK_JAM, RANK_EVENT, RANK_OTHER, RANKS };

static int rank_of_event(const char *event) {
    static const char *const troubles[] = {"jam", "deadlock", "clogged"};
    for (size_t i = 0; i < sizeof troubles / sizeof *troubles; i++)
        if (strcmp(event, troubles[i]) == 0)
            return RANK_JAM;
    return RANK_EVENT;
}

/* The piece with a tick, or the nearest to it. */
static uint32_t piece_at(const struct recording *recording, int64_t tick) {
    uint32_t low = 0, high = recording->piece_count;
    while (high - low > 1) {
        uint32_t middle = (low + high) / 2;
        if (recording->piece[middle].first_tick <= tick)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static void raise(uint8_t *rank, uint32_t piece, int to) {
    if (rank[piece] > to)
        rank[piece] = (uint8_t)to;
}

static int64_t tick_of(const char *seconds, int64_t ticks_per_second) {
    return (int64_t)(strtod(seconds, NULL) * (double)ticks_per_second + 0.5);
}

/* Around an event: the piece in which it began, the one before it, the one after it; and of what
 * has lasted since earlier, from then on. */
static void rank_event(const struct recording *recording, uint8_t *rank,
                       const struct csv_table *events, size_t row) {
    int64_t rate = recording->scenario->ticks_per_second;
    int to = rank_of_event(csv_table_field(events, row, "event"));
    const char *since = strstr(csv_table_field(events, row, "detail"), "since=");
    int64_t start = tick_of(csv_table_field(events, row, "start_s"), rate);
    int64_t from =
        since != NULL && to == RANK_JAM ? tick_of(since + strlen("since="), rate) : start;
    uint32_t first = piece_at(recording, from), last = piece_at(recording, start);
    first -= first > 0;
    last += last + 1 < recording->piece_count;
    for (uint32_t i = first; i <= last; i++)
        raise(rank, i, to);
}

static uint8_t *ranks(const struct recording *recording, const struct csv_table *events) {
    uint8_t *rank = require_memory(recording->piece_count, 1);
    memset(rank, RANK_OTHER, recording->piece_count);
    for (size_t row = 1; row < events->rows; row++)
        rank_event(recording, rank, events, row);
    rank[0] = rank[recording->piece_count - 1] = RANK_EDGE;
    return rank;
}

static size_t bytes_allowed(const struct recording *recording) {
    double hours =
        (double)recording->last_tick / ((double)recording->scenario->ticks_per_second * 3600);
    double bytes = BYTES_LEAST + BYTES_AN_HOUR * (hours > 1 ? hours - 1 : 0);
    return bytes < BYTES_MOST ? (size_t)bytes : BYTES_MOST;
}

/* Keeps whole pieces in the order of their ranks, then of time, as long as there is room. */
static void choose(struct again *again, const struct csv_table *events) {
    struct recording *recording = &again->recording;
    size_t allowed = bytes_allowed(recording), used = 0, frames = 0;
    bool all = recording_size(recording) <= allowed;
    uint8_t *rank = ranks(recording, events);
    bool *kept = require_memory(recording->piece_count, sizeof *kept);
    size_t for_changes = allowed - allowed / FRAMES_PART;
    for (int at = 0; at < RANKS; at++)
        for (uint32_t i = 0; i < recording->piece_count; i++) {
            struct recording_piece *piece = &recording->piece[i];
            size_t size = piece->frame.length + piece->changes.length;
            if (rank[i] != at || (!all && at != RANK_EDGE && used + size > for_changes))
                continue;
            kept[i] = true;
            used += size;
        }
    for (uint32_t i = 0; i < recording->piece_count; i++) {
        struct recording_piece *piece = &recording->piece[i];
        if (kept[i]) {
            again->whole_pieces++;
            continue;
        }
        frames += piece->frame.length;
        recording_thin(piece, frames > allowed / FRAMES_PART);
        again->thinned_pieces++;
    }
    free(kept);
    free(rank);
}

/* ---- the run ---- */

/* With another version of the program, or a directory that was changed by hand, it is another run.
 */
static bool is_the_same(const struct again *again, const struct source *source) {
    json_int_t moves = json_integer_value(json_object_get(source->summary, "moves"));
    json_int_t ticks = json_integer_value(json_object_get(source->summary, "ticks"));
    if (ticks == world_tick(again->world) && (uint64_t)moves == world_moves(again->world))
        return true;
    fprintf(stderr,
            "loopwright report: %s: its scenario, run again, gives another run\n"
            "    note: summary.json counts %lld moves in %lld ticks, by version %s; it is now "
            "%llu in %lld\n"
            "    help: run the scenario again, with --out\n",
            source->path, (long long)moves, (long long)ticks,
            json_string_value(json_object_get(source->summary, "version")),
            (unsigned long long)world_moves(again->world), (long long)world_tick(again->world));
    return false;
}

static void drive(struct again *again, const struct source *source, bool show_progress) {
    const struct scenario *scenario = source->scenario;
    struct progress progress;
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second, show_progress);
    struct course course = {.again = again, .progress = &progress};
    int64_t first = world_tick(again->world) + 1;
    world_advance(again->world, first);
    recording_begin(&again->recording, scenario, again->world);
    again->series = series_new(scenario, again->world, first, scenario->run_ticks);
    series_take(again->series);
    struct drive drive = {.scenario = scenario,
                          .world = again->world,
                          .self = &course,
                          .look = look,
                          .sample = sample,
                          .stop = stop};
    drive_until(&drive, scenario->run_ticks);
    series_take(again->series);
    recording_end(&again->recording);
    progress_end(&progress);
}

bool again_run(struct again *again, const struct source *source, bool show_progress) {
    *again = (struct again){.world = source_world(source)};
    drive(again, source, show_progress);
    bool whole = interrupt_signal() == 0 && is_the_same(again, source);
    if (whole)
        choose(again, &source->events);
    else
        again_free(again);
    return whole;
}

void again_free(struct again *again) {
    recording_free(&again->recording);
    series_free(again->series);
    world_free(again->world);
    *again = (struct again){0};
}
