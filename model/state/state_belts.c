/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_belts.c - the world as a whole, items, loops, lanes and lines as rows of a
 * state. */
#include "model/engine/belt.h"
#include "model/engine/lane.h"
#include "model/engine/line.h"
#include "model/engine/track.h"
#include "model/state/state_table.h"

static uint32_t one(const struct world *world) {
    (void)world;
    return 1;
}

/* ---- the world ----
 * derived: agenda, looks_at_moves; between uses empty: scratch, item_scratch, item_marks */

struct world_row {
    int64_t tick, last_move;
    int64_t moves;
    wide_count made_ticks, used_ticks;
};

static const struct state_field world_field[] = {
    FIELD(struct world_row, STATE_PAST, tick), FIELD(struct world_row, STATE_PAST, last_move),
    FIELD(struct world_row, STATE_AMOUNT, moves), FIELD(struct world_row, STATE_WIDE, made_ticks),
    FIELD(struct world_row, STATE_WIDE, used_ticks)};

static void get_world(const struct world *world, uint32_t owner, struct state_cursor *cursor,
                      void *row) {
    (void)owner, (void)cursor;
    *(struct world_row *)row = (struct world_row){.tick = world->tick,
                                                  .last_move = world->last_move,
                                                  .moves = (int64_t)world->moves,
                                                  .made_ticks = world->made_ticks,
                                                  .used_ticks = world->used_ticks};
}

static bool put_world(struct state_filling *filling, uint32_t owner, const void *from) {
    (void)owner;
    const struct world_row *row = from;
    struct world *world = filling->world;
    world->last_move = row->last_move;
    world->moves = (uint64_t)row->moves;
    world->made_ticks = row->made_ticks;
    world->used_ticks = row->used_ticks;
    return row->tick == filling->tick;
}

/* ---- what has become of each item ---- */

_Static_assert(sizeof(struct item_totals) == 72, "struct item_totals is in item_field");
/* derived: owed (state_finish.c) */

static const struct state_field item_field[] = {FIELD(struct item_totals, STATE_AMOUNT, made),
                                                FIELD(struct item_totals, STATE_AMOUNT, consumed),
                                                FIELD(struct item_totals, STATE_AMOUNT, supplied),
                                                FIELD(struct item_totals, STATE_AMOUNT, demanded),
                                                FIELD(struct item_totals, STATE_AMOUNT, met),
                                                FIELD(struct item_totals, STATE_AMOUNT, lost),
                                                FIELD(struct item_totals, STATE_AMOUNT, dropped),
                                                FIELD(struct item_totals, STATE_AMOUNT, cleared)};

static uint32_t items(const struct world *world) { return world->scenario->item_count; }

static void get_item(const struct world *world, uint32_t item, struct state_cursor *cursor,
                     void *row) {
    (void)cursor;
    *(struct item_totals *)row = world->item[item];
}

static bool put_item(struct state_filling *filling, uint32_t item, const void *row) {
    filling->world->item[item] = *(const struct item_totals *)row;
    return true;
}

/* ---- loops and lines ----
 * derived: pace.running, next_tick, turn, item_count; fixed: cell_count, first_track, track_count
 */

_Static_assert(sizeof(struct belt_clock) == 40, "struct belt_clock is in struct belt_row");
_Static_assert(sizeof(struct belt) == 128, "struct belt is in struct belt_row");

struct belt_row {
    int64_t ticks, steps; /* its pace: fixed, but a what-if may change it */
    int64_t start_tick, start_step;
    int64_t step; /* derived, as long as the pace is the same */
    uint8_t stops;
    bool held_something, emptied_open;
    int64_t empty_tick, empty_step, emptied_start;
    int64_t still_step_rest, still_step_deadlock;
};

static const struct state_field belt_field[] = {
    FIELD(struct belt_row, STATE_KEY, ticks),
    FIELD(struct belt_row, STATE_KEY, steps),
    FIELD(struct belt_row, STATE_PAST, start_tick),
    FIELD(struct belt_row, STATE_PAST, start_step),
    FIELD(struct belt_row, STATE_PAST, step),
    FIELD(struct belt_row, STATE_BYTE, stops),
    FIELD(struct belt_row, STATE_FLAG, held_something),
    FIELD(struct belt_row, STATE_FLAG, emptied_open),
    FIELD(struct belt_row, STATE_PAST, empty_tick),
    FIELD(struct belt_row, STATE_PAST, empty_step),
    FIELD(struct belt_row, STATE_PAST, emptied_start),
    FIELD(struct belt_row, STATE_PAST, still_step_rest),
    FIELD(struct belt_row, STATE_PAST, still_step_deadlock)};

static uint32_t belts(const struct world *world) { return world->belt_count; }

static void get_belt(const struct world *world, uint32_t index, struct state_cursor *cursor,
                     void *row) {
    (void)cursor;
    const struct belt *belt = &world->belt[index];
    *(struct belt_row *)row =
        (struct belt_row){.ticks = belt->clock.ticks,
                          .steps = belt->clock.steps,
                          .start_tick = belt->clock.start_tick,
                          .start_step = belt->clock.start_step,
                          .step = belt_clock_step_at(&belt->clock, state_passed(world)),
                          .stops = belt->stops,
                          .held_something = belt->held_something,
                          .emptied_open = belt->emptied_open,
                          .empty_tick = belt->empty_tick,
                          .empty_step = belt->empty_step,
                          .emptied_start = belt->emptied_start,
                          .still_step_rest = belt->still_step[STANDSTILL_REST],
                          .still_step_deadlock = belt->still_step[STANDSTILL_DEADLOCK]};
}

/* Goes on with its grid of steps, or with a new one where its rate is another. */
static void put_pace(struct belt_clock *pace, const struct belt_row *row, int64_t now) {
    bool same = pace->ticks == row->ticks && pace->steps == row->steps;
    pace->start_tick = same ? row->start_tick : now;
    pace->start_step = same ? row->start_step : row->step;
    pace->running = row->stops == 0;
}

/* What has happened on a belt happened at steps that it has made. */
static bool steps_are_made(const struct belt_row *row) {
    return row->start_step >= 0 && row->start_tick >= 0 && row->step >= row->start_step &&
           row->empty_step >= 0 && row->empty_step <= row->step && row->still_step_rest >= 0 &&
           row->still_step_rest <= row->step && row->still_step_deadlock >= 0 &&
           row->still_step_deadlock <= row->step;
}

static bool put_belt(struct state_filling *filling, uint32_t index, const void *from) {
    const struct belt_row *row = from;
    struct belt *belt = &filling->world->belt[index];
    int64_t now = state_passed(filling->world);
    if (!state_stops_fit(row->stops) || !steps_are_made(row))
        return false;
    put_pace(&belt->clock, row, now);
    belt->step = belt_clock_step_at(&belt->clock, now);
    belt->next_tick = belt_clock_tick_of(&belt->clock, belt->step + 1);
    belt->turn = (uint32_t)(belt->step % belt->cell_count);
    belt->stops = row->stops;
    belt->held_something = row->held_something;
    belt->emptied_open = row->emptied_open;
    belt->empty_tick = row->empty_tick;
    belt->empty_step = row->empty_step;
    belt->emptied_start = row->emptied_start;
    belt->still_step[STANDSTILL_REST] = row->still_step_rest;
    belt->still_step[STANDSTILL_DEADLOCK] = row->still_step_deadlock;
    return belt->step == row->step;
}

/* ---- what lies on lanes and lines: the kind of each track is told as the item ---- */

struct lying_row {
    uint32_t where; /* the slot of a lane, the cell of a line */
    uint32_t item;
};

static const struct state_field lying_field[] = {FIELD(struct lying_row, STATE_WORD, where),
                                                 FIELD(struct lying_row, STATE_WORD, item)};

static uint32_t item_of_kind(const struct world *world, uint32_t track, uint32_t kind) {
    return world->kind[world->track[track].first_kind + kind].item;
}

/* The kind of an item on a track; NO_INDEX: it never comes there. */
static uint32_t kind_of_item(const struct world *world, uint32_t track, uint32_t item) {
    return item < world->scenario->item_count ? track_kind_of(world, track, item) : NO_INDEX;
}

static void count_lying(struct world *world, uint32_t index, uint32_t kind) {
    struct track *track = &world->track[index];
    struct track_kind *self = &world->kind[track->first_kind + kind];
    self->count++;
    track->item_count++;
    track->held_cells += self->length;
    world->belt[track->belt].item_count++;
}

/* derived: heads, held; fixed: slot_count, word_count */
_Static_assert(sizeof(struct lane) == 32, "struct lane is in lying_field");

static uint32_t lanes(const struct world *world) { return world->scenario->lane_count; }

static uint32_t lane_items(const struct world *world, uint32_t lane) {
    return world->track[lane].item_count;
}

static void get_on_lane(const struct world *world, uint32_t lane, struct state_cursor *cursor,
                        void *row) {
    while (world->lane[lane].kind[cursor->index] == LANE_EMPTY)
        cursor->index++;
    uint32_t slot = cursor->index++;
    *(struct lying_row *)row = (struct lying_row){
        .where = slot, .item = item_of_kind(world, lane, world->lane[lane].kind[slot])};
}

static bool put_on_lane(struct state_filling *filling, uint32_t index, const void *from) {
    const struct lying_row *row = from;
    struct world *world = filling->world;
    struct lane *lane = &world->lane[index];
    uint32_t kind = kind_of_item(world, index, row->item);
    if (kind == NO_INDEX || row->where >= lane->slot_count)
        return false;
    uint32_t length = world->kind[world->track[index].first_kind + kind].length;
    if (length > lane->slot_count || !lane_is_free(lane, row->where, length))
        return false;
    lane_put(lane, row->where, length, kind);
    count_lying(world, index, kind);
    return true;
}

/* derived: roll_until; fixed: first_item. Items are told with the cells where they are now. */
_Static_assert(sizeof(struct line_item) == 8, "struct line_item is in struct lying_row");
_Static_assert(sizeof(struct line) == 32, "struct line is in line_field and lying_field");

static uint32_t lines(const struct world *world) { return world->scenario->line_count; }

static uint32_t line_items(const struct world *world, uint32_t line) {
    return world->line[line].item_count;
}

static int64_t line_step(const struct world *world, uint32_t line) {
    return belt_clock_step_at(&world->belt[belt_of_line(world, line)].clock, state_passed(world));
}

static uint32_t track_of_line(const struct world *world, uint32_t line) {
    return world->scenario->lane_count + line;
}

static void get_on_line(const struct world *world, uint32_t line, struct state_cursor *cursor,
                        void *row) {
    if (cursor->index == 0)
        cursor->cell = (int64_t)world->track[track_of_line(world, line)].cell_count - 1;
    uint32_t item = cursor->index++;
    uint32_t kind = world->line_item[world->line[line].first_item + item].kind;
    *(struct lying_row *)row = (struct lying_row){
        .where = line_item_cell(world, line, item, line_step(world, line), &cursor->cell),
        .item = item_of_kind(world, track_of_line(world, line), kind)};
}

/* The first cell behind what was put last. */
static int64_t room_behind(const struct world *world, uint32_t index) {
    const struct line *line = &world->line[index];
    const struct track *track = &world->track[track_of_line(world, index)];
    if (line->item_count == 0)
        return (int64_t)track->cell_count - 1;
    const struct line_item *last = &world->line_item[line->first_item + line->item_count - 1];
    return (int64_t)last->cell - world->kind[track->first_kind + last->kind].length;
}

/* Items come from the head end down. roll_until grows with each, as line_put would have it: the
 * longest way to where one comes to rest. */
static bool put_on_line(struct state_filling *filling, uint32_t index, const void *from) {
    const struct lying_row *row = from;
    struct world *world = filling->world;
    struct line *line = &world->line[index];
    uint32_t kind = kind_of_item(world, track_of_line(world, index), row->item);
    if (kind == NO_INDEX)
        return false;
    const struct track *track = &world->track[track_of_line(world, index)];
    uint32_t length = world->kind[track->first_kind + kind].length;
    if (row->where > room_behind(world, index) || row->where + 1 < length)
        return false;
    int64_t stop = (int64_t)track->cell_count - 1 - track->held_cells;
    line->step = line_step(world, index);
    if (line->step + stop - row->where > line->roll_until)
        line->roll_until = line->step + stop - row->where;
    world->line_item[line->first_item + line->item_count++] =
        (struct line_item){.cell = row->where, .kind = kind};
    count_lying(world, track_of_line(world, index), kind);
    return true;
}

struct line_row {
    int64_t rolled_tick;
};

static const struct state_field line_field[] = {FIELD(struct line_row, STATE_PAST, rolled_tick)};

static void get_line(const struct world *world, uint32_t line, struct state_cursor *cursor,
                     void *row) {
    (void)cursor;
    ((struct line_row *)row)->rolled_tick =
        line_rolled_by_step(world, line, line_step(world, line));
}

static bool put_line(struct state_filling *filling, uint32_t line, const void *row) {
    filling->world->line[line].rolled_tick = ((const struct line_row *)row)->rolled_tick;
    filling->world->line[line].step = line_step(filling->world, line);
    return true;
}

/* ---- tracks and their watchers ----
 * derived: held_cells, item_count, cells_since, first_placing, last_placing, first_unreported,
 * watches_blocked, watches_jam; only within a tick: placing_gap; fixed: all above held_cells */

_Static_assert(sizeof(struct track_kind) == 32, "all of struct track_kind is fixed, but its count");
_Static_assert(sizeof(struct track) == 224, "struct track is in struct track_row");

struct track_row {
    int64_t cells_most;
    wide_count cell_ticks;
    int64_t last_move, last_move_step, placing_since, placing_since_step;
    bool crowded, congested_open, jam_open, deadlock_open;
    int64_t crowded_since, crowded_step, congested_start;
    int64_t jam_from, jam_since, jam_start, deadlock_since, deadlock_start;
};

static const struct state_field track_field[] = {
    FIELD(struct track_row, STATE_AMOUNT, cells_most),
    FIELD(struct track_row, STATE_WIDE, cell_ticks),
    FIELD(struct track_row, STATE_PAST, last_move),
    FIELD(struct track_row, STATE_PAST, last_move_step),
    FIELD(struct track_row, STATE_PAST, placing_since),
    FIELD(struct track_row, STATE_PAST, placing_since_step),
    FIELD(struct track_row, STATE_FLAG, crowded),
    FIELD(struct track_row, STATE_FLAG, congested_open),
    FIELD(struct track_row, STATE_FLAG, jam_open),
    FIELD(struct track_row, STATE_FLAG, deadlock_open),
    FIELD(struct track_row, STATE_PAST, crowded_since),
    FIELD(struct track_row, STATE_PAST, crowded_step),
    FIELD(struct track_row, STATE_PAST, congested_start),
    FIELD(struct track_row, STATE_PAST, jam_from),
    FIELD(struct track_row, STATE_PAST, jam_since),
    FIELD(struct track_row, STATE_PAST, jam_start),
    FIELD(struct track_row, STATE_PAST, deadlock_since),
    FIELD(struct track_row, STATE_PAST, deadlock_start)};

static uint32_t tracks(const struct world *world) { return world->track_count; }

static void get_track(const struct world *world, uint32_t index, struct state_cursor *cursor,
                      void *row) {
    (void)cursor;
    const struct track *track = &world->track[index];
    wide_count since = (wide_count)(state_passed(world) - track->cells_since);
    uint32_t most = track->held_cells > track->cells_most ? track->held_cells : track->cells_most;
    *(struct track_row *)row =
        (struct track_row){.cells_most = most,
                           .cell_ticks = track->cell_ticks + since * track->held_cells,
                           .last_move = track->last_move,
                           .last_move_step = track->last_move_step,
                           .placing_since = track->placing_since,
                           .placing_since_step = track->placing_since_step,
                           .crowded = track->crowded,
                           .congested_open = track->congested_open,
                           .jam_open = track->jam_open,
                           .deadlock_open = track->deadlock_open,
                           .crowded_since = track->crowded_since,
                           .crowded_step = track->crowded_step,
                           .congested_start = track->congested_start,
                           .jam_from = track->jam_from,
                           .jam_since = track->jam_since,
                           .jam_start = track->jam_start,
                           .deadlock_since = track->deadlock_since,
                           .deadlock_start = track->deadlock_start};
}

static bool put_track(struct state_filling *filling, uint32_t index, const void *from) {
    const struct track_row *row = from;
    struct track *track = &filling->world->track[index];
    int64_t step = filling->world->belt[track->belt].step;
    if (row->cells_most > track->cell_count || row->last_move_step > step ||
        row->placing_since_step > step || row->crowded_step > step)
        return false;
    track->cells_most = (uint32_t)row->cells_most;
    track->cell_ticks = row->cell_ticks;
    track->cells_since = state_passed(filling->world);
    track->last_move = row->last_move;
    track->last_move_step = row->last_move_step;
    track->placing_since = row->placing_since;
    track->placing_since_step = row->placing_since_step;
    track->crowded = row->crowded;
    track->congested_open = row->congested_open;
    track->jam_open = row->jam_open;
    track->deadlock_open = row->deadlock_open;
    track->crowded_since = row->crowded_since;
    track->crowded_step = row->crowded_step;
    track->congested_start = row->congested_start;
    track->jam_from = row->jam_from;
    track->jam_since = row->jam_since;
    track->jam_start = row->jam_start;
    track->deadlock_since = row->deadlock_since;
    track->deadlock_start = row->deadlock_start;
    return true;
}

/* ---- in this order ---- */

static const struct state_part part[] = {
    {"world", NULL, false, one, NULL, get_world, put_world, FIELDS(world_field)},
    {"item", NULL, false, items, NULL, get_item, put_item, FIELDS(item_field)},
    {"belt", NULL, false, belts, NULL, get_belt, put_belt, FIELDS(belt_field)},
    {"lane", "slot", false, lanes, lane_items, get_on_lane, put_on_lane, FIELDS(lying_field)},
    {"line", "cell", false, lines, line_items, get_on_line, put_on_line, FIELDS(lying_field)},
    {"line", NULL, false, lines, NULL, get_line, put_line, FIELDS(line_field)},
    {"track", NULL, false, tracks, NULL, get_track, put_track, FIELDS(track_field)},
};
const struct state_group state_belts = GROUP(part);
