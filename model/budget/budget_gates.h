/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_gates.h - what gates watch, where things may come to, and what incidents may
 * do; shared by the rules of the trade and the proofs. Private to this room. */
#pragma once

#include "model/budget/budget_net.h"

/* True when a gate (NO_INDEX: never) is shut as long as some leaf `below n` that suits is shut: for
 * `all` one child is enough, for `any` it takes every child. */
bool budget_gate_suits(const struct scenario *scenario, uint32_t gate,
                       bool (*suits)(const void *self, const struct scenario_gate *leaf),
                       const void *self);
/* The same, and the highest threshold (incidents included) of what suits, the lowest where one of
 * several is enough; 0: it does not suit. */
int64_t budget_gate_below(const struct scenario *scenario, uint32_t gate,
                          bool (*suits)(const void *self, const struct scenario_gate *leaf),
                          const void *self);
/* What keeps items from an arm besides its own gate: the gate of the station that it unloads. */
uint32_t budget_source_gate(const struct scenario *scenario, uint32_t arm);

/* Where something may come to from where it lies: marks, kept in a list, so that they are taken
 * away without a look at all pairs. */
struct budget_downstream {
    const struct budget_net *net; /* borrowed */
    bool *mark;                   /* [pair of place and item] */
    uint32_t *reached;            /* pairs, in the order in which they were marked */
    uint32_t count, capacity;
};

void budget_downstream_init(struct budget_downstream *downstream, const struct budget_net *net);
void budget_downstream_free(struct budget_downstream *downstream);
/* Marks all places to which an item that lies at a place may come, and (products) to which what
 * stations make of it may come; and nothing else. */
void budget_downstream_mark(struct budget_downstream *downstream, uint32_t place, uint32_t item,
                            bool products);
bool budget_downstream_has(const struct budget_downstream *downstream, uint32_t place,
                           uint32_t item);

/* Cells from one to another in the direction of travel, 1 .. N. */
uint32_t budget_ahead(const struct scenario *scenario, uint32_t lane, uint32_t from, uint32_t to);

/* How many of an item single drops put on a lane in all; INT64_MAX: drops that repeat. */
int64_t budget_dropped(const struct scenario *scenario, uint32_t lane, uint32_t item);
/* Whether incidents or breakdowns may stop a part. */
bool budget_may_stop(const struct scenario *scenario, struct part part);
