/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_settings.c - reads title, clock, run and watch. The clock is read before
 * everything else, because every duration is rounded to its ticks. */
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* What holds where the scenario says nothing. */
enum {
    DEFAULT_TICKS_PER_SECOND = 100,
    DEFAULT_RUN_S = 3600,
    DEFAULT_SEED = 1,
    DEFAULT_SAMPLE_S = 1,
    DEFAULT_STARVED_S = 10,
    DEFAULT_BLOCKED_S = 10,
    DEFAULT_JAM_S = 30
};
static const struct ratio default_congested_at = {19, 20};

static bool has_control(const char *text) {
    for (; *text != '\0'; text++)
        if ((unsigned char)*text < 0x20 || *text == 0x7F ||
            ((unsigned char)text[0] == 0xC2 && (unsigned char)text[1] < 0xA0))
            return true;
    return false;
}

static bool is_text(const struct node *node) {
    struct decimal number;
    if (node->kind != NODE_SCALAR || yaml_tree_is_null(node))
        return false;
    return !node->plain || (strcmp(node->text, "true") != 0 && strcmp(node->text, "false") != 0 &&
                            quantity_decimal(node->text, &number) == QUANTITY_NO_NUMBER);
}

static void tell_no_text(struct reading *reading, const struct node *node) {
    struct fault *fault =
        reading_error(reading, node, "`title` wants a text, not %s", reading_found(node).text);
    if (node->kind == NODE_SCALAR && node->count > 0)
        fault_help(fault, "put it in quotes");
}

static void read_title(struct reading *reading, const struct node *node) {
    bool good = false;
    if (reading_told(node))
        good = false;
    else if (!is_text(node))
        tell_no_text(reading, node);
    else if (has_control(node->text))
        reading_error(reading, node, "`title` is one line, without control characters");
    else
        good = true;
    reading->scenario->title = require_text(good ? node->text : "");
}

static void read_clock(struct reading *reading, struct node *node) {
    struct fields fields;
    struct scenario *scenario = reading->scenario;
    scenario->ticks_per_second = DEFAULT_TICKS_PER_SECOND;
    if (reading_open(reading, node, CATALOGUE_CLOCK, &fields))
        read_value_count(reading, reading_get(&fields, "ticks_per_second"), "ticks_per_second", 1,
                         LIMIT_TICKS_PER_SECOND, &scenario->ticks_per_second);
}

static void read_run(struct reading *reading, struct node *node) {
    struct fields fields;
    struct scenario *scenario = reading->scenario;
    int64_t seed = DEFAULT_SEED;
    scenario->run_ticks = DEFAULT_RUN_S * scenario->ticks_per_second;
    if (reading_open(reading, node, CATALOGUE_RUN, &fields)) {
        read_span_ticks(reading, reading_get(&fields, "for"), "for", &scenario->run_ticks);
        read_span_ticks(reading, reading_get(&fields, "warm_up"), "warm_up",
                        &scenario->warm_up_ticks);
        read_value_count(reading, reading_get(&fields, "seed"), "seed", 0, LIMIT_SEED, &seed);
        if (scenario->warm_up_ticks > 0 && scenario->warm_up_ticks >= scenario->run_ticks)
            reading_warning(reading, reading_get(&fields, "warm_up"),
                            "`warm_up` is not shorter than the run: nothing is left to sum up");
    }
    scenario->seed = (uint64_t)seed;
}

static void read_watch(struct reading *reading, struct node *node) {
    struct fields fields;
    struct scenario_watch *watch = &reading->scenario->watch;
    int64_t second = reading->scenario->ticks_per_second;
    *watch = (struct scenario_watch){.every_ticks = DEFAULT_SAMPLE_S * second,
                                     .starved_after_ticks = DEFAULT_STARVED_S * second,
                                     .blocked_after_ticks = NOT_GIVEN,
                                     .blocked_default_ticks = DEFAULT_BLOCKED_S * second,
                                     .congested_at = default_congested_at,
                                     .jam_after_ticks = DEFAULT_JAM_S * second};
    if (!reading_open(reading, node, CATALOGUE_WATCH, &fields))
        return;
    const struct node *every = reading_get(&fields, "every");
    if (read_span_ticks(reading, every, "every", &watch->every_ticks) && watch->every_ticks == 0)
        reading_error(reading, every, "`every` must be more than 0");
    read_span_ticks(reading, reading_get(&fields, "starved_after"), "starved_after",
                    &watch->starved_after_ticks);
    read_span_ticks(reading, reading_get(&fields, "blocked_after"), "blocked_after",
                    &watch->blocked_after_ticks);
    read_span_ticks(reading, reading_get(&fields, "jam_after"), "jam_after",
                    &watch->jam_after_ticks);
    read_value_ratio(reading, reading_get(&fields, "congested_at"), "congested_at", 0, true, 1,
                     &watch->congested_at);
}

void read_settings(struct reading *reading, const struct fields *top) {
    read_clock(reading, reading_get(top, "clock"));
    read_title(reading, reading_get(top, "title"));
    read_run(reading, reading_get(top, "run"));
    read_watch(reading, reading_get(top, "watch"));
}
