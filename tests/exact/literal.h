/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/literal.h - the rules of docs/rules.md done literally: in each tick, phases 1 to 6
 * over all elements, on plain arrays. Slow and plain on purpose. It shares nothing with the engine
 * but the scenario, what listeners are given, and the streams of chance, so that the two can
 * check each other. Each function has the meaning of its namesake in model/engine/world.h. */
#pragma once

#include "model/engine/listener.h"
#include "model/engine/world.h" /* states and totals, types only */
#include "model/scenario/scenario.h"

struct literal;

struct literal *literal_new(const struct scenario *scenario);
void literal_free(struct literal *literal);
void literal_listen(struct literal *literal, const struct listener *listener);
void literal_advance(struct literal *literal, int64_t tick);
int64_t literal_tick(const struct literal *literal);
void literal_report_open(struct literal *literal);
uint64_t literal_moves(const struct literal *literal);

int64_t literal_chest_count(const struct literal *literal, uint32_t chest, uint32_t item);
int64_t literal_input_count(const struct literal *literal, uint32_t station, uint32_t input);
int64_t literal_output_count(const struct literal *literal, uint32_t station, uint32_t output);
int64_t literal_hand_count(const struct literal *literal, uint32_t arm, uint32_t item);
int64_t literal_track_count(const struct literal *literal, struct place track, uint32_t item);
int64_t literal_track_cells(const struct literal *literal, struct place track);
uint32_t literal_track_item(const struct literal *literal, struct place track, uint32_t cell);

enum arm_state literal_arm_state(const struct literal *literal, uint32_t arm);
enum station_state literal_station_state(const struct literal *literal, uint32_t station);
bool literal_gate_open(const struct literal *literal, uint32_t gate);
struct arm_totals literal_arm_totals(const struct literal *literal, uint32_t arm);
struct station_totals literal_station_totals(const struct literal *literal, uint32_t station);
struct item_totals literal_item_totals(const struct literal *literal, uint32_t item);
struct track_totals literal_track_totals(const struct literal *literal, struct place track);
void literal_forget_most(struct literal *literal);
int64_t literal_supply_held(const struct literal *literal, uint32_t supply);
int64_t literal_demand_owed(const struct literal *literal, uint32_t demand);
