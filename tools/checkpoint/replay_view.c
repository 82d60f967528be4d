/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/replay_view.c - lines as things happen, pictures between ticks. */
#include "tools/checkpoint/replay_view.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/record/event_kinds.h"
#include "tools/record/state_names.h"

enum { STRIP_CELLS = 70, STRIP_ROWS = 20, LISTED_MOST = 16, MARGIN = 8 };
static const char empty_cell = '.', tail_cell = '-', unknown_kind = '?';

/* ---- names and times ---- */

static void print_time(const struct replay_view *view, int64_t tick) {
    char clock[QUANTITY_TEXT_SIZE];
    quantity_clock(tick, view->scenario->ticks_per_second, clock);
    fprintf(view->out, "%-12s ", clock);
}

static void print_place(const struct replay_view *view, struct place place) {
    fputs(layout_place_name(view->scenario, place), view->out);
    if (layout_is_track(place))
        fprintf(view->out, "@%u", place.cell);
}

/* ---- letters ---- */

static bool is_taken(const struct replay_view *view, uint32_t items, char letter) {
    return memchr(view->letter, letter, items) != NULL;
}

/* The first letter of a name that no item before has, else of the alphabet, small, then capital. */
static char letter_for(const struct replay_view *view, uint32_t item) {
    static const char alphabet[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
    const char *name = view->scenario->item[item].name;
    for (const char *at = name; *at != '\0'; at++)
        if (strchr(alphabet, *at) != NULL && !is_taken(view, item, *at))
            return *at;
    for (const char *at = alphabet; *at != '\0'; at++)
        if (!is_taken(view, item, *at))
            return *at;
    return unknown_kind;
}

void replay_view_legend(const struct replay_view *view) {
    int column = fprintf(view->out, "Items:");
    for (uint32_t i = 0; i < view->scenario->item_count; i++) {
        const char *name = view->scenario->item[i].name;
        if (column + (int)strlen(name) + 5 > 80)
            column = fprintf(view->out, "\n      ") - 1;
        column += fprintf(view->out, "  %c %s", view->letter[i], name);
    }
    fputs("\nThe belt runs from left to right. v: an arm puts here (V: it waits to);\n"
          "^: an arm picks here; -: further cells of a long item, after its letter.\n",
          view->out);
}

/* ---- lines ---- */

static void moved(void *self, const struct move *move) {
    struct replay_view *view = self;
    if (view->next.moved != NULL)
        view->next.moved(view->next.self, move);
    print_time(view, move->tick);
    fprintf(view->out, "%s %s %lld %s %s ", view->scenario->arm[move->arm].name,
            move->act == MOVE_PICK ? "picks" : "puts", (long long)move->count,
            view->scenario->item[move->item].name,
            move->act == MOVE_PICK         ? "from"
            : layout_is_track(move->place) ? "on"
                                           : "into");
    print_place(view, move->place);
    fputc('\n', view->out);
}

static void print_subject(const struct replay_view *view, const struct event *event) {
    switch (event->subject) {
    case SUBJECT_ACTOR:
    case SUBJECT_GATE:
        fprintf(view->out, " %s", scenario_part_name(view->scenario, event->actor));
        break;
    case SUBJECT_TRACK:
        fprintf(view->out, " %s", layout_place_name(view->scenario, event->track));
        break;
    case SUBJECT_CHEST: fprintf(view->out, " %s", view->scenario->chest[event->chest].name); break;
    case SUBJECT_NONE: break;
    }
}

void replay_view_event(const struct replay_view *view, const char *mark, const struct event *event,
                       int64_t tick) {
    print_time(view, tick);
    fprintf(view->out, "%s %s", mark, event_kind_name(event->kind));
    print_subject(view, event);
    for (uint32_t i = 0; i < event->item_count; i++)
        fprintf(view->out, "%s %s", i == 0 ? ":" : ",", view->scenario->item[event->item[i]].name);
}

static void happened(void *self, const struct event *event) {
    struct replay_view *view = self;
    if (view->next.happened != NULL)
        view->next.happened(view->next.self, event);
    replay_view_event(view, "!", event, event->start_tick);
    if (event->count != NOT_GIVEN)
        fprintf(view->out, ", %lld", (long long)event->count);
    if (event->short_count > 0)
        fprintf(view->out, ", no place for %lld more", (long long)event->short_count);
    if (event->kind == EVENT_SET && event->value == NO_LIMIT)
        fputs(" to no limit", view->out);
    else if (event->kind == EVENT_SET)
        fprintf(view->out, " to %lld", (long long)event->value);
    fputs(event->incident == NO_INDEX ? " (breaks)\n" : "\n", view->out);
}

static void began(void *self, const struct event *event) {
    struct replay_view *view = self;
    if (view->next.began != NULL)
        view->next.began(view->next.self, event);
    char since[QUANTITY_TEXT_SIZE];
    replay_view_event(view, ">", event, event->start_tick);
    quantity_clock(event->since_tick, view->scenario->ticks_per_second, since);
    fprintf(view->out, ", since %s\n", since);
    view->wants_picture |= event_kind_row(event->kind)->is_pictured;
}

static void ended(void *self, const struct event *event) {
    struct replay_view *view = self;
    if (view->next.ended != NULL)
        view->next.ended(view->next.self, event);
    replay_view_event(view, "<", event, event->end_tick);
    fputs(" is over\n", view->out);
}

static void arm_changed(void *self, uint32_t arm) {
    struct replay_view *view = self;
    if (view->next.arm_changed != NULL)
        view->next.arm_changed(view->next.self, arm);
}

void replay_view_init(struct replay_view *view, const struct scenario *scenario,
                      const struct world *world) {
    *view = (struct replay_view){.scenario = scenario, .world = world};
    view->letter = require_memory((size_t)scenario->item_count + 1, 1);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        view->letter[i] = letter_for(view, i);
}

void replay_view_drop(struct replay_view *view) {
    free(view->letter);
    *view = (struct replay_view){0};
}

void replay_view_open(struct replay_view *view, const struct scenario *scenario,
                      struct world *world, struct listener next, FILE *out) {
    replay_view_init(view, scenario, world);
    view->next = next;
    view->out = out;
    world_listen(world, &(struct listener){view, moved, happened, began, ended, arm_changed});
}

void replay_view_free(struct replay_view *view, struct world *world) {
    world_listen(world, NULL);
    replay_view_drop(view);
}

/* ---- strips ---- */

static uint32_t cells_of(const struct scenario *scenario, struct place track) {
    if (track.kind == PLACE_LINE)
        return scenario->line[track.index].cell_count;
    return scenario->loop[scenario->lane[track.index].loop].cell_count;
}

/* A letter for each cell of a track, from what stands with its head there; freed with free(). */
static char *strip_of(const struct replay_view *view, struct place track) {
    uint32_t cells = cells_of(view->scenario, track);
    char *strip = require_memory((size_t)cells + 1, 1);
    memset(strip, empty_cell, cells);
    for (uint32_t cell = 0; cell < cells; cell++) {
        uint32_t item = world_track_item(view->world, track, cell);
        if (item == NO_INDEX)
            continue;
        strip[cell] = view->letter[item];
        for (uint32_t i = 1; i < view->scenario->item[item].length; i++)
            strip[(cell + cells - i) % cells] = tail_cell;
    }
    return strip;
}

static bool is_at(struct place place, struct place track) {
    return place.kind == track.kind && place.index == track.index;
}

/* Marks of the arms that put, or pick, on a track; freed with free(). */
static char *marks_of(const struct replay_view *view, struct place track, bool puts) {
    uint32_t cells = cells_of(view->scenario, track);
    char *marks = require_memory((size_t)cells + 1, 1);
    memset(marks, ' ', cells);
    for (uint32_t i = 0; i < view->scenario->arm_count; i++) {
        const struct scenario_arm *arm = &view->scenario->arm[i];
        struct place place = puts ? arm->to : arm->from;
        if (!is_at(place, track))
            continue;
        bool waits = puts && world_arm_state(view->world, i) == ARM_PLACING;
        if (marks[place.cell] != 'V')
            marks[place.cell] = waits ? 'V' : puts ? 'v' : '^';
    }
    return marks;
}

/* A stretch of marks, unless it is blank, without the blanks at its end. */
static void print_marks(const struct replay_view *view, const char *marks, uint32_t count) {
    while (count > 0 && marks[count - 1] == ' ')
        count--;
    if (count > 0)
        fprintf(view->out, "%*s%.*s\n", MARGIN, "", (int)count, marks);
}

static void print_strip(const struct replay_view *view, struct place track) {
    uint32_t cells = cells_of(view->scenario, track);
    char *strip = strip_of(view, track), *above = marks_of(view, track, true);
    char *below = marks_of(view, track, false);
    uint32_t shown = cells < STRIP_ROWS * STRIP_CELLS ? cells : STRIP_ROWS * STRIP_CELLS;
    for (uint32_t from = 0; from < shown; from += STRIP_CELLS) {
        uint32_t count = shown - from < STRIP_CELLS ? shown - from : STRIP_CELLS;
        print_marks(view, above + from, count);
        fprintf(view->out, "%6u  %.*s\n", from, (int)count, strip + from);
        print_marks(view, below + from, count);
    }
    if (shown < cells)
        fprintf(view->out, "%*s(and %u cells more)\n", MARGIN, "", cells - shown);
    free(strip);
    free(above);
    free(below);
}

/* ---- arms, stations, chests ---- */

static void print_hand(const struct replay_view *view, uint32_t arm) {
    const struct scenario_arm *fixed = &view->scenario->arm[arm];
    bool empty = true;
    for (uint32_t i = 0; i < fixed->item_count; i++) {
        int64_t count = world_hand_count(view->world, arm, fixed->item[i]);
        if (count > 0)
            fprintf(view->out, "%s %lld %s", empty ? ", holds" : ",", (long long)count,
                    view->scenario->item[fixed->item[i]].name);
        empty = empty && count == 0;
    }
}

static void print_arm(const struct replay_view *view, uint32_t arm) {
    const struct scenario_arm *fixed = &view->scenario->arm[arm];
    fprintf(view->out, "  %s (", fixed->name);
    print_place(view, fixed->from);
    fputs(" to ", view->out);
    print_place(view, fixed->to);
    fprintf(view->out, ") is %s", state_names_arm(world_arm_state(view->world, arm)));
    print_hand(view, arm);
    if (fixed->gate != NO_INDEX && !world_gate_open(view->world, fixed->gate))
        fputs(", gate shut", view->out);
    fputc('\n', view->out);
}

static void print_stock(const struct replay_view *view, const char *word, uint32_t item,
                        int64_t count, bool *first) {
    if (count == 0)
        return;
    fprintf(view->out, "%s%lld %s", *first ? word : ", ", (long long)count,
            view->scenario->item[item].name);
    *first = false;
}

static void print_station(const struct replay_view *view, uint32_t station) {
    const struct scenario_station *fixed = &view->scenario->station[station];
    bool first_in = true, first_out = true;
    fprintf(view->out, "  %s is %s", fixed->name,
            state_names_station(world_station_state(view->world, station)));
    for (uint32_t i = 0; i < fixed->takes.count; i++)
        print_stock(view, "; in ", fixed->takes.entry[i].item,
                    world_input_count(view->world, station, i), &first_in);
    for (uint32_t i = 0; i < fixed->makes_count; i++)
        print_stock(view, "; out ", fixed->makes[i].item,
                    world_output_count(view->world, station, i), &first_out);
    fputc('\n', view->out);
}

static void print_chest(const struct replay_view *view, uint32_t chest) {
    bool first = true;
    fprintf(view->out, "  %s", view->scenario->chest[chest].name);
    for (uint32_t i = 0; i < view->scenario->item_count; i++)
        print_stock(view, " holds ", i, world_chest_count(view->world, chest, i), &first);
    fputs(first ? " is empty\n" : "\n", view->out);
}

/* The first few of many things. */
static void print_some(const struct replay_view *view, uint32_t count, const char *what,
                       void (*print)(const struct replay_view *view, uint32_t index)) {
    for (uint32_t i = 0; i < count && i < LISTED_MOST; i++)
        print(view, i);
    if (count > LISTED_MOST)
        fprintf(view->out, "  (and %u %s more)\n", count - LISTED_MOST, what);
}

/* ---- the picture ---- */

static void print_track(const struct replay_view *view, struct place track) {
    uint32_t cells = cells_of(view->scenario, track);
    fprintf(view->out, "\n  %s, %lld of %u cells held\n", layout_place_name(view->scenario, track),
            (long long)world_track_cells(view->world, track), cells);
    print_strip(view, track);
}

void replay_view_tracks(const struct replay_view *view) {
    for (uint32_t i = 0; i < view->scenario->lane_count; i++)
        print_track(view, (struct place){PLACE_LANE, i, 0});
    for (uint32_t i = 0; i < view->scenario->line_count; i++)
        print_track(view, (struct place){PLACE_LINE, i, 0});
}

void replay_view_stocks(const struct replay_view *view) {
    print_some(view, view->scenario->station_count, "stations", print_station);
    print_some(view, view->scenario->chest_count, "chests", print_chest);
}

void replay_view_picture(const struct replay_view *view, const char *when, int64_t tick) {
    const struct scenario *scenario = view->scenario;
    char clock[QUANTITY_TEXT_SIZE];
    quantity_clock(tick, scenario->ticks_per_second, clock);
    fprintf(view->out, "\n---- %s%s ----\n", when, clock);
    replay_view_tracks(view);
    fputc('\n', view->out);
    print_some(view, scenario->arm_count, "arms", print_arm);
    replay_view_stocks(view);
    fputc('\n', view->out);
}

void replay_view_look(struct replay_view *view) {
    if (view->wants_picture)
        replay_view_picture(view, "", world_tick(view->world));
    view->wants_picture = false;
}
