/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/event_rows.c - holds the events of one start tick and sorts them. */
#include "tools/record/event_rows.h"

#include <stdlib.h>
#include <string.h>

#include "sim/array.h"
#include "sim/require.h"

struct event_rows_held {
    struct event event; /* names `item` */
    uint32_t *item;     /* a copy */
    uint32_t slot;      /* NO_INDEX: an incident or breakdown */
    uint32_t sequence;  /* in order of being reported */
};

void event_rows_init(struct event_rows *rows, const struct scenario *scenario,
                     struct event_rows_sink sink) {
    *rows = (struct event_rows){.sink = sink};
    event_slots_init(&rows->slots, scenario);
}

static void forget_held(struct event_rows *rows) {
    for (uint32_t i = 0; i < rows->held_count; i++)
        free(rows->held[i].item);
    rows->held_count = 0;
}

void event_rows_free(struct event_rows *rows) {
    forget_held(rows);
    free(rows->held);
    *rows = (struct event_rows){0};
}

/* Incidents stand before what is watched: NO_INDEX + 1 is 0. */
static int held_order(const void *a, const void *b) {
    const struct event_rows_held *first = a, *second = b;
    if (first->event.start_tick != second->event.start_tick)
        return first->event.start_tick < second->event.start_tick ? -1 : 1;
    if (first->slot != second->slot)
        return first->slot + 1 < second->slot + 1 ? -1 : 1;
    return first->sequence < second->sequence ? -1 : 1;
}

void event_rows_flush(struct event_rows *rows) {
    if (rows->held_count == 0)
        return;
    qsort(rows->held, rows->held_count, sizeof *rows->held, held_order);
    for (uint32_t i = 0; i < rows->held_count; i++)
        rows->sink.add(rows->sink.self, ++rows->count, &rows->held[i].event, rows->held[i].slot);
    forget_held(rows);
}

static struct event_rows_held *held_room(struct event_rows *rows) {
    rows->held =
        array_with_room(rows->held, rows->held_count, &rows->held_capacity, sizeof *rows->held);
    return &rows->held[rows->held_count++];
}

void event_rows_add_open(struct event_rows *rows, const struct event *event) {
    bool watched = event_kind_is_watched(event->kind);
    uint32_t *item = require_memory(event->item_count, sizeof *item);
    if (event->item_count > 0)
        memcpy(item, event->item, event->item_count * sizeof *item);
    struct event_rows_held *held = held_room(rows);
    *held =
        (struct event_rows_held){.event = *event,
                                 .item = item,
                                 .slot = watched ? event_slots_of(&rows->slots, event) : NO_INDEX,
                                 .sequence = rows->held_count};
    held->event.item = item;
}

void event_rows_add(struct event_rows *rows, const struct event *event) {
    if (rows->held_count > 0 && event->start_tick != rows->held->event.start_tick) {
        require(event->start_tick > rows->held->event.start_tick);
        event_rows_flush(rows);
    }
    event_rows_add_open(rows, event);
}
