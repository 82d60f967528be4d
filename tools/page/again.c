/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/again.c - the engine is exact, so that a run repeated from its scenario or capsule is
 * the run itself, whether it has kept its moves or not.
 *
 * A page may have some megabytes. Where a run needs more, these pieces stay whole, as far as there
 * is room: the first, the last, those around jams, deadlocks and clogs, then those around incidents
 * and other events, then the others from the start on. Of the rest a moment each remains, or of
 * every second, fourth, ... */
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

enum { RANK_EDGE, RANK_JAM, RANK_EVENT, RANK_OTHER, RANKS };

/* Seconds before and after an event that belong to it. */
enum { BEFORE_SECONDS = 60, AFTER_SECONDS = 60 };

/* What should stay whole, and how well. */
struct wanted {
    int64_t first, last; /* ticks */
    uint8_t rank;
};

struct course {
    struct again *again;
    struct progress *progress;
    struct wanted *wanted;
    size_t wanted_count;
    size_t allowed;       /* bytes of the recording */
    size_t whole, frames; /* bytes of whole pieces, of frames of others, so far */
    uint32_t seen;        /* pieces that were looked at */
};

/* ---- what stays whole ---- */

static uint8_t rank_of_event(const char *event) {
    static const char *const troubles[] = {"jam", "deadlock", "clogged"};
    for (size_t i = 0; i < sizeof troubles / sizeof *troubles; i++)
        if (strcmp(event, troubles[i]) == 0)
            return RANK_JAM;
    return RANK_EVENT;
}

static int64_t tick_of(const char *seconds, int64_t ticks_per_second) {
    return (int64_t)(strtod(seconds, NULL) * (double)ticks_per_second + 0.5);
}

/* Around an event; of a trouble also what came about since it began to last. */
static struct wanted wanted_of(const struct csv_table *events, size_t row, int64_t rate) {
    uint8_t rank = rank_of_event(csv_table_field(events, row, "event"));
    const char *since = strstr(csv_table_field(events, row, "detail"), "since=");
    int64_t start = tick_of(csv_table_field(events, row, "start_s"), rate), from = start;
    if (since != NULL && rank == RANK_JAM)
        from = tick_of(since + strlen("since="), rate);
    return (struct wanted){
        .first = from - BEFORE_SECONDS * rate, .last = start + AFTER_SECONDS * rate, .rank = rank};
}

static void list_wanted(struct course *course, const struct source *source) {
    const struct csv_table *events = &source->events;
    course->wanted = require_memory(events->rows, sizeof *course->wanted);
    for (size_t row = 1; row < events->rows; row++)
        course->wanted[course->wanted_count++] =
            wanted_of(events, row, source->scenario->ticks_per_second);
}

/* The best rank of what lies in a piece. */
static uint8_t rank_of(const struct course *course, const struct recording_piece *piece) {
    uint8_t rank = RANK_OTHER;
    if (piece->first_tick == course->again->recording.first_tick ||
        piece->last_tick == course->again->recording.scenario->run_ticks)
        return RANK_EDGE;
    for (size_t i = 0; i < course->wanted_count; i++)
        if (course->wanted[i].rank < rank && course->wanted[i].first <= piece->last_tick &&
            course->wanted[i].last >= piece->first_tick)
            rank = course->wanted[i].rank;
    return rank;
}

static size_t bytes_allowed(const struct scenario *scenario) {
    double hours = (double)scenario->run_ticks / ((double)scenario->ticks_per_second * 3600);
    double bytes = BYTES_LEAST + BYTES_AN_HOUR * (hours > 1 ? hours - 1 : 0);
    return bytes < BYTES_MOST ? (size_t)bytes : BYTES_MOST;
}

/* Gives up every second frame of what is not whole. */
static void halve_frames(struct course *course) {
    struct recording *recording = &course->again->recording;
    bool keep = true;
    for (uint32_t i = 0; i < course->seen; i++) {
        struct recording_piece *piece = &recording->piece[i];
        if (piece->is_whole || piece->frame.length == 0)
            continue;
        if (!keep) {
            course->frames -= piece->frame.length;
            recording_thin(piece, true);
        }
        keep = !keep;
    }
}

static void thin(struct course *course, struct recording_piece *piece) {
    course->frames += piece->frame.length;
    recording_thin(piece, false);
    if (course->frames > course->allowed / FRAMES_PART)
        halve_frames(course);
}

/* Pieces without an event stay whole from the start on as long as there is room: what comes when
 * there is none any more need not be kept until the end. */
static void look_at_pieces(struct course *course) {
    struct recording *recording = &course->again->recording;
    for (; course->seen < recording->piece_count; course->seen++) {
        struct recording_piece *piece = &recording->piece[course->seen];
        size_t size = piece->frame.length + piece->changes.length;
        if (course->whole + size > course->allowed && rank_of(course, piece) == RANK_OTHER)
            thin(course, piece);
        else
            course->whole += size;
    }
}

/* Keeps whole pieces in the order of their ranks, then of time, as long as there is room. */
static void choose(struct course *course) {
    struct recording *recording = &course->again->recording;
    uint8_t *rank = require_memory(recording->piece_count, 1);
    size_t used = 0;
    for (uint32_t i = 0; i < recording->piece_count; i++)
        rank[i] = rank_of(course, &recording->piece[i]);
    for (int at = 0; at < RANKS; at++)
        for (uint32_t i = 0; i < recording->piece_count; i++) {
            struct recording_piece *piece = &recording->piece[i];
            size_t size = piece->frame.length + piece->changes.length;
            if (rank[i] != at || !piece->is_whole)
                continue;
            if (at != RANK_EDGE && used + size > course->allowed)
                thin(course, piece);
            else
                used += size;
        }
    for (uint32_t i = 0; i < recording->piece_count; i++)
        *(recording->piece[i].is_whole ? &course->again->whole_pieces
                                       : &course->again->thinned_pieces) += 1;
    free(rank);
}

/* ---- the run ---- */

static bool look(void *self) {
    struct course *course = self;
    recording_look(&course->again->recording);
    look_at_pieces(course);
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

static void drive(struct course *course) {
    struct again *again = course->again;
    const struct scenario *scenario = again->recording.scenario;
    struct drive drive = {.scenario = scenario,
                          .world = again->world,
                          .self = course,
                          .look = look,
                          .sample = sample,
                          .stop = stop};
    series_take(again->series);
    drive_until(&drive, scenario->run_ticks);
    series_take(again->series);
    recording_end(&again->recording);
    look_at_pieces(course);
}

bool again_run(struct again *again, const struct source *source, bool show_progress) {
    const struct scenario *scenario = source->scenario;
    struct progress progress;
    struct course course = {
        .again = again, .progress = &progress, .allowed = bytes_allowed(scenario)};
    *again = (struct again){.world = source_world(source)};
    int64_t first = world_tick(again->world) + 1;
    world_advance(again->world, first);
    recording_begin(&again->recording, scenario, again->world);
    again->series = series_new(scenario, again->world, first, scenario->run_ticks);
    list_wanted(&course, source);
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second, show_progress);
    drive(&course);
    progress_end(&progress);
    bool whole = interrupt_signal() == 0 && is_the_same(again, source);
    if (whole)
        choose(&course);
    else
        again_free(again);
    free(course.wanted);
    return whole;
}

void again_free(struct again *again) {
    recording_free(&again->recording);
    series_free(again->series);
    world_free(again->world);
    *again = (struct again){0};
}
