/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state_belts.c - the world as a whole, items, loops, lanes and lines as rows of a
 * state. */
#include "model/engine/belt.h"
#include "model/engine/item_books.h"
#include "model/engine/lane.h"
#include "model/engine/line.h"
#include "model/engine/track.h"
#include "model/state/state_table.h"

static uint32_t one(const struct world *world) {
    (void)world;
    return 1;
}

/* ---- the world ---- */

_Static_assert(sizeof(struct progress) == 64, "struct progress is in world_field");

static const struct state_field world_field[] = {
    FIELD(struct progress, STATE_PAST, tick), FIELD(struct progress, STATE_PAST, last_move),
    FIELD(struct progress, STATE_AMOUNT, moves), FIELD(struct progress, STATE_WIDE, made_ticks),
    FIELD(struct progress, STATE_WIDE, used_ticks)};

static void get_world(const struct world *world, uint32_t owner, struct state_cursor *cursor,
                      void *row) {
    (void)owner, (void)cursor;
    *(struct progress *)row = world->progress;
}

static bool put_world(struct state_filling *filling, uint32_t owner, const void *row) {
    (void)owner;
    filling->world->progress = *(const struct progress *)row;
    return filling->world->progress.tick == filling->tick;
}

/* ---- totals of each item ---- */

_Static_assert(sizeof(struct item_totals) == 72, "struct item_totals is in item_field");
/* But `owed`, which follows from the demands. */

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
    *(struct item_totals *)row = item_books_totals(world, item);
}

static bool put_item(struct state_filling *filling, uint32_t item, const void *row) {
    return item_books_set(filling->world, item, row);
}

/* ---- loops and lines ----
 * The rate of the clock is fixed, but a what-if may change it; then the steps made go on from the
 * number saved here, which otherwise follows from the clock. */

_Static_assert(sizeof(struct belt_clock) == 40, "struct belt_clock is in belt_field");
_Static_assert(sizeof(struct belt) == 88, "struct belt is in belt_field");

struct belt_row {
    struct belt belt;
    int64_t step;
};

#define BELT_FIELD(kind, member) FIELD_OF(struct belt_row, belt, kind, member)
static const struct state_field belt_field[] = {
    BELT_FIELD(STATE_KEY, clock.ticks),
    BELT_FIELD(STATE_KEY, clock.steps),
    BELT_FIELD(STATE_PAST, clock.start_tick),
    BELT_FIELD(STATE_PAST, clock.start_step),
    FIELD(struct belt_row, STATE_PAST, step),
    BELT_FIELD(STATE_BYTE, stops),
    BELT_FIELD(STATE_FLAG, held_something),
    BELT_FIELD(STATE_FLAG, emptied_open),
    BELT_FIELD(STATE_PAST, empty_tick),
    BELT_FIELD(STATE_PAST, empty_step),
    BELT_FIELD(STATE_PAST, emptied_start),
    BELT_FIELD(STATE_PAST, still_step[STANDSTILL_REST]),
    BELT_FIELD(STATE_PAST, still_step[STANDSTILL_DEADLOCK])};

static uint32_t belts(const struct world *world) { return world->belt_count; }

static void get_belt(const struct world *world, uint32_t index, struct state_cursor *cursor,
                     void *to) {
    (void)cursor;
    struct belt_row *row = to;
    row->belt = world->belt[index].state;
    row->step = belt_clock_step_at(&row->belt.clock, state_passed(world));
}

/* Goes on with its grid of steps, or with a new one where its rate is another. */
static struct belt_clock clock_of(const struct belt_clock *made, const struct belt_row *row,
                                  int64_t now) {
    const struct belt_clock *saved = &row->belt.clock;
    bool same = made->ticks == saved->ticks && made->steps == saved->steps;
    return (struct belt_clock){.ticks = made->ticks,
                               .steps = made->steps,
                               .start_tick = same ? saved->start_tick : now,
                               .start_step = same ? saved->start_step : row->step,
                               .running = row->belt.stops == 0};
}

static bool is_made(const struct belt_row *row, int64_t step) {
    return step >= 0 && step <= row->step;
}

/* What has happened on a belt happened at steps that it has made. */
static bool steps_are_made(const struct belt_row *row) {
    const struct belt *belt = &row->belt;
    return belt->clock.start_tick >= 0 && is_made(row, belt->clock.start_step) &&
           is_made(row, belt->empty_step) && is_made(row, belt->still_step[STANDSTILL_REST]) &&
           is_made(row, belt->still_step[STANDSTILL_DEADLOCK]);
}

static bool put_belt(struct state_filling *filling, uint32_t index, const void *from) {
    const struct belt_row *row = from;
    struct belt *belt = &filling->world->belt[index].state;
    int64_t now = state_passed(filling->world);
    if (!state_stops_fit(row->belt.stops) || !steps_are_made(row))
        return false;
    struct belt_clock clock = clock_of(&belt->clock, row, now);
    *belt = row->belt;
    belt->clock = clock;
    int64_t step = belt_clock_step_at(&clock, now);
    belt_set_step(filling->world, index, step);
    return step == row->step;
}

/* ---- what lies on lanes and lines: the kind of each track is saved as its item ---- */

struct lying_row {
    uint32_t where; /* the slot of a lane, the cell of a line */
    uint32_t item;
};

static const struct state_field lying_field[] = {FIELD(struct lying_row, STATE_WORD, where),
                                                 FIELD(struct lying_row, STATE_WORD, item)};

static uint32_t item_of_kind(const struct world *world, uint32_t track, uint32_t kind) {
    return world->kind[world->track[track].plan.first_kind + kind].item;
}

/* The kind of an item on a track; NO_INDEX: it never comes there. */
static uint32_t kind_of_item(const struct world *world, uint32_t track, uint32_t item) {
    return item < world->scenario->item_count ? track_kind_of(world, track, item) : NO_INDEX;
}

static void count_lying(struct world *world, uint32_t index, uint32_t kind) {
    const struct track_plan *plan = &world->track[index].plan;
    struct track_kind *self = &world->kind[plan->first_kind + kind];
    self->count++;
    world->track[index].load.item_count++;
    world->track[index].load.held_cells += self->length;
}

/* derived: bits; fixed: slot_count, word_count */
_Static_assert(sizeof(struct lane) == 24, "struct lane is in lying_field");

static uint32_t lanes(const struct world *world) { return world->scenario->lane_count; }

static uint32_t lane_items(const struct world *world, uint32_t lane) {
    return world->track[lane].load.item_count;
}

static void get_on_lane(const struct world *world, uint32_t lane, struct state_cursor *cursor,
                        void *row) {
    while (world->track[lane].lane.kind[cursor->index] == LANE_EMPTY)
        cursor->index++;
    uint32_t slot = cursor->index++;
    *(struct lying_row *)row = (struct lying_row){
        .where = slot, .item = item_of_kind(world, lane, world->track[lane].lane.kind[slot])};
}

static bool put_on_lane(struct state_filling *filling, uint32_t index, const void *from) {
    const struct lying_row *row = from;
    struct world *world = filling->world;
    struct lane *lane = &world->track[index].lane;
    uint32_t kind = kind_of_item(world, index, row->item);
    if (kind == NO_INDEX || row->where >= lane->slot_count)
        return false;
    uint32_t length = world->kind[world->track[index].plan.first_kind + kind].length;
    if (length > lane->slot_count || !lane_is_free(lane, row->where, length))
        return false;
    lane_put(lane, row->where, length, kind);
    count_lying(world, index, kind);
    return true;
}

/* Items are saved with the cells where they are now. */
_Static_assert(sizeof(struct line_item) == 8, "struct line_item is in struct lying_row");
_Static_assert(sizeof(struct line) == 32, "struct line is in line_field and lying_field");

static uint32_t lines(const struct world *world) { return world->scenario->line_count; }

static uint32_t line_items(const struct world *world, uint32_t line) {
    return world->line[line].item_count;
}

static int64_t line_step(const struct world *world, uint32_t line) {
    return belt_clock_step_at(&world->belt[belt_of_line(world, line)].state.clock,
                              state_passed(world));
}

static uint32_t track_of_line(const struct world *world, uint32_t line) {
    return world->scenario->lane_count + line;
}

static void get_on_line(const struct world *world, uint32_t line, struct state_cursor *cursor,
                        void *row) {
    if (cursor->index == 0)
        cursor->cell = (int64_t)world->track[track_of_line(world, line)].plan.cell_count - 1;
    uint32_t item = cursor->index++;
    uint32_t kind = world->line_item[world->line_plan[line].first_item + item].kind;
    *(struct lying_row *)row = (struct lying_row){
        .where = line_item_cell(world, line, item, line_step(world, line), &cursor->cell),
        .item = item_of_kind(world, track_of_line(world, line), kind)};
}

/* The first free cell upstream of what was put last. */
static int64_t room_behind(const struct world *world, uint32_t index) {
    const struct line *line = &world->line[index];
    const struct track_plan *track = &world->track[track_of_line(world, index)].plan;
    if (line->item_count == 0)
        return (int64_t)track->cell_count - 1;
    const struct line_item *last =
        &world->line_item[world->line_plan[index].first_item + line->item_count - 1];
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
    const struct track_plan *track = &world->track[track_of_line(world, index)].plan;
    uint32_t length = world->kind[track->first_kind + kind].length;
    if (row->where > room_behind(world, index) || row->where + 1 < length)
        return false;
    int64_t stop =
        (int64_t)track->cell_count - 1 - world->track[track_of_line(world, index)].load.held_cells;
    line->step = line_step(world, index);
    if (line->step + stop - row->where > line->roll_until)
        line->roll_until = line->step + stop - row->where;
    world->line_item[world->line_plan[index].first_item + line->item_count++] =
        (struct line_item){.cell = row->where, .kind = kind};
    count_lying(world, track_of_line(world, index), kind);
    return true;
}

static const struct state_field line_field[] = {FIELD(struct line, STATE_PAST, rolled_tick)};

static void get_line(const struct world *world, uint32_t line, struct state_cursor *cursor,
                     void *row) {
    (void)cursor;
    ((struct line *)row)->rolled_tick = line_rolled_by_step(world, line, line_step(world, line));
}

static bool put_line(struct state_filling *filling, uint32_t line, const void *row) {
    filling->world->line[line].rolled_tick = ((const struct line *)row)->rolled_tick;
    filling->world->line[line].step = line_step(filling->world, line);
    return true;
}

/* ---- tracks ----
 * Totals are saved up to now. */

_Static_assert(sizeof(struct track) == 128, "struct track is in track_field");

static const struct state_field track_field[] = {
    FIELD(struct track, STATE_AMOUNT, cells_most),
    FIELD(struct track, STATE_WIDE, cell_ticks),
    FIELD(struct track, STATE_PAST, last_move),
    FIELD(struct track, STATE_PAST, last_move_step),
    FIELD(struct track, STATE_PAST, placing_since),
    FIELD(struct track, STATE_PAST, placing_since_step),
    FIELD(struct track, STATE_FLAG, crowded),
    FIELD(struct track, STATE_FLAG, congested_open),
    FIELD(struct track, STATE_FLAG, jam_open),
    FIELD(struct track, STATE_FLAG, deadlock_open),
    FIELD(struct track, STATE_PAST, crowded_since),
    FIELD(struct track, STATE_PAST, crowded_step),
    FIELD(struct track, STATE_PAST, congested_start),
    FIELD(struct track, STATE_PAST, jam_from),
    FIELD(struct track, STATE_PAST, jam_since),
    FIELD(struct track, STATE_PAST, jam_start),
    FIELD(struct track, STATE_PAST, deadlock_since),
    FIELD(struct track, STATE_PAST, deadlock_start)};

static uint32_t tracks(const struct world *world) { return world->track_count; }

static void get_track(const struct world *world, uint32_t index, struct state_cursor *cursor,
                      void *row) {
    (void)cursor;
    struct track *track = row;
    const struct track_load *load = &world->track[index].load;
    *track = world->track[index].state;
    track->cell_ticks += (wide_count)state_passed(world) * load->held_cells;
    if (load->held_cells > track->cells_most)
        track->cells_most = load->held_cells;
}

static bool put_track(struct state_filling *filling, uint32_t index, const void *from) {
    const struct track *row = from;
    const struct track_plan *plan = &filling->world->track[index].plan;
    int64_t step = filling->world->belt[plan->belt].position.step;
    if (row->cells_most > plan->cell_count || row->last_move_step > step ||
        row->placing_since_step > step || row->crowded_step > step)
        return false;
    struct track *track = &filling->world->track[index].state;
    *track = *row;
    track->cell_ticks -=
        (wide_count)state_passed(filling->world) * filling->world->track[index].load.held_cells;
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
