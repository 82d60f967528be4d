/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_flow.h - which item can ever be in which place, as far as a scenario without
 * errors says: from what chests start with, supplies deliver, stations make and incidents drop,
 * along the arms. Counts, times and gates are not looked at; a station is taken to work. Private to
 * model/read*.c. */
#pragma once

#include "model/reader/reading.h"
#include "model/scenario/pairs.h"

/* An arm that may take one item out of one place. */
struct flow_edge {
    uint64_t pair;
    uint32_t arm;
};

struct flow {
    const struct scenario *scenario;
    struct flow_edge *edge; /* of arms with a list of their own, by pair, then by arm */
    uint32_t edge_count;
    uint32_t *all_arm;    /* arms with a list of all items, by source */
    uint32_t *all_first;  /* [place_count + 1]: where those of a place begin in all_arm */
    uint32_t place_count; /* chests, lanes, lines, stations' outputs, stations' inputs */
    struct pairs reached; /* place and item; the value says what brought it, see below */
    bool *arm_used;
    bool complete; /* false: given up, the scenario is too intertwined */
};

/* Values of `reached`: an arm's index; the number of arms plus the index of the incident that drops
 * it; NO_INDEX: it was there, was delivered or made. */

enum flow_side { FLOW_FROM, FLOW_TO };

struct flow read_flow_init(const struct reading *reading);
void read_flow_free(struct flow *flow);

/* The number of a place; a station has two: what is taken from it, and what is put into it. */
uint32_t read_flow_place(const struct scenario *scenario, struct place place, enum flow_side side);

/* True when some arm may take the item out of the place. */
bool read_flow_leaves(const struct flow *flow, uint32_t place, uint32_t item);
/* True when some arm takes from the place at all. */
bool read_flow_has_taker(const struct flow *flow, uint32_t place);
