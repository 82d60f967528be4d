/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/world.h - a scenario at work: the one way to make time pass, and what can be asked
 * of it.
 *
 * A world is a value: many may live side by side, one a thread, and none knows of another. It keeps
 * the rules of docs/rules.md to the tick. It borrows the scenario, which must outlive it and must
 * not change. After world_new nothing is allocated, read or written. */
#pragma once

#include "model/engine/listener.h"
#include "model/engine/totals.h"
#include "model/scenario/scenario.h"

struct world;

/* A world before tick 0. Never NULL. Freed with world_free. */
struct world *world_new(const struct scenario *scenario);
void world_free(struct world *world);

/* Who is told from now on what happens; copied. NULL: nobody. */
void world_listen(struct world *world, const struct listener *listener);

/* Executes all ticks up to and including `tick`, whole. Asking for a tick already executed does
 * nothing. Durations of watchers are measured on as if the run had no end. */
void world_advance(struct world *world, int64_t tick);

/* Executes the next tick in which something is due, if it is not behind `limit`: true. Else nothing
 * happens up to and including `limit`, which counts as executed: false. */
bool world_step(struct world *world, int64_t limit);

/* The last tick that was executed; -1 before tick 0. */
int64_t world_tick(const struct world *world);

/* Tells the listener the end of all that still lasts, as of the last tick executed (end_tick is
 * that tick). Call once, at the end of a run; the world is not changed. */
void world_tell_open(struct world *world);

/* Picks and places so far, as rows of moves.csv would count them. */
uint64_t world_moves(const struct world *world);

/* ---- what is where, after the last tick executed ---- */
/* item NO_INDEX: all */
int64_t world_chest_count(const struct world *world, uint32_t chest, uint32_t item);
int64_t world_input_count(const struct world *world, uint32_t station,
                          uint32_t input); /* input: index in takes */
int64_t world_output_count(const struct world *world, uint32_t station,
                           uint32_t output); /* output: index in makes */
int64_t world_hand_count(const struct world *world, uint32_t arm, uint32_t item);
/* Items of a kind on a lane or line (track.cell is not looked at); item NO_INDEX: all. */
int64_t world_track_count(const struct world *world, struct place track, uint32_t item);
/* Cells of a lane or line that are held. */
int64_t world_track_cells(const struct world *world, struct place track);
/* The item whose head stands at a cell, NO_INDEX: none. */
uint32_t world_track_item(const struct world *world, struct place track, uint32_t cell);

/* ---- totals over the ticks before the last one executed (world_tick) ---- */
/* States as phase 6 of the last tick saw them. */
enum arm_state world_arm_state(const struct world *world, uint32_t arm);
enum station_state world_station_state(const struct world *world, uint32_t station);
/* Whether a node of scenario.gate (a leaf or a whole gate) is open now; may be asked from inside a
 * listener's call. */
bool world_gate_open(const struct world *world, uint32_t gate);

struct arm_totals world_arm_totals(const struct world *world, uint32_t arm);
struct station_totals world_station_totals(const struct world *world, uint32_t station);
struct item_totals world_item_totals(const struct world *world, uint32_t item);
struct track_totals world_track_totals(const struct world *world, struct place track);
/* Items that batches have made, less those that they have used, summed over ticks: each counts from
 * the tick in which it was made or used. Exact below 2^53. */
double world_batch_item_ticks(const struct world *world);
/* Makes every track's cells_most what it holds after the last tick (the end of a warm-up). */
void world_forget_most(struct world *world);
/* Deliveries and orders that wait: held by a supply, owed to a demand. */
int64_t world_supply_held(const struct world *world, uint32_t supply);
int64_t world_demand_owed(const struct world *world, uint32_t demand);

/* Whether help from the edge of the workshop is still to come: a supply that could deliver, a
 * demand that could take, a repair of what is broken now (rules 11, deadlock, 5 to 7). */
bool world_help_comes(const struct world *world);
