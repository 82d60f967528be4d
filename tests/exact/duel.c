/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/duel.c - runs both engines from checkpoint to checkpoint, records what they
 * report, and compares the records and everything else that can be asked of them. */
#include "tests/exact/duel.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/parts.h"
#include "model/engine/world.h"
#include "model/state/state.h"
#include "sim/require.h"
#include "tests/exact/literal.h"
#include "tools/record/event_kinds.h"
#include "tools/record/state_names.h"

/* ---- one face for both engines ---- */

struct engine {
    const char *name;
    void *(*make)(const struct scenario *scenario);
    void (*unmake)(void *self);
    void (*listen)(void *self, const struct listener *listener);
    void (*advance)(void *self, int64_t tick);
    void (*report_open)(void *self);
    void (*forget_most)(void *self);
    int64_t (*tick)(const void *self);
    uint64_t (*moves)(const void *self);
    int64_t (*chest_count)(const void *self, uint32_t chest, uint32_t item);
    int64_t (*input_count)(const void *self, uint32_t station, uint32_t input);
    int64_t (*output_count)(const void *self, uint32_t station, uint32_t output);
    int64_t (*hand_count)(const void *self, uint32_t arm, uint32_t item);
    int64_t (*track_count)(const void *self, struct place track, uint32_t item);
    int64_t (*track_cells)(const void *self, struct place track);
    uint32_t (*track_item)(const void *self, struct place track, uint32_t cell);
    enum arm_state (*arm_state)(const void *self, uint32_t arm);
    enum station_state (*station_state)(const void *self, uint32_t station);
    bool (*gate_open)(const void *self, uint32_t gate);
    struct arm_totals (*arm_totals)(const void *self, uint32_t arm);
    struct station_totals (*station_totals)(const void *self, uint32_t station);
    struct item_totals (*item_totals)(const void *self, uint32_t item);
    struct track_totals (*track_totals)(const void *self, struct place track);
    int64_t (*supply_held)(const void *self, uint32_t supply);
    int64_t (*demand_owed)(const void *self, uint32_t demand);
};

#define VERB(E, VERB)                                                                              \
    static void E##_do_##VERB(void *self) { E##_##VERB(self); }
#define ASK(E, TYPE, NOUN)                                                                         \
    static TYPE E##_ask_##NOUN(const void *self) { return E##_##NOUN(self); }
#define ASK_ONE(E, TYPE, NOUN, A)                                                                  \
    static TYPE E##_ask_##NOUN(const void *self, A a) { return E##_##NOUN(self, a); }
#define ASK_TWO(E, TYPE, NOUN, A, B)                                                               \
    static TYPE E##_ask_##NOUN(const void *self, A a, B b) { return E##_##NOUN(self, a, b); }

#define ENGINE(E)                                                                                  \
    static void *E##_do_make(const struct scenario *scenario) { return E##_new(scenario); }        \
    VERB(E, free)                                                                                  \
    VERB(E, report_open)                                                                           \
    VERB(E, forget_most)                                                                           \
    static void E##_do_advance(void *self, int64_t tick) { E##_advance(self, tick); }              \
    static void E##_do_listen(void *self, const struct listener *listener) {                       \
        E##_listen(self, listener);                                                                \
    }                                                                                              \
    ASK(E, int64_t, tick)                                                                          \
    ASK(E, uint64_t, moves)                                                                        \
    ASK_TWO(E, int64_t, chest_count, uint32_t, uint32_t)                                           \
    ASK_TWO(E, int64_t, input_count, uint32_t, uint32_t)                                           \
    ASK_TWO(E, int64_t, output_count, uint32_t, uint32_t)                                          \
    ASK_TWO(E, int64_t, hand_count, uint32_t, uint32_t)                                            \
    ASK_TWO(E, int64_t, track_count, struct place, uint32_t)                                       \
    ASK_ONE(E, int64_t, track_cells, struct place)                                                 \
    ASK_TWO(E, uint32_t, track_item, struct place, uint32_t)                                       \
    ASK_ONE(E, enum arm_state, arm_state, uint32_t)                                                \
    ASK_ONE(E, enum station_state, station_state, uint32_t)                                        \
    ASK_ONE(E, bool, gate_open, uint32_t)                                                          \
    ASK_ONE(E, struct arm_totals, arm_totals, uint32_t)                                            \
    ASK_ONE(E, struct station_totals, station_totals, uint32_t)                                    \
    ASK_ONE(E, struct item_totals, item_totals, uint32_t)                                          \
    ASK_ONE(E, struct track_totals, track_totals, struct place)                                    \
    ASK_ONE(E, int64_t, supply_held, uint32_t)                                                     \
    ASK_ONE(E, int64_t, demand_owed, uint32_t)                                                     \
    static const struct engine E##_engine = {#E,                                                   \
                                             E##_do_make,                                          \
                                             E##_do_free,                                          \
                                             E##_do_listen,                                        \
                                             E##_do_advance,                                       \
                                             E##_do_report_open,                                   \
                                             E##_do_forget_most,                                   \
                                             E##_ask_tick,                                         \
                                             E##_ask_moves,                                        \
                                             E##_ask_chest_count,                                  \
                                             E##_ask_input_count,                                  \
                                             E##_ask_output_count,                                 \
                                             E##_ask_hand_count,                                   \
                                             E##_ask_track_count,                                  \
                                             E##_ask_track_cells,                                  \
                                             E##_ask_track_item,                                   \
                                             E##_ask_arm_state,                                    \
                                             E##_ask_station_state,                                \
                                             E##_ask_gate_open,                                    \
                                             E##_ask_arm_totals,                                   \
                                             E##_ask_station_totals,                               \
                                             E##_ask_item_totals,                                  \
                                             E##_ask_track_totals,                                 \
                                             E##_ask_supply_held,                                  \
                                             E##_ask_demand_owed};

ENGINE(world)
ENGINE(literal)

/* ---- what an engine reports ---- */

enum told { HAPPENED, BEGAN, ENDED };
static const char *const told_name[] = {"happened", "began", "ended"};

struct told_event {
    enum told told;
    size_t number; /* in the record, as it was reported */
    struct event event;
    uint32_t *item; /* a copy of event.item */
};

struct record {
    struct move *move;
    size_t moves, moves_room;
    struct told_event *event;
    size_t events, events_room;
};

struct side {
    const struct engine *engine;
    void *self;
    struct record record;
};

struct duel {
    const struct scenario *scenario;
    FILE *report;
    struct side side[2];
    size_t moves_agreed, events_agreed;
};

static void note_moved(void *self, const struct move *move) {
    struct record *record = self;
    if (record->moves == record->moves_room) {
        record->moves_room = 2 * record->moves_room + 64;
        record->move = require_more_memory(record->move, record->moves_room, sizeof *record->move);
    }
    record->move[record->moves++] = *move;
}

static void note_event(struct record *record, enum told told, const struct event *event) {
    if (record->events == record->events_room) {
        record->events_room = 2 * record->events_room + 64;
        record->event =
            require_more_memory(record->event, record->events_room, sizeof *record->event);
    }
    uint32_t *item = require_memory(event->item_count, sizeof *item);
    if (event->item_count > 0)
        memcpy(item, event->item, event->item_count * sizeof *item);
    record->event[record->events] = (struct told_event){told, record->events, *event, item};
    record->event[record->events++].event.item = item;
}

static void note_happened(void *self, const struct event *event) {
    note_event(self, HAPPENED, event);
}

static void note_began(void *self, const struct event *event) { note_event(self, BEGAN, event); }

static void note_ended(void *self, const struct event *event) { note_event(self, ENDED, event); }

static struct side new_side(const struct engine *engine, const struct scenario *scenario) {
    return (struct side){.engine = engine, .self = engine->make(scenario)};
}

static void start_listening(struct side *side) {
    struct listener listener = {&side->record, note_moved, note_happened,
                                note_began,    note_ended, NULL};
    side->engine->listen(side->self, &listener);
}

static void free_side(struct side *side) {
    side->engine->unmake(side->self);
    for (size_t i = 0; i < side->record.events; i++)
        free(side->record.event[i].item);
    free(side->record.event);
    free(side->record.move);
}

/* ---- moves ---- */

static void print_place(FILE *out, const struct scenario *scenario, struct place place) {
    switch (place.kind) {
    case PLACE_CHEST: fputs(scenario->chest[place.index].name, out); break;
    case PLACE_STATION: fputs(scenario->station[place.index].name, out); break;
    case PLACE_LANE:
        fprintf(out, "%s@%" PRIu32, scenario->lane[place.index].full_name, place.cell);
        break;
    case PLACE_LINE:
        fprintf(out, "%s@%" PRIu32, scenario->line[place.index].name, place.cell);
        break;
    }
}

static bool same_place(struct place a, struct place b) {
    return a.kind == b.kind && a.index == b.index && a.cell == b.cell;
}

static bool same_move(const struct move *a, const struct move *b) {
    return a->tick == b->tick && a->arm == b->arm && a->act == b->act && a->item == b->item &&
           a->count == b->count && same_place(a->place, b->place);
}

static void print_move(const struct duel *duel, const struct move *move) {
    const struct scenario *scenario = duel->scenario;
    fprintf(duel->report, "tick %" PRId64 "  %s %s %" PRId64 " %s  ", move->tick,
            scenario->arm[move->arm].name, move->act == MOVE_PICK ? "picks" : "places", move->count,
            scenario->item[move->item].name);
    print_place(duel->report, scenario, move->place);
    fputc('\n', duel->report);
}

/* The moves of one side from ten before `index` to it. */
static void print_moves(const struct duel *duel, const struct side *side, size_t index) {
    const struct record *record = &side->record;
    fprintf(duel->report, "%s:\n", side->engine->name);
    for (size_t i = index > 10 ? index - 10 : 0; i < record->moves && i <= index; i++) {
        fputs(i == index ? "  > " : "    ", duel->report);
        print_move(duel, &record->move[i]);
    }
    if (index >= record->moves)
        fputs("  > no further move\n", duel->report);
}

static bool moves_agree(struct duel *duel) {
    const struct record *a = &duel->side[0].record, *b = &duel->side[1].record;
    while (duel->moves_agreed < a->moves && duel->moves_agreed < b->moves &&
           same_move(&a->move[duel->moves_agreed], &b->move[duel->moves_agreed]))
        duel->moves_agreed++;
    if (duel->moves_agreed == a->moves && duel->moves_agreed == b->moves)
        return true;
    fprintf(duel->report, "move %zu differs\n", duel->moves_agreed);
    print_moves(duel, &duel->side[0], duel->moves_agreed);
    print_moves(duel, &duel->side[1], duel->moves_agreed);
    return false;
}

/* ---- events ---- */

static int order(int64_t a, int64_t b) { return (a > b) - (a < b); }

/* When it was reported. */
static int64_t told_tick(const struct told_event *told) {
    return told->told == ENDED ? told->event.end_tick : told->event.start_tick;
}

/* What an event is about, as one number after the other; unused ones are 0. */
static void subject_key(const struct event *event, int64_t key[4]) {
    memset(key, 0, 4 * sizeof *key);
    key[0] = event->subject;
    if (event->subject == SUBJECT_ACTOR || event->subject == SUBJECT_GATE) {
        key[1] = event->actor.kind;
        key[2] = event->actor.index;
    } else if (event->subject == SUBJECT_TRACK) {
        key[1] = event->track.kind;
        key[2] = event->track.index;
    } else if (event->subject == SUBJECT_CHEST) {
        key[3] = event->chest;
    }
}

/* Incidents and breakdowns keep their order in a tick; of watchers any order within it will do. */
static int by_tick_and_kind(const void *left, const void *right) {
    const struct told_event *a = left, *b = right;
    int64_t key_a[4], key_b[4];
    subject_key(&a->event, key_a);
    subject_key(&b->event, key_b);
    int result = order(told_tick(a), told_tick(b));
    if (result == 0)
        result = order(a->told != HAPPENED, b->told != HAPPENED);
    if (result == 0 && a->told == HAPPENED)
        return order((int64_t)a->number, (int64_t)b->number);
    if (result == 0)
        result = order(a->told, b->told);
    if (result == 0)
        result = order(a->event.kind, b->event.kind);
    for (int k = 0; k < 4 && result == 0; k++)
        result = order(key_a[k], key_b[k]);
    return result;
}

static void sort_events(struct record *record, size_t first) {
    if (record->events > first)
        qsort(record->event + first, record->events - first, sizeof *record->event,
              by_tick_and_kind);
}

/* Of an arm that is blocked: where it would place (events name no cell). */
static bool same_target(const struct event *a, const struct event *b) {
    return a->kind != EVENT_BLOCKED || a->actor.kind != PART_ARM ||
           (a->track.kind == b->track.kind && a->track.index == b->track.index);
}

static bool same_event(const struct told_event *left, const struct told_event *right) {
    const struct event *a = &left->event, *b = &right->event;
    int64_t key_a[4], key_b[4];
    subject_key(a, key_a);
    subject_key(b, key_b);
    return left->told == right->told && a->kind == b->kind && a->start_tick == b->start_tick &&
           (left->told == BEGAN || a->end_tick == b->end_tick) && a->since_tick == b->since_tick &&
           memcmp(key_a, key_b, sizeof key_a) == 0 && same_target(a, b) &&
           a->incident == b->incident && a->item_count == b->item_count && a->count == b->count &&
           a->short_count == b->short_count && (a->kind != EVENT_SET || a->value == b->value) &&
           (a->item_count == 0 || memcmp(a->item, b->item, a->item_count * sizeof *a->item) == 0);
}

static void print_subject(const struct duel *duel, const struct event *event) {
    const struct scenario *scenario = duel->scenario;
    if (event->subject == SUBJECT_ACTOR || event->subject == SUBJECT_GATE)
        fputs(scenario_part_name(scenario, event->actor), duel->report);
    else if (event->subject == SUBJECT_TRACK)
        print_place(duel->report, scenario, event->track);
    else if (event->subject == SUBJECT_CHEST)
        fputs(scenario->chest[event->chest].name, duel->report);
    if (event->kind == EVENT_BLOCKED && event->actor.kind == PART_ARM) {
        fputs(" at ", duel->report);
        print_place(duel->report, scenario, event->track);
    }
}

static void print_event(const struct duel *duel, const struct side *side, size_t index) {
    if (index >= side->record.events) {
        fprintf(duel->report, "%s: no further event\n", side->engine->name);
        return;
    }
    const struct told_event *told = &side->record.event[index];
    const struct event *event = &told->event;
    fprintf(duel->report, "%s: %s %s ", side->engine->name, told_name[told->told],
            event_kind_name(event->kind));
    print_subject(duel, event);
    fprintf(duel->report, " start %" PRId64, event->start_tick);
    if (told->told == ENDED)
        fprintf(duel->report, " end %" PRId64, event->end_tick);
    fprintf(duel->report,
            " since %" PRId64 " incident %" PRId32 " count %" PRId64 " short %" PRId64
            " value %" PRId64 " items",
            event->since_tick, (int32_t)event->incident, event->count, event->short_count,
            event->kind == EVENT_SET ? event->value : 0);
    for (uint32_t i = 0; i < event->item_count; i++)
        fprintf(duel->report, " %s", duel->scenario->item[event->item[i]].name);
    fputc('\n', duel->report);
}

static bool events_agree(struct duel *duel) {
    struct record *a = &duel->side[0].record, *b = &duel->side[1].record;
    size_t *index = &duel->events_agreed;
    sort_events(a, *index);
    sort_events(b, *index);
    while (*index < a->events && *index < b->events &&
           same_event(&a->event[*index], &b->event[*index]))
        ++*index;
    if (*index == a->events && *index == b->events)
        return true;
    fprintf(duel->report, "event %zu differs\n", *index);
    print_event(duel, &duel->side[0], *index);
    print_event(duel, &duel->side[1], *index);
    return false;
}

/* ---- counts, states, totals ---- */

/* One number of both sides; says what differs. */
static bool same(struct duel *duel, const char *what, const char *whose, const char *part,
                 int64_t world, int64_t literal) {
    if (world == literal)
        return true;
    fprintf(duel->report,
            "after tick %" PRId64 " %s of %s %s differs: world %" PRId64 ", literal %" PRId64 "\n",
            duel->side[1].engine->tick(duel->side[1].self), what, whose, part, world, literal);
    return false;
}

/* The same question to both. */
#define BOTH(QUESTION, ...)                                                                        \
    duel->side[0].engine->QUESTION(duel->side[0].self, __VA_ARGS__),                               \
        duel->side[1].engine->QUESTION(duel->side[1].self, __VA_ARGS__)

static bool chests_agree(struct duel *duel) {
    const struct scenario *scenario = duel->scenario;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t k = 0; k < scenario->item_count; k++)
            if (!same(duel, "count", scenario->chest[i].name, scenario->item[k].name,
                      BOTH(chest_count, i, k)))
                return false;
    return true;
}

static bool stocks_agree(struct duel *duel, uint32_t index) {
    const struct scenario_station *station = &duel->scenario->station[index];
    for (uint32_t k = 0; k < station->takes.count; k++)
        if (!same(duel, "input", station->name,
                  duel->scenario->item[station->takes.entry[k].item].name,
                  BOTH(input_count, index, k)))
            return false;
    for (uint32_t k = 0; k < station->makes_count; k++)
        if (!same(duel, "output", station->name, duel->scenario->item[station->makes[k].item].name,
                  BOTH(output_count, index, k)))
            return false;
    return true;
}

static bool station_agrees(struct duel *duel, uint32_t index) {
    const char *name = duel->scenario->station[index].name;
    struct station_totals total[2] = {BOTH(station_totals, index)};
    if (!stocks_agree(duel, index) || !same(duel, "state", name, "", BOTH(station_state, index)) ||
        !same(duel, "batches", name, "", total[0].batches, total[1].batches))
        return false;
    for (int k = 0; k < STATION_STATES; k++)
        if (!same(duel, "ticks", name, state_names_station((enum station_state)k),
                  total[0].ticks[k], total[1].ticks[k]))
            return false;
    return true;
}

static bool arm_agrees(struct duel *duel, uint32_t index) {
    const char *name = duel->scenario->arm[index].name;
    struct arm_totals total[2] = {BOTH(arm_totals, index)};
    if (!same(duel, "state", name, "", BOTH(arm_state, index)) ||
        !same(duel, "swings", name, "", total[0].swings, total[1].swings) ||
        !same(duel, "moved", name, "", total[0].moved, total[1].moved))
        return false;
    for (int k = 0; k < ARM_STATES; k++)
        if (!same(duel, "ticks", name, state_names_arm((enum arm_state)k), total[0].ticks[k],
                  total[1].ticks[k]))
            return false;
    for (uint32_t k = 0; k < duel->scenario->item_count; k++)
        if (!same(duel, "hand", name, duel->scenario->item[k].name, BOTH(hand_count, index, k)))
            return false;
    return true;
}

static bool cells_agree(struct duel *duel, struct place track, const char *name, uint32_t cells) {
    for (uint32_t cell = 0; cell < cells; cell++) {
        char at[32];
        snprintf(at, sizeof at, "cell %" PRIu32, cell);
        if (!same(duel, "item", name, at, BOTH(track_item, track, cell)))
            return false;
    }
    return true;
}

static bool track_agrees(struct duel *duel, struct place track, const char *name, uint32_t cells) {
    struct track_totals total[2] = {BOTH(track_totals, track)};
    if (!cells_agree(duel, track, name, cells) ||
        !same(duel, "cells", name, "", BOTH(track_cells, track)) ||
        !same(duel, "count", name, "all items", BOTH(track_count, track, NO_INDEX)) ||
        !same(duel, "cell_ticks", name, "", (int64_t)total[0].cell_ticks,
              (int64_t)total[1].cell_ticks) ||
        !same(duel, "cells_most", name, "", total[0].cells_most, total[1].cells_most))
        return false;
    for (uint32_t k = 0; k < duel->scenario->item_count; k++)
        if (!same(duel, "count", name, duel->scenario->item[k].name, BOTH(track_count, track, k)))
            return false;
    return true;
}

static bool item_agrees(struct duel *duel, uint32_t index) {
    struct item_totals total[2] = {BOTH(item_totals, index)};
    const struct item_totals *a = &total[0], *b = &total[1];
    const char *name = duel->scenario->item[index].name;
    return same(duel, "made", name, "", a->made, b->made) &&
           same(duel, "consumed", name, "", a->consumed, b->consumed) &&
           same(duel, "supplied", name, "", a->supplied, b->supplied) &&
           same(duel, "demanded", name, "", a->demanded, b->demanded) &&
           same(duel, "met", name, "", a->met, b->met) &&
           same(duel, "owed", name, "", a->owed, b->owed) &&
           same(duel, "lost", name, "", a->lost, b->lost) &&
           same(duel, "dropped", name, "", a->dropped, b->dropped) &&
           same(duel, "cleared", name, "", a->cleared, b->cleared);
}

static struct place lane_at(uint32_t index) { return (struct place){PLACE_LANE, index, 0}; }
static struct place line_at(uint32_t index) { return (struct place){PLACE_LINE, index, 0}; }

static bool tracks_agree(struct duel *duel) {
    const struct scenario *scenario = duel->scenario;
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        if (!track_agrees(duel, lane_at(i), scenario->lane[i].full_name,
                          scenario->loop[scenario->lane[i].loop].cell_count))
            return false;
    for (uint32_t i = 0; i < scenario->line_count; i++)
        if (!track_agrees(duel, line_at(i), scenario->line[i].name, scenario->line[i].cell_count))
            return false;
    return true;
}

static bool streams_agree(struct duel *duel) {
    const struct scenario *scenario = duel->scenario;
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (!same(duel, "held", scenario->supply[i].name, "", BOTH(supply_held, i)))
            return false;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!same(duel, "owed", scenario->demand[i].name, "", BOTH(demand_owed, i)))
            return false;
    return true;
}

static bool gates_agree(struct duel *duel) {
    for (uint32_t i = 0; i < duel->scenario->gate_count; i++) {
        char number[16];
        snprintf(number, sizeof number, "%" PRIu32, i);
        if (!same(duel, "openness", "gate", number, BOTH(gate_open, i)))
            return false;
    }
    return true;
}

static bool states_agree(struct duel *duel) {
    const struct scenario *scenario = duel->scenario;
    if (!same(duel, "tick", "the world", "", duel->side[0].engine->tick(duel->side[0].self),
              duel->side[1].engine->tick(duel->side[1].self)) ||
        !same(duel, "moves", "the world", "",
              (int64_t)duel->side[0].engine->moves(duel->side[0].self),
              (int64_t)duel->side[1].engine->moves(duel->side[1].self)))
        return false;
    if (!tracks_agree(duel) || !chests_agree(duel) || !streams_agree(duel) || !gates_agree(duel))
        return false;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (!station_agrees(duel, i))
            return false;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (!arm_agrees(duel, i))
            return false;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (!item_agrees(duel, i))
            return false;
    return true;
}

/* ---- section 13 ---- */

static int64_t initial_count(const struct scenario *scenario, uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t k = 0; k < scenario->chest[i].start.count; k++)
            if (scenario->chest[i].start.entry[k].item == item)
                count += scenario->chest[i].start.entry[k].count;
    return count;
}

static int64_t count_in_stocks(const struct duel *duel, const struct side *side, uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < duel->scenario->station_count; i++) {
        const struct scenario_station *station = &duel->scenario->station[i];
        for (uint32_t k = 0; k < station->takes.count; k++)
            if (station->takes.entry[k].item == item)
                count += side->engine->input_count(side->self, i, k);
        for (uint32_t k = 0; k < station->makes_count; k++)
            if (station->makes[k].item == item)
                count += side->engine->output_count(side->self, i, k);
    }
    return count;
}

static int64_t count_everywhere(const struct duel *duel, const struct side *side, uint32_t item) {
    const struct scenario *scenario = duel->scenario;
    int64_t count = count_in_stocks(duel, side, item);
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        count += side->engine->chest_count(side->self, i, item);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        count += side->engine->hand_count(side->self, i, item);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        count += side->engine->track_count(side->self, lane_at(i), item);
    for (uint32_t i = 0; i < scenario->line_count; i++)
        count += side->engine->track_count(side->self, line_at(i), item);
    return count;
}

static bool identity(struct duel *duel, const struct side *side, const char *what,
                     const char *whose, int64_t left, int64_t right) {
    if (left == right)
        return true;
    fprintf(duel->report,
            "after tick %" PRId64 " in %s: %s of %s do not add up: %" PRId64 " and %" PRId64 "\n",
            side->engine->tick(side->self), side->engine->name, what, whose, left, right);
    return false;
}

static bool has_outlet(const struct scenario *scenario, uint32_t item) {
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].outlet && scenario->demand[i].item == item)
            return true;
    return false;
}

/* What was asked for is met, owed or lost; what outlets take was not asked for. */
static bool orders_add_up(struct duel *duel, const struct side *side, uint32_t item) {
    struct item_totals t = side->engine->item_totals(side->self, item);
    int64_t met = t.demanded - t.owed - t.lost;
    bool partly = has_outlet(duel->scenario, item) && met >= 0 && met <= t.met;
    return partly || identity(duel, side, "orders", duel->scenario->item[item].name, met, t.met);
}

static bool items_add_up(struct duel *duel, const struct side *side) {
    for (uint32_t i = 0; i < duel->scenario->item_count; i++) {
        struct item_totals t = side->engine->item_totals(side->self, i);
        const char *name = duel->scenario->item[i].name;
        int64_t came = initial_count(duel->scenario, i) + t.supplied + t.dropped + t.made;
        if (!identity(duel, side, "items", name, came - t.met - t.consumed - t.cleared,
                      count_everywhere(duel, side, i)) ||
            !orders_add_up(duel, side, i))
            return false;
    }
    return true;
}

static bool states_add_up(struct duel *duel, const struct side *side) {
    int64_t elapsed = side->engine->tick(side->self);
    for (uint32_t i = 0; i < duel->scenario->arm_count; i++) {
        struct arm_totals totals = side->engine->arm_totals(side->self, i);
        int64_t sum = 0;
        for (int k = 0; k < ARM_STATES; k++)
            sum += totals.ticks[k];
        if (!identity(duel, side, "states", duel->scenario->arm[i].name, sum, elapsed))
            return false;
    }
    for (uint32_t i = 0; i < duel->scenario->station_count; i++) {
        struct station_totals totals = side->engine->station_totals(side->self, i);
        int64_t sum = 0;
        for (int k = 0; k < STATION_STATES; k++)
            sum += totals.ticks[k];
        if (!identity(duel, side, "states", duel->scenario->station[i].name, sum, elapsed))
            return false;
    }
    return true;
}

static bool adds_up(struct duel *duel) {
    for (int k = 0; k < 2; k++)
        if (!items_add_up(duel, &duel->side[k]) || !states_add_up(duel, &duel->side[k]))
            return false;
    return true;
}

/* ---- the duel ---- */

/* Every event that began has been reported to end, once all that was open is reported: asked of one
 * side, because both may leave the same kind out. */
static bool all_ended(struct duel *duel) {
    const struct record *record = &duel->side[0].record;
    int64_t open[EVENT_KINDS] = {0};
    for (size_t i = 0; i < record->events; i++)
        if (record->event[i].told != HAPPENED)
            open[record->event[i].event.kind] += record->event[i].told == BEGAN ? 1 : -1;
    for (int kind = 0; kind < EVENT_KINDS; kind++) {
        if (open[kind] == 0)
            continue;
        fprintf(duel->report, "%" PRId64 " events %s have no end\n", open[kind],
                event_kind_name((enum event_kind)kind));
        return false;
    }
    return true;
}

/* A linear congruence (D. Knuth, MMIX) is random enough for where to look. */
static int64_t next_checkpoint(uint64_t *seed, int64_t tick, int64_t run_ticks) {
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    int64_t most = run_ticks / 12 + 1;
    int64_t next = tick + 1 + (int64_t)((*seed >> 33) % (uint64_t)most);
    return next > run_ticks ? run_ticks : next;
}

enum way_on { ON_AS_IT_IS, ON_AS_A_COPY, ON_RESTORED, WAYS_ON = 4 };

/* At a checkpoint the engine goes on as it is, from a copy, or from its own state put back. */
static void go_on_from_state(struct duel *duel, enum way_on way) {
    struct world *world = duel->side[0].self;
    struct listener listener = world_listener(world);
    if (way == ON_AS_A_COPY) {
        duel->side[0].self = state_copy(world, duel->scenario);
        require(duel->side[0].self != NULL);
        world_free(world);
    } else if (way == ON_RESTORED) {
        struct bytes bytes = {0};
        state_save(world, &bytes);
        require(state_restore(world, bytes.data, bytes.length));
        bytes_free(&bytes);
    }
    world_listen(duel->side[0].self, &listener);
}

/* To be observed changes nothing, but an observed arm acts by other functions: every fourth arm is
 * observed at a time, so that each goes from the ones to the others within its swings. */
static void for_some_arms(const struct duel *duel, uint64_t seed,
                          void (*change)(struct world *world, uint32_t arm)) {
    for (uint32_t arm = (seed >> 50) % 4; arm < duel->scenario->arm_count; arm += 4)
        change(duel->side[0].self, arm);
}

static bool runs_agree(struct duel *duel, uint64_t seed) {
    int64_t end = duel->scenario->run_ticks, tick = -1;
    bool forgotten = false;
    while (tick < end) {
        tick = next_checkpoint(&seed, tick, end);
        for_some_arms(duel, seed, world_observe_arm);
        for (int k = 0; k < 2; k++)
            duel->side[k].engine->advance(duel->side[k].self, tick);
        for_some_arms(duel, seed, world_ignore_arm);
        if (!moves_agree(duel) || !events_agree(duel) || !states_agree(duel) || !adds_up(duel))
            return false;
        for (int k = 0; k < 2 && !forgotten && tick > end / 3; k++)
            duel->side[k].engine->forget_most(duel->side[k].self);
        forgotten = tick > end / 3;
        world_audit(duel->side[0].self);
        go_on_from_state(duel, (enum way_on)((seed >> 45) % WAYS_ON));
    }
    for (int k = 0; k < 2; k++)
        duel->side[k].engine->report_open(duel->side[k].self);
    return events_agree(duel) && all_ended(duel);
}

bool duel_agrees(const struct scenario *scenario, uint64_t seed, FILE *report,
                 struct duel_tally *tally) {
    struct duel duel = {.scenario = scenario, .report = report};
    duel.side[0] = new_side(&world_engine, scenario);
    duel.side[1] = new_side(&literal_engine, scenario);
    start_listening(&duel.side[0]);
    start_listening(&duel.side[1]);
    bool agrees = runs_agree(&duel, seed);
    const struct record *record = &duel.side[1].record;
    tally->moves += record->moves;
    tally->streams += ((const struct world *)duel.side[0].self)->chance_count;
    for (size_t i = 0; i < record->events; i++)
        if (record->event[i].told != ENDED)
            tally->events[record->event[i].event.kind]++;
    free_side(&duel.side[0]);
    free_side(&duel.side[1]);
    return agrees;
}
