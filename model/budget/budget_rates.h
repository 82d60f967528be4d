/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_rates.h - how fast arms, stations, belts, supplies and demands go. */
#pragma once

#include "model/budget/budget_figures.h"

/* Share of the time in which a thing isn't broken, 0 .. 1. */
double budget_availability(const struct breaks *breaks);
/* Cells a second of a track. */
double budget_track_rate(const struct scenario *scenario, uint32_t track);
/* Items a second of a supply or demand while it goes on, breakdowns left aside. */
double budget_stream_rate(const struct scenario *scenario, const struct scenario_stream *stream);
/* Items of one output that a batch makes, in the mean; what a batch makes or takes of an item. */
double budget_yield(const struct station_output *output);
double budget_makes(const struct scenario *scenario, uint32_t station, uint32_t item);
double budget_takes(const struct scenario *scenario, uint32_t station, uint32_t item);

/* How many an arm can have in its hand: what a station lets it have may be less than it holds. */
uint32_t budget_hand(const struct scenario *scenario, const struct scenario_arm *arm);
/* Cells of the shortest item that an arm may carry. */
double budget_shortest(const struct scenario *scenario, const struct scenario_arm *arm);

/* Fills budget->arm and ->station with what they can do. */
void budget_rates(struct budget *budget);

/* What an arm can put on a lane at best; what it unloads from a station is no more than the station
 * makes, of all the arm's items, or of one. */
double budget_feeds_at_most(const struct budget *budget, uint32_t arm);
double budget_feeds_of_item(const struct budget *budget, uint32_t arm, uint32_t item);
