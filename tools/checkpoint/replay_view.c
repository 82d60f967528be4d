/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/replay_view.c - lines as things happen, pictures between ticks. */
#include "tools/checkpoint/replay_view.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/record/event_kinds.h"

enum { STRIP_CELLS = 70, STRIP_ROWS = 20, LISTED_MOST = 16, MARGIN = 8 };
static const char empty_cell = '.', tail_cell = '-', unknown_kind = '?';

/* ---- names and times ---- */

static void print_time(const struct replay_view *show, int64_t tick) {
    char clock[QUANTITY_TEXT_SIZE];
    quantity_clock(tick, show->scenario->ticks_per_second, clock);
    fprintf(show->out, "%-12s ", clock);
}

static void print_place(const struct replay_view *show, struct place place) {
    fputs(layout_place_name(show->scenario, place), show->out);
    if (layout_is_track(place))
        fprintf(show->out, "@%u", place.cell);
}

/* ---- letters ---- */

static bool is_taken(const struct replay_view *show, uint32_t items, char letter) {
    return memchr(show->letter, letter, items) != NULL;
}

/* The first letter of a name that no item before has, else of the alphabet, small, then capital. */
static char letter_for(const struct replay_view *show, uint32_t item) {
    static const char alphabet[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
    const char *name = show->scenario->item[item].name;
    for (const char *at = name; *at != '\0'; at++)
        if (strchr(alphabet, *at) != NULL && !is_taken(show, item, *at))
            return *at;
    for (const char *at = alphabet; *at != '\0'; at++)
        if (!is_taken(show, item, *at))
            return *at;
    return unknown_kind;
}

void replay_view_legend(const struct replay_view *show) {
    int column = fprintf(show->out, "Items:");
    for (uint32_t i = 0; i < show->scenario->item_count; i++) {
        const char *name = show->scenario->item[i].name;
        if (column + (int)strlen(name) + 5 > 80)
            column = fprintf(show->out, "\n      ") - 1;
        column += fprintf(show->out, "  %c %s", show->letter[i], name);
    }
    fputs("\nThe belt runs from left to right. v: an arm puts here (V: it waits to);\n"
          "^: an arm picks here; -: further cells of a long item, after its letter.\n",
          show->out);
}

/* ---- lines ---- */

static void moved(void *self, const struct move *move) {
    struct replay_view *show = self;
    if (show->next.moved != NULL)
        show->next.moved(show->next.self, move);
    print_time(show, move->tick);
    fprintf(show->out, "%s %s %lld %s %s ", show->scenario->arm[move->arm].name,
            move->act == MOVE_PICK ? "picks" : "puts", (long long)move->count,
            show->scenario->item[move->item].name,
            move->act == MOVE_PICK         ? "from"
            : layout_is_track(move->place) ? "on"
                                           : "into");
    print_place(show, move->place);
    fputc('\n', show->out);
}

static void print_subject(const struct replay_view *show, const struct event *event) {
    switch (event->subject) {
    case SUBJECT_ACTOR:
    case SUBJECT_GATE:
        fprintf(show->out, " %s", scenario_part_name(show->scenario, event->actor));
        break;
    case SUBJECT_TRACK:
        fprintf(show->out, " %s", layout_place_name(show->scenario, event->track));
        break;
    case SUBJECT_CHEST: fprintf(show->out, " %s", show->scenario->chest[event->chest].name); break;
    case SUBJECT_NONE: break;
    }
}

static void print_event(const struct replay_view *show, const char *mark, const struct event *event,
                        int64_t tick) {
    print_time(show, tick);
    fprintf(show->out, "%s %s", mark, event_kind_name(event->kind));
    print_subject(show, event);
    for (uint32_t i = 0; i < event->item_count; i++)
        fprintf(show->out, "%s %s", i == 0 ? ":" : ",", show->scenario->item[event->item[i]].name);
}

static void happened(void *self, const struct event *event) {
    struct replay_view *show = self;
    if (show->next.happened != NULL)
        show->next.happened(show->next.self, event);
    print_event(show, "!", event, event->start_tick);
    if (event->count != NOT_GIVEN)
        fprintf(show->out, ", %lld", (long long)event->count);
    if (event->short_count > 0)
        fprintf(show->out, ", no place for %lld more", (long long)event->short_count);
    if (event->kind == EVENT_SET && event->value == NO_LIMIT)
        fputs(" to no limit", show->out);
    else if (event->kind == EVENT_SET)
        fprintf(show->out, " to %lld", (long long)event->value);
    fputs(event->incident == NO_INDEX ? " (breaks)\n" : "\n", show->out);
}

static void began(void *self, const struct event *event) {
    struct replay_view *show = self;
    if (show->next.began != NULL)
        show->next.began(show->next.self, event);
    char since[QUANTITY_TEXT_SIZE];
    print_event(show, ">", event, event->start_tick);
    quantity_clock(event->since_tick, show->scenario->ticks_per_second, since);
    fprintf(show->out, ", since %s\n", since);
    show->wants_picture |= event_kind_row(event->kind)->is_pictured;
}

static void ended(void *self, const struct event *event) {
    struct replay_view *show = self;
    if (show->next.ended != NULL)
        show->next.ended(show->next.self, event);
    print_event(show, "<", event, event->end_tick);
    fputs(" is over\n", show->out);
}

static void arm_changed(void *self, uint32_t arm) {
    struct replay_view *show = self;
    if (show->next.arm_changed != NULL)
        show->next.arm_changed(show->next.self, arm);
}

void replay_view_open(struct replay_view *show, const struct scenario *scenario,
                      struct world *world, struct listener next, FILE *out) {
    *show = (struct replay_view){.scenario = scenario, .world = world, .next = next, .out = out};
    show->letter = require_memory((size_t)scenario->item_count + 1, 1);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        show->letter[i] = letter_for(show, i);
    world_listen(world, &(struct listener){show, moved, happened, began, ended, arm_changed});
}

void replay_view_free(struct replay_view *show, struct world *world) {
    world_listen(world, NULL);
    free(show->letter);
    *show = (struct replay_view){0};
}

/* ---- strips ---- */

static uint32_t cells_of(const struct scenario *scenario, struct place track) {
    if (track.kind == PLACE_LINE)
        return scenario->line[track.index].cell_count;
    return scenario->loop[scenario->lane[track.index].loop].cell_count;
}

/* A letter for each cell of a track, from what stands with its head there; freed with free(). */
static char *strip_of(const struct replay_view *show, struct place track) {
    uint32_t cells = cells_of(show->scenario, track);
    char *strip = require_memory((size_t)cells + 1, 1);
    memset(strip, empty_cell, cells);
    for (uint32_t cell = 0; cell < cells; cell++) {
        uint32_t item = world_track_item(show->world, track, cell);
        if (item == NO_INDEX)
            continue;
        strip[cell] = show->letter[item];
        for (uint32_t i = 1; i < show->scenario->item[item].length; i++)
            strip[(cell + cells - i) % cells] = tail_cell;
    }
    return strip;
}

static bool is_at(struct place place, struct place track) {
    return place.kind == track.kind && place.index == track.index;
}

/* Marks of the arms that put, or pick, on a track; freed with free(). */
static char *marks_of(const struct replay_view *show, struct place track, bool puts) {
    uint32_t cells = cells_of(show->scenario, track);
    char *marks = require_memory((size_t)cells + 1, 1);
    memset(marks, ' ', cells);
    for (uint32_t i = 0; i < show->scenario->arm_count; i++) {
        const struct scenario_arm *arm = &show->scenario->arm[i];
        struct place place = puts ? arm->to : arm->from;
        if (!is_at(place, track))
            continue;
        bool waits = puts && world_arm_state(show->world, i) == ARM_PLACING;
        if (marks[place.cell] != 'V')
            marks[place.cell] = waits ? 'V' : puts ? 'v' : '^';
    }
    return marks;
}

/* A stretch of marks, unless it is blank, without the blanks at its end. */
static void print_marks(const struct replay_view *show, const char *marks, uint32_t count) {
    while (count > 0 && marks[count - 1] == ' ')
        count--;
    if (count > 0)
        fprintf(show->out, "%*s%.*s\n", MARGIN, "", (int)count, marks);
}

static void print_strip(const struct replay_view *show, struct place track) {
    uint32_t cells = cells_of(show->scenario, track);
    char *strip = strip_of(show, track), *above = marks_of(show, track, true);
    char *below = marks_of(show, track, false);
    uint32_t shown = cells < STRIP_ROWS * STRIP_CELLS ? cells : STRIP_ROWS * STRIP_CELLS;
    for (uint32_t from = 0; from < shown; from += STRIP_CELLS) {
        uint32_t count = shown - from < STRIP_CELLS ? shown - from : STRIP_CELLS;
        print_marks(show, above + from, count);
        fprintf(show->out, "%6u  %.*s\n", from, (int)count, strip + from);
        print_marks(show, below + from, count);
    }
    if (shown < cells)
        fprintf(show->out, "%*s(and %u cells more)\n", MARGIN, "", cells - shown);
    free(strip);
    free(above);
    free(below);
}

/* ---- arms, stations, chests ---- */

static void print_hand(const struct replay_view *show, uint32_t arm) {
    const struct scenario_arm *fixed = &show->scenario->arm[arm];
    bool empty = true;
    for (uint32_t i = 0; i < fixed->item_count; i++) {
        int64_t count = world_hand_count(show->world, arm, fixed->item[i]);
        if (count > 0)
            fprintf(show->out, "%s %lld %s", empty ? ", holds" : ",", (long long)count,
                    show->scenario->item[fixed->item[i]].name);
        empty = empty && count == 0;
    }
}

static void print_arm(const struct replay_view *show, uint32_t arm) {
    static const char *const state[ARM_STATES] = {"reaching", "carrying", "placing", "returning",
                                                  "stopped"};
    const struct scenario_arm *fixed = &show->scenario->arm[arm];
    fprintf(show->out, "  %s (", fixed->name);
    print_place(show, fixed->from);
    fputs(" to ", show->out);
    print_place(show, fixed->to);
    fprintf(show->out, ") is %s", state[world_arm_state(show->world, arm)]);
    print_hand(show, arm);
    if (fixed->gate != NO_INDEX && !world_gate_open(show->world, fixed->gate))
        fputs(", gate shut", show->out);
    fputc('\n', show->out);
}

static void print_stock(const struct replay_view *show, const char *word, uint32_t item,
                        int64_t count, bool *first) {
    if (count == 0)
        return;
    fprintf(show->out, "%s%lld %s", *first ? word : ", ", (long long)count,
            show->scenario->item[item].name);
    *first = false;
}

static void print_station(const struct replay_view *show, uint32_t station) {
    static const char *const state[STATION_STATES] = {"working", "starved", "blocked", "gated",
                                                      "stopped"};
    const struct scenario_station *fixed = &show->scenario->station[station];
    bool first_in = true, first_out = true;
    fprintf(show->out, "  %s is %s", fixed->name, state[world_station_state(show->world, station)]);
    for (uint32_t i = 0; i < fixed->takes.count; i++)
        print_stock(show, "; in ", fixed->takes.entry[i].item,
                    world_input_count(show->world, station, i), &first_in);
    for (uint32_t i = 0; i < fixed->makes_count; i++)
        print_stock(show, "; out ", fixed->makes[i].item,
                    world_output_count(show->world, station, i), &first_out);
    fputc('\n', show->out);
}

static void print_chest(const struct replay_view *show, uint32_t chest) {
    bool first = true;
    fprintf(show->out, "  %s", show->scenario->chest[chest].name);
    for (uint32_t i = 0; i < show->scenario->item_count; i++)
        print_stock(show, " holds ", i, world_chest_count(show->world, chest, i), &first);
    fputs(first ? " is empty\n" : "\n", show->out);
}

/* The first few of many things. */
static void print_some(const struct replay_view *show, uint32_t count, const char *what,
                       void (*print)(const struct replay_view *show, uint32_t index)) {
    for (uint32_t i = 0; i < count && i < LISTED_MOST; i++)
        print(show, i);
    if (count > LISTED_MOST)
        fprintf(show->out, "  (and %u %s more)\n", count - LISTED_MOST, what);
}

/* ---- the picture ---- */

static void print_track(const struct replay_view *show, struct place track) {
    uint32_t cells = cells_of(show->scenario, track);
    fprintf(show->out, "\n  %s, %lld of %u cells held\n", layout_place_name(show->scenario, track),
            (long long)world_track_cells(show->world, track), cells);
    print_strip(show, track);
}

void replay_view_picture(const struct replay_view *show, const char *when, int64_t tick) {
    const struct scenario *scenario = show->scenario;
    char clock[QUANTITY_TEXT_SIZE];
    quantity_clock(tick, scenario->ticks_per_second, clock);
    fprintf(show->out, "\n---- %s%s ----\n", when, clock);
    for (uint32_t i = 0; i < scenario->lane_count; i++)
        print_track(show, (struct place){PLACE_LANE, i, 0});
    for (uint32_t i = 0; i < scenario->line_count; i++)
        print_track(show, (struct place){PLACE_LINE, i, 0});
    fputc('\n', show->out);
    print_some(show, scenario->arm_count, "arms", print_arm);
    print_some(show, scenario->station_count, "stations", print_station);
    print_some(show, scenario->chest_count, "chests", print_chest);
    fputc('\n', show->out);
}

void replay_view_look(struct replay_view *show) {
    if (show->wants_picture)
        replay_view_picture(show, "", world_tick(show->world));
    show->wants_picture = false;
}
