/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/graph.c - algorithms on wait-for graphs. They do not recurse, because a chain of
 * waits may be as long as the workshop has parts. */
#include "model/cause/graph.h"

#include <stdlib.h>

#include "sim/array.h"
#include "sim/require.h"

#define NO_VERTEX UINT32_MAX

void graph_init(struct graph *graph, uint32_t vertex_count) {
    *graph = (struct graph){.vertex_count = vertex_count};
    graph->need = require_memory(vertex_count, sizeof *graph->need);
    graph->first = require_memory((size_t)vertex_count + 1, sizeof *graph->first);
    for (uint32_t i = 0; i < vertex_count; i++)
        graph->need[i] = 1;
}

void graph_free(struct graph *graph) {
    free(graph->need);
    free(graph->edge);
    free(graph->first);
    *graph = (struct graph){0};
}

void graph_add(struct graph *graph, uint32_t from, uint32_t to, int64_t worth) {
    require(from < graph->vertex_count && to < graph->vertex_count);
    graph->edge =
        array_with_room(graph->edge, graph->edge_count, &graph->edge_capacity, sizeof *graph->edge);
    graph->edge[graph->edge_count++] = (struct graph_edge){from, to, worth};
}

void graph_sort(struct graph *graph) {
    uint32_t *first = graph->first;
    struct graph_edge *sorted = require_memory(graph->edge_count, sizeof *sorted);
    uint32_t *next = require_memory((size_t)graph->vertex_count + 1, sizeof *next);
    for (uint32_t i = 0; i <= graph->vertex_count; i++)
        first[i] = 0;
    for (uint32_t i = 0; i < graph->edge_count; i++)
        first[graph->edge[i].from + 1]++;
    for (uint32_t i = 0; i < graph->vertex_count; i++)
        next[i + 1] = first[i + 1] += first[i];
    for (uint32_t i = 0; i < graph->edge_count; i++)
        sorted[next[graph->edge[i].from]++] = graph->edge[i];
    free(next);
    free(graph->edge);
    graph->edge = sorted;
    graph->edge_capacity = graph->edge_count;
}

/* ---- a walk that goes down first ---- */

struct walk {
    uint32_t *path, length; /* vertices on the way down */
    uint32_t *next;         /* of each vertex: its next edge to be followed */
};

static void walk_init(struct walk *walk, const struct graph *graph) {
    walk->length = 0;
    walk->path = require_memory(graph->vertex_count, sizeof *walk->path);
    walk->next = require_memory(graph->vertex_count, sizeof *walk->next);
    for (uint32_t i = 0; i < graph->vertex_count; i++)
        walk->next[i] = graph->first[i];
}

static void walk_free(struct walk *walk) {
    free(walk->path);
    free(walk->next);
}

/* ---- strongly connected components ---- */

struct tarjan {
    struct walk walk;
    uint32_t *number, *low; /* number: in the order of being met, from 1; 0: not met */
    uint32_t *waiting, waiting_count;
    uint32_t met, found;
    uint32_t *component;
};

static void meet(struct tarjan *tarjan, uint32_t vertex) {
    tarjan->number[vertex] = tarjan->low[vertex] = ++tarjan->met;
    tarjan->waiting[tarjan->waiting_count++] = vertex;
    tarjan->walk.path[tarjan->walk.length++] = vertex;
}

static void lower(uint32_t *value, uint32_t to) { *value = to < *value ? to : *value; }

static void close_component(struct tarjan *tarjan, uint32_t vertex) {
    uint32_t member;
    do {
        member = tarjan->waiting[--tarjan->waiting_count];
        tarjan->component[member] = tarjan->found;
    } while (member != vertex);
    tarjan->found++;
}

static void walk_from(struct tarjan *tarjan, const struct graph *graph, uint32_t root) {
    struct walk *walk = &tarjan->walk;
    meet(tarjan, root);
    while (walk->length > 0) {
        uint32_t at = walk->path[walk->length - 1];
        if (walk->next[at] < graph->first[at + 1]) {
            uint32_t to = graph->edge[walk->next[at]++].to;
            if (tarjan->number[to] == 0)
                meet(tarjan, to);
            else if (tarjan->component[to] == NO_VERTEX)
                lower(&tarjan->low[at], tarjan->number[to]);
            continue;
        }
        walk->length--;
        if (tarjan->low[at] == tarjan->number[at])
            close_component(tarjan, at);
        if (walk->length > 0)
            lower(&tarjan->low[walk->path[walk->length - 1]], tarjan->low[at]);
    }
}

uint32_t graph_components(const struct graph *graph, uint32_t *component) {
    struct tarjan tarjan = {.component = component};
    walk_init(&tarjan.walk, graph);
    tarjan.number = require_memory(graph->vertex_count, sizeof *tarjan.number);
    tarjan.low = require_memory(graph->vertex_count, sizeof *tarjan.low);
    tarjan.waiting = require_memory(graph->vertex_count, sizeof *tarjan.waiting);
    for (uint32_t i = 0; i < graph->vertex_count; i++)
        component[i] = NO_VERTEX;
    for (uint32_t i = 0; i < graph->vertex_count; i++)
        if (tarjan.number[i] == 0)
            walk_from(&tarjan, graph, i);
    walk_free(&tarjan.walk);
    free(tarjan.number);
    free(tarjan.low);
    free(tarjan.waiting);
    return tarjan.found;
}

/* ---- a circular wait ---- */

uint32_t graph_ring(const struct graph *graph, uint32_t start, const bool *among, uint32_t *ring) {
    struct walk walk;
    bool *met = require_memory(graph->vertex_count, sizeof *met);
    bool closed = false;
    walk_init(&walk, graph);
    if (among[start])
        walk.path[walk.length++] = start;
    while (walk.length > 0 && !closed) {
        uint32_t at = walk.path[walk.length - 1];
        if (walk.next[at] == graph->first[at + 1]) {
            walk.length--;
            continue;
        }
        uint32_t to = graph->edge[walk.next[at]++].to;
        closed = to == start;
        if (closed || met[to] || !among[to])
            continue;
        met[to] = true;
        walk.path[walk.length++] = to;
    }
    for (uint32_t i = 0; i < walk.length; i++)
        ring[i] = walk.path[i];
    uint32_t length = walk.length;
    walk_free(&walk);
    free(met);
    return length;
}

/* ---- who can never get on ---- */

/* The edges again, by where they end: those into v are into[first_into[v]] .. */
static uint32_t *edges_by_end(const struct graph *graph, uint32_t **first_into) {
    uint32_t *first = require_memory((size_t)graph->vertex_count + 2, sizeof *first);
    uint32_t *into = require_memory(graph->edge_count, sizeof *into);
    for (uint32_t i = 0; i < graph->edge_count; i++)
        first[graph->edge[i].to + 2]++;
    for (uint32_t i = 0; i < graph->vertex_count; i++)
        first[i + 2] += first[i + 1];
    for (uint32_t i = 0; i < graph->edge_count; i++)
        into[first[graph->edge[i].to + 1]++] = i;
    *first_into = first;
    return into;
}

void graph_stuck(const struct graph *graph, bool *stuck) {
    uint32_t *first, *into = edges_by_end(graph, &first);
    uint32_t *free_one = require_memory(graph->vertex_count, sizeof *free_one), free_count = 0;
    int64_t *lacks = require_memory(graph->vertex_count, sizeof *lacks);
    for (uint32_t i = 0; i < graph->vertex_count; i++) {
        lacks[i] = graph->need[i];
        stuck[i] = lacks[i] > 0;
        if (!stuck[i])
            free_one[free_count++] = i;
    }
    for (uint32_t i = 0; i < free_count; i++)
        for (uint32_t j = first[free_one[i]]; j < first[free_one[i] + 1]; j++) {
            const struct graph_edge *edge = &graph->edge[into[j]];
            lacks[edge->from] -= edge->worth;
            if (!stuck[edge->from] || lacks[edge->from] > 0)
                continue;
            stuck[edge->from] = false;
            free_one[free_count++] = edge->from;
        }
    free(first);
    free(into);
    free(free_one);
    free(lacks);
}
