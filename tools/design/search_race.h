/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_race.h - attempts side by side, of which the better ones are tried longer.
 *
 * A race is successive halving (Z. Karnin, T. Koren and O. Somekh, "Almost optimal exploration in
 * multi-armed bandits", ICML 2013; K. Jamieson and A. Talwalkar, AISTATS 2016): all candidates
 * get a short trial, the better half a longer one, and so on, all with the same seeds, so that
 * they differ by what they are and not by their luck. */
#pragma once

#include "tools/design/search.h"

struct search_race {
    struct search *search; /* borrowed */
    struct search_attempt *attempt;
    uint32_t count;
};

/* Adds an attempt with a copy of a choice, which is returned to be changed; it is valid until the
 * next one is added. */
struct plan_choice *search_race_enter(struct search_race *race, const struct plan_choice *like);
/* Runs it: the winner comes first, if any attempt could be planned. False: a signal was noted. */
bool search_race_run(struct search_race *race);
void search_race_free(struct search_race *race);
