/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/world.h - a scenario at work: the one way to make time pass, and queries.
 *
 * A world is a value: many may live side by side, one a thread, independent of each other. It keeps
 * the rules of docs/rules.md to the tick. It borrows the scenario, which must outlive it and must
 * not change. After world_new nothing is allocated, read or written.
 *
 * Between two ticks, these invariants hold (world_audit checks them):
 *  1. For each item: initial + supplied + dropped + made - met - consumed - cleared is what lies
 *     in chests and stocks, is held in hands, and lies on loops and lines (docs/rules.md).
 *  2. The total of a chest or of a side of a station is the sum of its items; what a gate reads
 *     of a track is what lies there; what is promised to a place is what arms hold on the way to
 *     it. Nothing is negative.
 *  3. The bits of a lane agree with its items, the items of a line neither overlap nor leave it,
 *     and the counts of tracks and loops are those of the items on them. The position of a belt
 *     is one that its clock has reached, and the clock runs exactly when nothing stops the belt.
 *  4. A gate is open exactly when its counts, and the latch, say so; a latch reopens at its
 *     threshold or below.
 *  5. A hand holds what its runs say, not more than it can, and only in the states in which an
 *     arm holds something. The ticks of an actor's states, none negative, add up to the run.
 *  6. Lists of waiting actors are linked both ways, and every waiting actor is in the list of
 *     what it waits for. An arm that is placing onto a track is in the track's list, those that
 *     have waited longest first, and those whose `blocked` is open before all others.
 *  7. No actor is due at a tick that has passed, and every actor whose next act is at a known
 *     tick is scheduled then or earlier. An arm that waits for an item on a lane is scheduled as
 *     long as one that it has room for lies there.
 *  8. Only a lane is congested or jams, only a jammed lane is deadlocked, only a rest is clogged,
 *     only an arm that is placing is blocked; counts of open events are right.
 *  9. What was asked for of an item and is neither owed nor given up was taken. */
#pragma once

#include "model/engine/belt_clock.h"
#include "model/engine/listener.h"
#include "model/engine/totals.h"
#include "model/scenario/scenario.h"

struct world;

/* A world before tick 0. Never NULL. Freed with world_free. */
struct world *world_new(const struct scenario *scenario);
void world_free(struct world *world);

/* Sets the listener, which is copied; NULL: none. */
void world_listen(struct world *world, const struct listener *listener);
/* The listener as it is now; all NULL: none. */
struct listener world_listener(const struct world *world);

/* From now on the listener is called when an arm changes (listener.h), and no more, as often as it
 * was observed. May be called from inside a listener's call. What is observed is no state: it is
 * not saved. That a returning arm is back, where it then waits, is not reported. */
void world_observe_arm(struct world *world, uint32_t arm);
void world_ignore_arm(struct world *world, uint32_t arm);

/* Executes all ticks up to and including `tick`, whole. Asking for a tick already executed does
 * nothing. Durations of watchers are measured on as if the run had no end. */
void world_advance(struct world *world, int64_t tick);

/* The same, but ends with the first tick after or in which world_pause was called: true, and there
 * may be more ticks up to `limit`. False: all are executed. */
bool world_run(struct world *world, int64_t limit);

/* Makes world_run end with the tick at work or, called between ticks, with the next one in which
 * something is due: for those who want to look then. It is no state. */
void world_pause(struct world *world);

/* Executes the next tick in which something is due, if it is not after `limit`: true. Else nothing
 * happens up to and including `limit`, which counts as executed: false. */
bool world_step(struct world *world, int64_t limit);

/* Stops the program (status 5, sim/require.h) when an invariant does not hold. Between ticks only,
 * not from a listener. Looks at every cell and actor: for tests, and for users who suspect the
 * program.
 */
void world_audit(const struct world *world);

/* The last tick that was executed; -1 before tick 0. */
int64_t world_tick(const struct world *world);

/* Reports to the listener the end of all that still lasts, as of the last tick executed (end_tick
 * is that tick). Call once, at the end of a run; the world is not changed. */
void world_report_open(struct world *world);

/* Picks and places so far, as rows of moves.csv would count them. */
uint64_t world_moves(const struct world *world);

/* Batches that ended in this world since it was made, of all stations. It is not part of its state:
 * what it is good for is to see that it has changed. */
uint64_t world_batches(const struct world *world);

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
/* For those who ask often: a count of a stock, or of a kind of item on a lane or line, by a number
 * that is found once. It is good for every world of the scenario; NO_INDEX: none can ever be there,
 * and its count is 0. */
uint32_t world_chest_stock(const struct world *world, uint32_t chest, uint32_t item);
uint32_t world_input_stock(const struct world *world, uint32_t station, uint32_t input);
uint32_t world_output_stock(const struct world *world, uint32_t station, uint32_t output);
int64_t world_stock_count(const struct world *world, uint32_t stock);
uint32_t world_track_kind(const struct world *world, struct place track, uint32_t item);
int64_t world_kind_count(const struct world *world, uint32_t kind);
/* The item whose head is at a cell, NO_INDEX: none. */
uint32_t world_track_item(const struct world *world, struct place track, uint32_t cell);
/* When a belt steps, as of the last tick: loops first, in the scenario's order, then lines. */
struct belt_clock world_belt_clock(const struct world *world, uint32_t belt);

/* ---- totals over the ticks before the last one executed (world_tick) ---- */
/* States as phase 6 of the last tick saw them. */
enum arm_state world_arm_state(const struct world *world, uint32_t arm);
enum station_state world_station_state(const struct world *world, uint32_t station);
/* Whether a node of scenario.gate (a leaf or a whole gate) is open now; may be asked from inside a
 * listener's call. */
bool world_gate_open(const struct world *world, uint32_t gate);

struct arm_totals world_arm_totals(const struct world *world, uint32_t arm);
/* Whether all arms have always been plain: each swing takes a fixed time and moves one item, and
 * none has been stopped. Then the second says what the first would, in fewer steps. */
bool world_arms_are_plain(const struct world *world);
struct arm_totals world_plain_arm_totals(const struct world *world, uint32_t arm);
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

/* From when nothing has moved and nobody is at work or will be helped, in the sense of `deadlock`
 * without its first condition, that a lane is jammed (rules 11), where that has lasted as long as
 * is asked there; else NOT_GIVEN. To be asked after world_step was true: as long as a loop runs,
 * something is due once a revolution at least. */
int64_t world_still_since(struct world *world);
