/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/state_names.c - a word for each state. */
#include "tools/record/state_names.h"

const char *state_names_arm(enum arm_state state) {
    switch (state) {
    case ARM_REACHING: return "reaching";
    case ARM_CARRYING: return "carrying";
    case ARM_PLACING: return "placing";
    case ARM_RETURNING: return "returning";
    case ARM_STOPPED: return "stopped";
    }
    return "";
}

const char *state_names_station(enum station_state state) {
    switch (state) {
    case STATION_WORKING: return "working";
    case STATION_STARVED: return "starved";
    case STATION_BLOCKED: return "blocked";
    case STATION_GATED: return "gated";
    case STATION_STOPPED: return "stopped";
    }
    return "";
}
