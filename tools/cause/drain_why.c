/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/drain_why.c - says why an item was not taken: looks at each taker, and one wait
 * further than that. */
#include "tools/cause/drain_why.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "model/scenario/layout.h"
#include "sim/text_stream.h"

/* Reasons that are given for one item; the rest is only counted. */
enum { REASONS_MOST = 3 };

struct teller {
    const struct waits *waits;
    const struct world *world;
    const struct scenario *scenario;
    FILE *out;
};

static bool is_end(struct place end, struct place track) {
    return end.kind == track.kind && end.index == track.index;
}

static const char *vertex_name(const struct teller *teller, uint32_t vertex) {
    return scenario_part_name(teller->scenario, waits_part(teller->waits, vertex));
}

static const char *item_name(const struct teller *teller, uint32_t item) {
    return item == NO_INDEX ? "items" : teller->scenario->item[item].name;
}

/* ---- what keeps an arm ---- */

static int64_t chest_total(const struct teller *teller, uint32_t chest) {
    int64_t total = 0;
    for (uint32_t i = 0; i < teller->scenario->item_count; i++)
        total += world_chest_count(teller->world, chest, i);
    return total;
}

static void tell_full_chest(const struct teller *teller, uint32_t index, uint32_t item) {
    const struct scenario_chest *chest = &teller->scenario->chest[index];
    int64_t total = chest_total(teller, index);
    if (chest->capacity != NO_LIMIT && total >= chest->capacity)
        fprintf(teller->out, "%s is full (%" PRId64 " of %" PRId64 ")", chest->name, total,
                chest->capacity);
    else
        fprintf(teller->out, "%s takes no more %s (it holds %" PRId64 ")", chest->name,
                item_name(teller, item), world_chest_count(teller->world, index, item));
}

static void tell_no_room(const struct teller *teller, const struct waits_edge *edge) {
    struct waits_thing thing = waits_thing(teller->waits, edge->to);
    if (thing.kind == WAITS_CHEST)
        tell_full_chest(teller, thing.index, edge->item);
    else
        fprintf(teller->out, "%s has as much %s as it takes", vertex_name(teller, edge->to),
                item_name(teller, edge->item));
}

static void tell_gate(const struct teller *teller, uint32_t gate) {
    const struct waits *waits = teller->waits;
    fputs("its gate is shut", teller->out);
    if (waits->first[gate] == waits->first[gate + 1])
        return;
    const struct waits_edge *edge = &waits->edge[waits->first[gate]];
    fprintf(teller->out, " until %s holds %s %" PRId64 " %s", vertex_name(teller, edge->to),
            edge->why == WAITS_FOR_FALL ? "fewer than" : "at least", edge->count,
            item_name(teller, edge->item));
}

static void tell_wait(const struct teller *teller, const struct waits_edge *edge) {
    switch (edge->why) {
    case WAITS_FOR_GATE: tell_gate(teller, edge->to); break;
    case WAITS_FOR_ROOM: tell_no_room(teller, edge); break;
    case WAITS_FOR_CELL:
        fprintf(teller->out, "it holds something and finds no free cell on %s",
                vertex_name(teller, edge->to));
        break;
    case WAITS_FOR_ITEM:
    case WAITS_FOR_FALL:
    case WAITS_FOR_RISE:
    case WAITS_TO_TAKE:
    case WAITS_TO_BRING:
        fprintf(teller->out, "it waits for %s", item_name(teller, edge->item));
        break;
    }
}

/* The first wait of an arm that keeps it from this item (NO_INDEX: from any); NULL: none. */
static const struct waits_edge *wait_of_arm(const struct waits *waits, uint32_t vertex,
                                            uint32_t item) {
    for (uint32_t i = waits->first[vertex]; i < waits->first[vertex + 1]; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        bool about_all = edge->why == WAITS_FOR_GATE || edge->why == WAITS_FOR_CELL;
        if (about_all || (edge->why == WAITS_FOR_ROOM && (item == NO_INDEX || edge->item == item)))
            return edge;
    }
    return NULL;
}

/* Why what lies on a line does not come to a taker that could take it. */
static void tell_row(const struct teller *teller, struct place from, uint32_t item) {
    bool comes = false;
    for (uint32_t cell = 0; cell < from.cell && !comes; cell++)
        comes = world_track_item(teller->world, from, cell) == item;
    fprintf(teller->out,
            comes ? "the row does not move on to its cell, %u"
                  : "what there is has passed its cell, %u",
            from.cell);
}

static void tell_arm(const struct teller *teller, uint32_t arm, uint32_t item) {
    struct place from = teller->scenario->arm[arm].from;
    uint32_t vertex = waits_vertex(teller->waits, WAITS_ARM, arm);
    const struct waits_edge *edge = wait_of_arm(teller->waits, vertex, item);
    fprintf(teller->out, "%s: ", teller->scenario->arm[arm].name);
    if (teller->waits->status[vertex] == STATUS_STOPPED)
        fputs("it is stopped", teller->out);
    else if (edge != NULL)
        tell_wait(teller, edge);
    else if (teller->waits->status[vertex] == STATUS_ACTIVE)
        fputs("it is busy, but was not done in time", teller->out);
    else if (from.kind == PLACE_LINE && item != NO_INDEX)
        tell_row(teller, from, item);
    else
        fputs("it did not come past there", teller->out);
}

/* ---- all together ---- */

static bool is_stopped(const struct teller *teller, struct place track) {
    return teller->waits->status[waits_vertex_of_place(teller->waits, track)] == STATUS_STOPPED;
}

static void tell_track(const struct teller *teller, struct place track, uint32_t item) {
    const struct scenario *scenario = teller->scenario;
    uint32_t takers = 0;
    if (is_stopped(teller, track)) {
        fprintf(teller->out, "%s is stopped", layout_place_name(scenario, track));
        return;
    }
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (!is_end(arm->from, track) || !layout_may_carry(arm, item) || takers++ >= REASONS_MOST)
            continue;
        fputs(takers > 1 ? "; " : "", teller->out);
        tell_arm(teller, i, item);
    }
    if (takers == 0)
        fprintf(teller->out, "nothing takes it off %s", layout_place_name(scenario, track));
    if (takers > REASONS_MOST)
        fprintf(teller->out, "; and %" PRIu32 " more takers", takers - REASONS_MOST);
}

char *drain_why_on_track(const struct waits *waits, const struct world *world, struct place track,
                         uint32_t item) {
    struct text_stream stream;
    struct teller teller = {waits, world, waits->scenario, text_stream_begin(&stream)};
    tell_track(&teller, track, item);
    return text_stream_end(&stream);
}

char *drain_why_in_hand(const struct waits *waits, const struct world *world, uint32_t arm) {
    struct text_stream stream;
    struct teller teller = {waits, world, waits->scenario, text_stream_begin(&stream)};
    tell_arm(&teller, arm, NO_INDEX);
    return text_stream_end(&stream);
}
