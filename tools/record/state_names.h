/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/state_names.h - the words for what arms and stations are doing, as in the columns of
 * arms.csv and stations.csv. */
#pragma once

#include "model/engine/world.h"

const char *state_names_arm(enum arm_state state);
const char *state_names_station(enum station_state state);
