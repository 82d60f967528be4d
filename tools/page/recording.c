/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/recording.c - after each tick compares the world with what the page knows, and writes
 * down the difference. Moves are heard, since they say which arm did what. */
#include "tools/page/recording.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/page/packed.h"

/* A piece ends when its changes are so many times its frame, and so many bytes. A short one is
 * quick to go through; a long one spares frames. */
enum { FRAMES_OF_CHANGES = 5, CHANGES_LEAST = 12000 };
/* And when it is so long, that lines need not be stepped for ever: in seconds. */
enum { PIECE_SECONDS = 600 };
enum { NEVER = -1 };

/* What an arm did in the tick at work. */
struct arm_deed {
    bool picked, placed, placed_first;
    uint32_t picked_item, placed_item;
    int64_t picked_count;
};

/* An arm that came back in a tick in which nothing was due. */
struct silent_return {
    int64_t tick;
    uint32_t arm;
};

struct recording_now {
    uint8_t *arm_state, *station_state;
    int64_t *returned_ticks;      /* of each arm that is returning: its total when it began to */
    struct silent_return *silent; /* [arms] */
    int64_t *arm_since, *station_since, *batch_since;
    struct arm_deed *deed;
    int64_t *count;                               /* numbered as recording.h says */
    uint32_t counts, *first_input, *first_output; /* of each station, in `count` */
    struct belt_clock *clock;
    uint32_t *gate, gates;
    uint8_t *gate_open;
    bool *track_changed; /* by a drop or clear in the tick at work */
    struct bytes frame, changes, tick_changes;
    uint32_t changes_of_tick;
    int64_t frame_tick, changed_tick;
};

/* ---- numbers of things ---- */

static uint32_t belts(const struct scenario *scenario) {
    return scenario->loop_count + scenario->line_count;
}

/* Numbers what chests and stations hold. */
static void number_counts(struct recording_now *now, const struct scenario *scenario) {
    now->first_input = require_memory(scenario->station_count, sizeof *now->first_input);
    now->first_output = require_memory(scenario->station_count, sizeof *now->first_output);
    now->counts = scenario->chest_count * scenario->item_count;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        now->first_input[i] = now->counts;
        now->counts += scenario->station[i].takes.count;
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        now->first_output[i] = now->counts;
        now->counts += scenario->station[i].makes_count;
    }
}

static bool clocks_agree(const struct belt_clock *a, const struct belt_clock *b) {
    return a->running == b->running && a->start_tick == b->start_tick &&
           a->start_step == b->start_step;
}

static void add_gate(uint32_t *gate, uint32_t *count, uint32_t index) {
    if (index != NO_INDEX)
        gate[(*count)++] = index;
}

uint32_t recording_gates(const struct scenario *scenario, uint32_t *gate) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        add_gate(gate, &count, scenario->arm[i].gate);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        add_gate(gate, &count, scenario->station[i].gate);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        add_gate(gate, &count, scenario->supply[i].gate);
    return count;
}

/* ---- what is heard ---- */

/* Adds to what the page takes a chest or stock to hold, as it does by itself. */
static void count_move(struct recording *recording, struct place place, uint32_t item,
                       int64_t difference) {
    const struct scenario *scenario = recording->scenario;
    int64_t *count = recording->now->count;
    if (place.kind == PLACE_CHEST)
        count[place.index * scenario->item_count + item] += difference;
    if (place.kind != PLACE_STATION)
        return;
    uint32_t input = recording->now->first_input[place.index];
    uint32_t output = recording->now->first_output[place.index];
    const struct scenario_station *station = &scenario->station[place.index];
    for (uint32_t i = 0; i < station->takes.count && difference > 0; i++)
        if (station->takes.entry[i].item == item)
            count[input + i] += difference;
    for (uint32_t i = 0; i < station->makes_count && difference < 0; i++)
        if (station->makes[i].item == item) {
            count[output + i] += difference;
            break;
        }
}

static void hear_move(void *self, const struct move *move) {
    struct recording *recording = self;
    struct arm_deed *deed = &recording->now->deed[move->arm];
    bool picks = move->act == MOVE_PICK;
    if (picks) {
        deed->picked = true;
        deed->placed_first = deed->placed;
        deed->picked_item = move->item;
        deed->picked_count = move->count;
    } else {
        deed->placed = true;
        deed->placed_item = move->item;
    }
    count_move(recording, move->place, move->item, picks ? -move->count : move->count);
}

static void hear_event(void *self, const struct event *event) {
    struct recording *recording = self;
    if (event->kind == EVENT_DROP || event->kind == EVENT_CLEAR)
        recording->now->track_changed[layout_track(recording->scenario, event->track)] = true;
}

/* ---- frames and changes ---- */

static void add_clock(struct bytes *bytes, const struct belt_clock *clock) {
    packed_add_signed(bytes, clock->start_tick);
    packed_add(bytes, (uint64_t)clock->start_step);
    packed_add(bytes, clock->running);
}

static void add_track(struct bytes *bytes, const struct recording *recording, uint32_t track) {
    const struct scenario *scenario = recording->scenario;
    struct place place = layout_track_as_place(scenario, track);
    uint32_t cells = layout_track_cells(scenario, track), before = 0;
    packed_add(bytes, (uint64_t)world_track_count(recording->world, place, NO_INDEX));
    for (uint32_t cell = 0; cell < cells; cell++) {
        uint32_t item = world_track_item(recording->world, place, cell);
        if (item == NO_INDEX)
            continue;
        packed_add(bytes, cell - before);
        packed_add(bytes, item);
        before = cell;
    }
}

static void add_hand(struct bytes *bytes, const struct recording *recording, uint32_t arm) {
    const struct scenario_arm *plan = &recording->scenario->arm[arm];
    uint32_t kinds = 0;
    for (uint32_t i = 0; i < plan->item_count; i++)
        kinds += world_hand_count(recording->world, arm, plan->item[i]) > 0;
    packed_add(bytes, kinds);
    for (uint32_t i = 0; i < plan->item_count && kinds > 0; i++) {
        int64_t count = world_hand_count(recording->world, arm, plan->item[i]);
        if (count == 0)
            continue;
        packed_add(bytes, plan->item[i]);
        packed_add(bytes, (uint64_t)count);
    }
}

static void add_counts(struct bytes *bytes, const struct recording_now *now) {
    uint64_t held = 0;
    uint32_t before = 0;
    for (uint32_t i = 0; i < now->counts; i++)
        held += now->count[i] != 0;
    packed_add(bytes, held);
    for (uint32_t i = 0; i < now->counts; i++) {
        if (now->count[i] == 0)
            continue;
        packed_add(bytes, i - before);
        packed_add(bytes, (uint64_t)now->count[i]);
        before = i;
    }
}

static void begin_piece(struct recording *recording, int64_t tick) {
    const struct scenario *scenario = recording->scenario;
    struct recording_now *now = recording->now;
    struct bytes *frame = &now->frame;
    frame->length = now->changes.length = 0;
    now->frame_tick = now->changed_tick = tick;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        packed_add(frame, now->arm_state[i]);
        packed_add(frame, (uint64_t)(tick - now->arm_since[i]));
        add_hand(frame, recording, i);
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        packed_add(frame, now->station_state[i]);
        packed_add(frame, (uint64_t)(tick - now->station_since[i]));
        packed_add(frame,
                   now->batch_since[i] == NEVER ? 0 : (uint64_t)(tick - now->batch_since[i] + 1));
    }
    for (uint32_t i = 0; i < belts(scenario); i++)
        add_clock(frame, &now->clock[i]);
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        add_track(frame, recording, i);
    for (uint32_t i = 0; i < now->gates; i++)
        packed_add(frame, now->gate_open[i]);
    add_counts(frame, now);
}

static void end_piece(struct recording *recording, int64_t last_tick) {
    struct recording_now *now = recording->now;
    recording->piece = array_with_room(recording->piece, recording->piece_count,
                                       &recording->piece_capacity, sizeof *recording->piece);
    recording->piece[recording->piece_count++] =
        (struct recording_piece){.first_tick = now->frame_tick,
                                 .last_tick = last_tick,
                                 .frame = packed_deflate(&now->frame),
                                 .changes = packed_deflate(&now->changes),
                                 .is_whole = true};
}

/* ---- what changed in a tick ---- */

static struct bytes *change(struct recording_now *now, uint64_t code) {
    now->changes_of_tick++;
    packed_add(&now->tick_changes, code);
    return &now->tick_changes;
}

static void look_at_arm(struct recording *recording, uint32_t arm, int64_t tick) {
    struct recording_now *now = recording->now;
    struct arm_deed *deed = &now->deed[arm];
    const struct scenario_arm *plan = &recording->scenario->arm[arm];
    uint8_t state = (uint8_t)world_arm_state(recording->world, arm);
    if (state == now->arm_state[arm] && !deed->picked && !deed->placed)
        return;
    struct bytes *bytes = change(now, arm);
    packed_add(bytes, (uint64_t)state + (deed->picked ? RECORDING_PICKED : 0) +
                          (deed->placed ? RECORDING_PLACED : 0) +
                          (deed->placed_first ? RECORDING_PLACED_FIRST : 0));
    if (deed->picked)
        packed_add(bytes, deed->picked_item);
    if (deed->picked && !layout_is_track(plan->from))
        packed_add(bytes, (uint64_t)deed->picked_count);
    if (deed->placed && layout_is_track(plan->to))
        packed_add(bytes, deed->placed_item);
    if (state != now->arm_state[arm])
        now->arm_since[arm] = tick;
    if (state != now->arm_state[arm] && state == ARM_RETURNING)
        now->returned_ticks[arm] = world_arm_totals(recording->world, arm).ticks[ARM_RETURNING];
    now->arm_state[arm] = state;
    *deed = (struct arm_deed){0};
}

static void look_at_stations(struct recording *recording, int64_t tick) {
    struct recording_now *now = recording->now;
    const struct scenario *scenario = recording->scenario;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        uint8_t state = (uint8_t)world_station_state(recording->world, i);
        if (state == now->station_state[i])
            continue;
        packed_add(change(now, (uint64_t)scenario->arm_count + i), state);
        now->station_state[i] = state;
        now->station_since[i] = tick;
    }
}

static void look_at_belts_and_gates(struct recording *recording) {
    struct recording_now *now = recording->now;
    const struct scenario *scenario = recording->scenario;
    uint64_t code = (uint64_t)scenario->arm_count + scenario->station_count;
    for (uint32_t i = 0; i < belts(scenario); i++) {
        struct belt_clock clock = world_belt_clock(recording->world, i);
        if (!clocks_agree(&clock, &now->clock[i]))
            add_clock(change(now, code + i), &clock);
        now->clock[i] = clock;
    }
    code += belts(scenario);
    for (uint32_t i = 0; i < layout_track_count(scenario); i++) {
        if (now->track_changed[i])
            add_track(change(now, code + i), recording, i);
        now->track_changed[i] = false;
    }
    code += layout_track_count(scenario);
    for (uint32_t i = 0; i < now->gates; i++) {
        uint8_t open = world_gate_open(recording->world, now->gate[i]);
        if (open != now->gate_open[i])
            packed_add(change(now, code + i), open);
        now->gate_open[i] = open;
    }
}

static void look_at_count(struct recording *recording, uint32_t index, int64_t count) {
    struct recording_now *now = recording->now;
    const struct scenario *scenario = recording->scenario;
    if (now->count[index] == count)
        return;
    uint64_t code = (uint64_t)scenario->arm_count + scenario->station_count + belts(scenario) +
                    layout_track_count(scenario) + now->gates + index;
    packed_add_signed(change(now, code), count - now->count[index]);
    now->count[index] = count;
}

/* Only supplies and demands, besides arms, change what is in a chest. */
static void look_at_streams(struct recording *recording, const struct scenario_stream *stream,
                            uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        look_at_count(recording, stream[i].chest * recording->scenario->item_count + stream[i].item,
                      world_chest_count(recording->world, stream[i].chest, stream[i].item));
}

/* A batch has begun where inputs have gone. */
static void look_at_stocks(struct recording *recording, int64_t tick) {
    const struct scenario *scenario = recording->scenario;
    uint32_t index = scenario->chest_count * scenario->item_count;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].takes.count; j++, index++) {
            int64_t count = world_input_count(recording->world, i, j);
            if (count < recording->now->count[index])
                recording->now->batch_since[i] = tick;
            look_at_count(recording, index, count);
        }
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t j = 0; j < scenario->station[i].makes_count; j++, index++)
            look_at_count(recording, index, world_output_count(recording->world, i, j));
}

static void add_tick(struct recording_now *now, int64_t tick) {
    packed_add(&now->changes, (uint64_t)(tick - now->changed_tick));
    packed_add(&now->changes, now->changes_of_tick);
    for (size_t i = 0; i < now->tick_changes.length; i++)
        bytes_add(&now->changes, now->tick_changes.data[i], 1);
    now->changed_tick = tick;
}

/* An arm that comes back and finds nothing to do wakes nobody, so that its world may skip that
 * tick. Its totals tell how long it was on its way. */
static uint32_t find_silent(struct recording *recording, int64_t tick) {
    struct recording_now *now = recording->now;
    uint32_t count = 0;
    for (uint32_t arm = 0; arm < recording->scenario->arm_count; arm++) {
        if (now->arm_state[arm] != ARM_RETURNING ||
            (world_arm_state(recording->world, arm) == ARM_RETURNING && !now->deed[arm].picked))
            continue;
        struct arm_totals totals = world_arm_totals(recording->world, arm);
        int64_t back = now->arm_since[arm] + totals.ticks[ARM_RETURNING] - now->returned_ticks[arm];
        if (back < tick)
            now->silent[count++] = (struct silent_return){.tick = back, .arm = arm};
    }
    return count;
}

static int by_tick(const void *a, const void *b) {
    const struct silent_return *one = a, *other = b;
    if (one->tick != other->tick)
        return one->tick < other->tick ? -1 : 1;
    return one->arm < other->arm ? -1 : 1;
}

static void add_silent(struct recording *recording, int64_t tick) {
    struct recording_now *now = recording->now;
    uint32_t count = find_silent(recording, tick);
    qsort(now->silent, count, sizeof *now->silent, by_tick);
    for (uint32_t i = 0; i < count;) {
        int64_t back = now->silent[i].tick;
        now->tick_changes.length = now->changes_of_tick = 0;
        for (; i < count && now->silent[i].tick == back; i++) {
            packed_add(change(now, now->silent[i].arm), ARM_REACHING);
            now->arm_state[now->silent[i].arm] = ARM_REACHING;
            now->arm_since[now->silent[i].arm] = back;
        }
        add_tick(now, back);
    }
}

static bool is_long(const struct recording *recording, int64_t tick) {
    const struct recording_now *now = recording->now;
    return (now->changes.length > CHANGES_LEAST &&
            now->changes.length > FRAMES_OF_CHANGES * now->frame.length) ||
           tick - now->frame_tick >= PIECE_SECONDS * recording->scenario->ticks_per_second;
}

void recording_look(struct recording *recording) {
    const struct scenario *scenario = recording->scenario;
    struct recording_now *now = recording->now;
    int64_t tick = world_tick(recording->world);
    add_silent(recording, tick);
    now->tick_changes.length = now->changes_of_tick = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        look_at_arm(recording, i, tick);
    look_at_stations(recording, tick);
    look_at_belts_and_gates(recording);
    look_at_streams(recording, scenario->supply, scenario->supply_count);
    look_at_streams(recording, scenario->demand, scenario->demand_count);
    look_at_stocks(recording, tick);
    if (is_long(recording, tick)) {
        end_piece(recording, tick - 1);
        begin_piece(recording, tick);
    } else if (now->changes_of_tick > 0) {
        add_tick(now, tick);
    }
}

/* ---- begin and end ---- */

static void take_all(struct recording *recording, int64_t tick) {
    const struct scenario *scenario = recording->scenario;
    struct recording_now *now = recording->now;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        now->arm_state[i] = (uint8_t)world_arm_state(recording->world, i);
        now->arm_since[i] = tick;
        now->returned_ticks[i] = world_arm_totals(recording->world, i).ticks[ARM_RETURNING];
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        now->station_since[i] = tick;
        now->batch_since[i] = NEVER;
    }
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t j = 0; j < scenario->item_count; j++)
            now->count[i * scenario->item_count + j] = world_chest_count(recording->world, i, j);
    look_at_stations(recording, tick);
    look_at_belts_and_gates(recording);
    look_at_stocks(recording, tick);
    now->tick_changes.length = now->changes_of_tick = 0;
}

void recording_begin(struct recording *recording, const struct scenario *scenario,
                     struct world *world) {
    struct recording_now *now = require_memory(1, sizeof *now);
    *recording = (struct recording){.scenario = scenario, .world = world, .now = now};
    number_counts(now, scenario);
    now->arm_state = require_memory(scenario->arm_count, 1);
    now->arm_since = require_memory(scenario->arm_count, sizeof *now->arm_since);
    now->deed = require_memory(scenario->arm_count, sizeof *now->deed);
    now->returned_ticks = require_memory(scenario->arm_count, sizeof *now->returned_ticks);
    now->silent = require_memory(scenario->arm_count, sizeof *now->silent);
    now->station_state = require_memory(scenario->station_count, 1);
    now->station_since = require_memory(scenario->station_count, sizeof *now->station_since);
    now->batch_since = require_memory(scenario->station_count, sizeof *now->batch_since);
    now->count = require_memory(now->counts, sizeof *now->count);
    now->clock = require_memory(belts(scenario), sizeof *now->clock);
    now->track_changed = require_memory(layout_track_count(scenario), sizeof *now->track_changed);
    now->gate = require_memory(scenario->gate_count, sizeof *now->gate);
    now->gates = recording_gates(scenario, now->gate);
    now->gate_open = require_memory(now->gates, 1);
    recording->first_tick = world_tick(world);
    take_all(recording, recording->first_tick);
    begin_piece(recording, recording->first_tick);
    world_listen(world,
                 &(struct listener){.self = recording, .moved = hear_move, .happened = hear_event});
}

void recording_end(struct recording *recording) {
    recording->last_tick = world_tick(recording->world);
    recording_look(recording);
    end_piece(recording, recording->last_tick);
    world_listen(recording->world, &(struct listener){0});
}

void recording_free(struct recording *recording) {
    struct recording_now *now = recording->now;
    for (uint32_t i = 0; i < recording->piece_count; i++)
        recording_thin(&recording->piece[i], true);
    free(recording->piece);
    if (now != NULL) {
        free(now->arm_state);
        free(now->arm_since);
        free(now->deed);
        free(now->returned_ticks);
        free(now->silent);
        free(now->station_state);
        free(now->station_since);
        free(now->batch_since);
        free(now->count);
        free(now->first_input);
        free(now->first_output);
        free(now->clock);
        free(now->track_changed);
        free(now->gate);
        free(now->gate_open);
        bytes_free(&now->frame);
        bytes_free(&now->changes);
        bytes_free(&now->tick_changes);
        free(now);
    }
    *recording = (struct recording){0};
}

void recording_thin(struct recording_piece *piece, bool wholly) {
    piece->is_whole = false;
    bytes_free(&piece->changes);
    piece->changes = (struct bytes){0};
    if (wholly) {
        bytes_free(&piece->frame);
        piece->frame = (struct bytes){0};
    }
}
