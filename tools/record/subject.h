/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/subject.h - what watchers watch, numbered: for each kind of event its subjects, from
 * 0. */
#pragma once

#include "model/engine/listener.h"
#include "model/scenario/scenario.h"

/* How many things can be watched for a kind: stations (starved), stations, then arms (blocked),
 * lanes (congested, jam, deadlock), the workshop itself (rest, clogged) or loops (emptied); none
 * for incidents and breakdowns. */
uint32_t subject_count(const struct scenario *scenario, enum event_kind kind);

/* Which of them the event is about, from 0, below subject_count. */
uint32_t subject_index(const struct scenario *scenario, const struct event *event);
