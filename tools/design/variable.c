/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/variable.c - ladders of numbers, and lists of what can be had. */
#include "tools/design/variable.h"

#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/limits.h"
#include "sim/require.h"
#include "tools/design/numbers.h"

enum { CELLS_LISTED = 64, NUMBERS_MOST = 400 };

static void add_choice(struct variable *variable, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
static void add_choice(struct variable *variable, const char *format, ...) {
    char text[500];
    va_list values;
    va_start(values, format);
    vsnprintf(text, sizeof text, format, values);
    va_end(values);
    variable->choice =
        require_more_memory(variable->choice, variable->count + 1, sizeof *variable->choice);
    variable->choice[variable->count++] = require_text(text);
}

/* Steps of about a quarter, from `least` to `most`. */
static void add_ladder(struct variable *variable, const char *path, int64_t least, int64_t most) {
    for (int64_t value = least; value <= most; value += value < 6 ? 1 : (value + 3) / 4)
        add_choice(variable, "%s=%" PRId64, path, value);
}

static void add_capacities(struct variable *variable, const struct may *may, const char *path) {
    for (uint32_t i = 0; i < may->capacity_count; i++)
        add_choice(variable, "%s=%" PRId64, path, may->capacity[i]);
    if (may->capacity_count == 0)
        add_ladder(variable, path, 4, may->capacity_most);
}

static double value_of(struct ratio ratio) {
    return (double)ratio.numerator / (double)ratio.denominator;
}

/* Slow belts first. */
static void add_rates(struct variable *variable, const struct may *may, const char *path) {
    bool line = strncmp(path, "lines.", 6) == 0 && may->line_rates.count > 0;
    const struct may_rate *rate = line ? may->line_rates.rate : may->loop_rates.rate;
    uint32_t count = line ? may->line_rates.count : may->loop_rates.count;
    double below = -1;
    for (uint32_t added = 0; added < count; added++) {
        uint32_t next = UINT32_MAX;
        for (uint32_t i = 0; i < count; i++)
            if (value_of(rate[i].rate) > below &&
                (next == UINT32_MAX || value_of(rate[i].rate) < value_of(rate[next].rate)))
                next = i;
        if (next == UINT32_MAX)
            return;
        below = value_of(rate[next].rate);
        add_choice(variable, "%s=%s", path, rate[next].text);
    }
}

/* Kinds of arms from the slowest to the fastest, by items a second. */
static void add_kinds(struct variable *variable, const struct may *may, const char *path,
                      bool hand) {
    double below = -1;
    for (uint32_t added = 0; added < may->arm_count; added++) {
        uint32_t next = UINT32_MAX;
        double best = INFINITY;
        for (uint32_t i = 0; i < may->arm_count; i++) {
            double rate = may->arm[i].hand / (double)may->arm[i].swing_ticks;
            if (rate > below && rate < best) {
                next = i;
                best = rate;
            }
        }
        if (next == UINT32_MAX)
            return;
        below = best;
        if (hand)
            add_choice(variable, "%s=%u", path, may->arm[next].hand);
        else
            add_choice(variable, "%s=%s", path, may->arm[next].swing);
    }
}

static uint32_t cells_of_place(const struct draft *draft, const char *place) {
    const struct scenario *scenario = draft->scenario;
    size_t length = strcspn(place, "/");
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        if (strlen(scenario->loop[i].name) == length &&
            strncmp(scenario->loop[i].name, place, length) == 0)
            return scenario->loop[i].cell_count;
    for (uint32_t i = 0; i < scenario->line_count; i++)
        if (strcmp(scenario->line[i].name, place) == 0)
            return scenario->line[i].cell_count;
    return 1;
}

static void add_places(struct variable *variable, const struct draft *draft,
                       const struct draft_open *open) {
    uint32_t cells = cells_of_place(draft, open->place);
    uint32_t most = cells < 1000 ? cells : CELLS_LISTED;
    uint32_t step = most > CELLS_LISTED ? most / CELLS_LISTED + 1 : 1;
    for (uint32_t cell = 0; cell < most; cell += step)
        add_choice(variable, "%s=%s@%u", open->path, open->place, cell);
}

void variable_init_open(struct variable *variable, const struct draft *draft,
                        const struct draft_open *open) {
    const struct may *may = &draft->may;
    bool start = strstr(open->path, ".start.") != NULL;
    *variable = (struct variable){.is_size = open->kind != DRAFT_PLACE, .open = open};
    switch (open->kind) {
    case DRAFT_COUNT: add_ladder(variable, open->path, start ? 0 : 1, NUMBERS_MOST); break;
    case DRAFT_CAPACITY: add_capacities(variable, may, open->path); break;
    case DRAFT_CELLS: add_ladder(variable, open->path, 2, may->loop_cells_most); break;
    case DRAFT_RATE: add_rates(variable, may, open->path); break;
    case DRAFT_HAND: add_kinds(variable, may, open->path, true); break;
    case DRAFT_SWING: add_kinds(variable, may, open->path, false); break;
    case DRAFT_PLACE: add_places(variable, draft, open); break;
    }
}

static bool is_of_kind(const struct draft_open *open) {
    return open->kind == DRAFT_HAND || open->kind == DRAFT_SWING;
}

/* Whether both are open numbers of the kind of one and the same arm. */
static bool are_of_one_arm(const struct draft_open *one, const struct draft_open *other) {
    size_t length = strlen(one->path) - strlen(strrchr(one->path, '.'));
    return is_of_kind(one) && is_of_kind(other) && one->kind != other->kind &&
           strncmp(one->path, other->path, length + 1) == 0;
}

bool variable_join_kind(struct variable *variable, const struct draft_open *open,
                        const struct may *may) {
    if (variable->open == NULL || variable->count != may->arm_count ||
        !are_of_one_arm(open, variable->open))
        return false;
    struct variable own = {0};
    add_kinds(&own, may, open->path, open->kind == DRAFT_HAND);
    for (uint32_t k = 0; k < own.count && k < variable->count; k++) {
        size_t room = strlen(variable->choice[k]) + strlen(own.choice[k]) + 2;
        variable->choice[k] = require_more_memory(variable->choice[k], room, 1);
        strcat(strcat(variable->choice[k], "\n"), own.choice[k]);
    }
    variable_free(&own);
    return true;
}

/* The arm whose hand a path says; NULL: it says something else. */
static const struct scenario_arm *arm_of_hand(const struct scenario *scenario, const char *path) {
    char own[LIMIT_NAME_LENGTH + 16];
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        snprintf(own, sizeof own, "arms.%s.hand", scenario->arm[i].name);
        if (strcmp(own, path) == 0)
            return &scenario->arm[i];
    }
    return NULL;
}

/* Whether an arm can be had with another hand and the same swing. */
static bool has_kind(const struct may *may, const struct scenario_arm *arm, int64_t hand) {
    for (uint32_t i = 0; i < may->arm_count; i++)
        if (may->arm[i].hand == hand && arm->swing.kind == SPAN_FIXED &&
            may->arm[i].swing_ticks == arm->swing.ticks)
            return true;
    return !may->arms_given;
}

void variable_init_number(struct variable *variable, const struct draft *draft, const char *path,
                          int64_t value) {
    const struct may *may = &draft->may;
    const struct scenario_arm *arm = arm_of_hand(draft->scenario, path);
    bool listed = numbers_is_capacity(path) && may->capacity_count > 0;
    *variable = (struct variable){.is_size = true};
    for (uint32_t i = 0; listed && i < may->capacity_count && may->capacity[i] < value; i++)
        add_choice(variable, "%s=%" PRId64, path, may->capacity[i]);
    for (int64_t low = 1; !listed && low < value && value <= 4096; low++)
        if (arm == NULL || has_kind(may, arm, low))
            add_choice(variable, "%s=%" PRId64, path, low);
    add_choice(variable, "%s=%" PRId64, path, value);
    variable->at = variable->first_at = variable->count - 1;
}

void variable_free(struct variable *variable) {
    for (uint32_t i = 0; i < variable->count; i++)
        free(variable->choice[i]);
    free(variable->choice);
    *variable = (struct variable){0};
}

int64_t variable_number(const struct variable *variable, uint32_t choice) {
    const char *text = strrchr(variable->choice[choice], variable->is_size ? '=' : '@');
    return text != NULL ? strtoll(text + 1, NULL, 10) : 0;
}
