/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_net.h - where items can be, and how fast things go; shared by the files of
 * the budget and of no use to others. */
#pragma once

#include <stddef.h>

#include "model/budget/budget.h"
#include "model/scenario/layout.h"

void budget_net_init(struct budget_net *net, const struct scenario *scenario);
void budget_net_free(struct budget_net *net);

/* The places, of layout.h, at which an arm takes and puts. */
uint32_t budget_from(const struct scenario *scenario, uint32_t arm);
uint32_t budget_to(const struct scenario *scenario, uint32_t arm);

/* Index into lists of an entry for each place and item. */
size_t budget_at(const struct scenario *scenario, uint32_t place, uint32_t item);
/* Index into lists of an entry for each arm and item, of an item that the arm names. */
size_t budget_entry(const struct budget_net *net, uint32_t arm, uint32_t item);
/* Whether an arm may ever carry its n-th item; and in the long run. */
bool budget_carries(const struct budget_net *net, uint32_t arm, uint32_t n);
bool budget_carries_on(const struct budget_net *net, uint32_t arm, uint32_t n);
/* Whether it may ever carry an item. */
bool budget_carries_item(const struct budget_net *net, uint32_t arm, uint32_t item);

/* Share of the time in which a thing isn't broken. */
double budget_availability(const struct breaks *breaks);
/* Items a second that a supply or demand moves in the mean, while it does. */
double budget_stream_rate(const struct scenario *scenario, const struct scenario_stream *stream);
/* Cells a second of a track. */
double budget_track_rate(const struct scenario *scenario, uint32_t track);
/* Items of one output that a batch makes, in the mean; of an item that it makes or takes. */
double budget_yield(const struct station_output *output);
double budget_makes(const struct scenario *scenario, uint32_t station, uint32_t item);
double budget_takes(const struct scenario *scenario, uint32_t station, uint32_t item);

/* Fills budget->arm and ->station with what they can do. */
void budget_rates(struct budget *budget);
/* Explodes the demand through the recipes: budget->station needed, ->item. */
void budget_explode(struct budget *budget);
/* Sends what is needed through the arms: budget->flow, arm needed. */
void budget_route(struct budget *budget);
/* What a lane carries once more because takers miss it, cells a second; an estimate. */
double budget_missed(const struct budget *budget, uint32_t lane);
/* Stretches and tracks. */
void budget_stretches(struct budget *budget);
/* Kwo's rules for lanes with one feeder and one taker. */
void budget_kwo(struct budget *budget);
/* The products with their greatest rates. */
void budget_greatest(struct budget *budget);
/* The eight rules; the proofs. */
void budget_rules(struct budget *budget);
void budget_certify(struct budget *budget);
