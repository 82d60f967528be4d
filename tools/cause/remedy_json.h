/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_json.h - changes that were tried, as data. */
#pragma once

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>

#include "tools/cause/cause_trial.h"

/* A change and what came of it. `failed`: when what it is judged by comes, NOT_GIVEN: never;
 * `starved`: whether a starvation that matters lasted. */
json_t *remedy_json(const struct trial_book *book, const struct trial *trial, int64_t failed,
                    bool starved);

/* Ticks in seconds, as events.csv tells them: the double nearest to the exact decimal. NOT_GIVEN:
 * null. */
json_t *remedy_json_seconds(const struct scenario *scenario, int64_t tick);
