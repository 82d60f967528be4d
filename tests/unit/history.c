/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/history.c - a line for each move and each event, with names in place of numbers. */
#include "tests/unit/history.h"

#include <check.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static const char *place_name(const struct scenario *scenario, struct place place) {
    switch (place.kind) {
    case PLACE_CHEST: return scenario->chest[place.index].name;
    case PLACE_STATION: return scenario->station[place.index].name;
    case PLACE_LANE: return scenario->lane[place.index].full_name;
    case PLACE_LINE: break;
    }
    return scenario->line[place.index].name;
}

/* Where an arm is. */
static void write_place(struct history *history, struct place place) {
    const struct scenario *scenario = history->scenario;
    uint32_t cell = place.cell;
    if (history->turn != NULL && place.kind == PLACE_LANE) {
        uint32_t loop = scenario->lane[place.index].loop, cells = scenario->loop[loop].cell_count;
        cell = (cell + cells - history->turn[loop]) % cells;
    }
    fprintf(history->out, " %s@%" PRIu32, place_name(scenario, place), cell);
}

/* What has lasted since before all began, has lasted since it began. */
static int64_t told_tick(const struct history *history, int64_t tick) {
    if (tick == NOT_GIVEN)
        return tick;
    return tick > history->late_ticks ? tick - history->late_ticks : 0;
}

static void moved(void *self, const struct move *move) {
    struct history *history = self;
    const char *arm = history->scenario->arm[move->arm].name;
    if (history->unheard_arms != NULL &&
        strncmp(arm, history->unheard_arms, strlen(history->unheard_arms)) == 0) {
        history->not_told++;
        return;
    }
    history->told++;
    fprintf(history->out, "%" PRId64 " %s %s %" PRId64 " %s", told_tick(history, move->tick), arm,
            move->act == MOVE_PICK ? "picks" : "places", move->count,
            history->scenario->item[move->item].name);
    write_place(history, move->place);
    fputc('\n', history->out);
}

static void write_event(struct history *history, const char *told, const struct event *event) {
    if (history->moves_only ||
        (event->incident != NO_INDEX && event->incident < history->unheard_incidents))
        return;
    fprintf(history->out, "%s %d %" PRId64 " %" PRId64 " %" PRId64 " %d", told, (int)event->kind,
            told_tick(history, event->start_tick), told_tick(history, event->end_tick),
            told_tick(history, event->since_tick), (int)event->subject);
    if (event->subject == SUBJECT_ACTOR || event->subject == SUBJECT_GATE)
        fprintf(history->out, " %s", scenario_part_name(history->scenario, event->actor));
    if (event->subject == SUBJECT_TRACK)
        fprintf(history->out, " %s", place_name(history->scenario, event->track));
    if (event->kind == EVENT_BLOCKED && event->actor.kind == PART_ARM)
        write_place(history, event->track);
    if (event->subject == SUBJECT_CHEST)
        fprintf(history->out, " %s", history->scenario->chest[event->chest].name);
    for (uint32_t i = 0; i < event->item_count; i++)
        fprintf(history->out, " %s", history->scenario->item[event->item[i]].name);
    fprintf(history->out, " %" PRId64 " %" PRId64 " %" PRId64 "\n", event->count,
            event->short_count, event->value);
}

static void happened(void *self, const struct event *event) {
    write_event(self, "happened", event);
}

static void began(void *self, const struct event *event) { write_event(self, "began", event); }

static void ended(void *self, const struct event *event) { write_event(self, "ended", event); }

struct listener history_begin(struct history *history) {
    history->out = open_memstream(&history->text, &history->length);
    ck_assert_ptr_nonnull(history->out);
    return (struct listener){history, moved, happened, began, ended, NULL};
}

void history_end(struct history *history) { ck_assert_int_eq(fclose(history->out), 0); }

void history_assert_same(struct history *one, struct history *other, uint64_t scenario_number) {
    const char *a = one->text, *b = other->text;
    while (*a != '\0' || *b != '\0') {
        int a_length = (int)strcspn(a, "\n"), b_length = (int)strcspn(b, "\n");
        if (a_length != b_length || strncmp(a, b, (size_t)a_length) != 0)
            ck_abort_msg("scenario %" PRIu64 ":\n  %.*s\n  %.*s", scenario_number, a_length, a,
                         b_length, b);
        a += a_length + (a[a_length] == '\n');
        b += b_length + (b[b_length] == '\n');
    }
    free(one->text);
    free(other->text);
}
