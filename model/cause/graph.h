/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/cause/graph.h - who waits for whom, as points and arrows, and what follows from that alone.
 *
 * A vertex gets on when those for whom it waits give it what it needs: each edge says what its end
 * is worth, each vertex how much it needs. To need nothing is to move by itself; to need 1 with
 * edges worth 1 is to wait for any of several; to need as much as there are edges is to wait for
 * all of them. With single resources a circular wait is a deadlock; with several units it need not
 * be one, and graph_stuck finds out.
 *
 * Sources: E. G. Coffman, M. J. Elphick, A. Shoshani, "System Deadlocks", Computing Surveys 3
 * (1971) 67-78; R. Tarjan, "Depth-first search and linear graph algorithms", SIAM J. Computing 1
 * (1972) 146-160. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct graph_edge {
    uint32_t from, to;
    int64_t worth;
};

struct graph {
    uint32_t vertex_count;
    int64_t *need;
    struct graph_edge *edge; /* after graph_sort: those of vertex v are first[v] .. first[v + 1] */
    uint32_t *first;
    uint32_t edge_count, edge_capacity;
};

/* Vertices 0 .. vertex_count - 1 that need 1 each, and no edges yet. */
void graph_init(struct graph *graph, uint32_t vertex_count);
void graph_free(struct graph *graph);

/* `from` waits for `to`. Edges of one vertex keep the order in which they are added. */
void graph_add(struct graph *graph, uint32_t from, uint32_t to, int64_t worth);
/* Puts the edges in the order of where they begin: to be called when all are there. */
void graph_sort(struct graph *graph);

/* The strongly connected component of each vertex, into component[]; returns how many there are.
 * Edges lead from a component to itself or to one with a lower number. */
uint32_t graph_components(const struct graph *graph, uint32_t *component);

/* A circular wait through `start` in the order of waiting, into ring[] (room for all vertices):
 * each waits for the next, the last for `start`. Only vertices with among[v] are looked at; those
 * to which earlier edges lead are preferred. Returns how many, 0: there is none. */
uint32_t graph_ring(const struct graph *graph, uint32_t start, const bool *among, uint32_t *ring);

/* Which vertices can never get on: what is left when, again and again, whoever has what it needs is
 * taken to get on and to give to those that wait for it what it is worth. */
void graph_stuck(const struct graph *graph, bool *stuck);
