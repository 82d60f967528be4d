/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_dot.c - the wait-for graph for Graphviz: vertices and edges in the scenario's
 * order, so that the same graph is the same text. */
#include <stdio.h>
#include <stdlib.h>

#include "model/scenario/quantity.h"
#include "sim/text_stream.h"
#include "tools/cause/cause_report.h"
#include "tools/cause/wait_words.h"

/* Okabe and Ito's vermillion: it stands out from black in grey, too, and by its width. */
static const char ring_colour[] = "#d55e00";

static const char *shape_of(enum waits_kind kind) {
    switch (kind) {
    case WAITS_TRACK: return "ellipse";
    case WAITS_ARM: return "box";
    case WAITS_STATION: return "hexagon";
    case WAITS_CHEST: return "folder";
    case WAITS_ARM_GATE:
    case WAITS_STATION_GATE:
    case WAITS_SUPPLY_GATE: return "diamond";
    case WAITS_SUPPLY: return "invhouse";
    case WAITS_DEMAND: return "house";
    }
    return "box";
}

static bool follows_in_ring(const struct cause_case *self, const struct waits_edge *edge) {
    for (uint32_t i = 0; i < self->roots.ring_length; i++)
        if (self->roots.ring[i] == edge->from &&
            self->roots.ring[(i + 1) % self->roots.ring_length] == edge->to)
            return true;
    return false;
}

static bool is_in_ring(const struct cause_case *self, uint32_t vertex) {
    for (uint32_t i = 0; i < self->roots.ring_length; i++)
        if (self->roots.ring[i] == vertex)
            return true;
    return false;
}

static bool is_shown(const struct cause_case *self, const struct waits_edge *edge) {
    return edge->to != WAITS_NOBODY && self->roots.walked[edge->from] &&
           self->roots.walked[edge->to];
}

static void print_vertices(const struct cause_case *self, FILE *out) {
    const struct waits *waits = &self->waits;
    char name[WAIT_WORDS_BYTES];
    for (uint32_t vertex = 0; vertex < waits_vertices(waits); vertex++) {
        if (!self->roots.walked[vertex])
            continue;
        fprintf(out, "  v%u [label=\"%s\", shape=%s", vertex, wait_words_name(waits, vertex, name),
                shape_of(waits_thing(waits, vertex).kind));
        if (is_in_ring(self, vertex))
            fprintf(out, ", color=\"%s\", penwidth=3", ring_colour);
        fputs("];\n", out);
    }
}

static void print_edges(const struct cause_case *self, FILE *out) {
    const struct waits *waits = &self->waits;
    char what[WAIT_WORDS_BYTES], since[QUANTITY_TEXT_SIZE];
    for (uint32_t i = 0; i < waits->edge_count; i++) {
        const struct waits_edge *edge = &waits->edge[i];
        if (!is_shown(self, edge))
            continue;
        quantity_clock(edge->since, waits->scenario->ticks_per_second, since);
        fprintf(out, "  v%u -> v%u [label=\"%s\\nsince %s\"", edge->from, edge->to,
                wait_words_what(waits, edge, what), since);
        if (follows_in_ring(self, edge))
            fprintf(out, ", color=\"%s\", penwidth=3", ring_colour);
        fputs("];\n", out);
    }
}

char *cause_report_dot(const struct cause_case *self) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    fputs("digraph waits {\n  rankdir=LR;\n  node [fontname=\"sans-serif\"];\n"
          "  edge [fontname=\"sans-serif\", fontsize=10];\n",
          out);
    print_vertices(self, out);
    print_edges(self, out);
    fputs("}\n", out);
    return text_stream_end(&stream);
}
