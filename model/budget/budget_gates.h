/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_gates.h - what gates watch, and how far chests can fill; shared by the rules
 * of the trade and the proofs. */
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
 * away without a look at all places. */
struct budget_below {
    const struct budget_net *net; /* borrowed */
    bool *mark;                   /* [place * items + item] */
    size_t *reached;              /* indices of marks, in the order in which they were set */
    uint32_t count, room;
};

void budget_below_init(struct budget_below *below, const struct budget_net *net);
void budget_below_free(struct budget_below *below);
/* Marks all places to which an item that lies at a place may come, and (products) to which what
 * stations make of it may come; and nothing else. */
void budget_mark_below(struct budget_below *below, uint32_t place, uint32_t item, bool products);

/* Whether an item on a lane may be put onto it: a feeder; taken off: a taker. */
bool budget_feeds(const struct budget_net *net, uint32_t arm, uint32_t lane, uint32_t item);
bool budget_takes_off(const struct budget_net *net, uint32_t arm, uint32_t lane, uint32_t item);
bool budget_rides(const struct budget_net *net, uint32_t lane, uint32_t item);

/* Cells from one to another in the direction of travel, 1 .. N. */
uint32_t budget_ahead(const struct scenario *scenario, uint32_t lane, uint32_t from, uint32_t to);

/* How many of an item single drops put on a lane in all; INT64_MAX: drops that repeat. */
int64_t budget_dropped(const struct scenario *scenario, uint32_t lane, uint32_t item);
/* Whether incidents or breakdowns may stop a thing. */
bool budget_may_stop(const struct scenario *scenario, enum part_kind kind, uint32_t index);
