/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_settings.c - reads title, clock, run and watch. The clock is read before
 * everything else, because every duration is rounded to its ticks. */
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* How long an arm or station that works on no loop is blocked before it is an event, where the
 * scenario does not say; on a loop it is one revolution. */
enum { DEFAULT_BLOCKED_S = 10 };

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
    reading_open(reading, node, CATALOGUE_CLOCK, &fields);
    read_key_count(reading, &fields, "ticks_per_second", &reading->scenario->ticks_per_second);
}

static void read_run(struct reading *reading, struct node *node) {
    struct fields fields;
    struct scenario *scenario = reading->scenario;
    int64_t seed;
    reading_open(reading, node, CATALOGUE_RUN, &fields);
    read_key_ticks(reading, &fields, "for", &scenario->run_ticks);
    read_key_ticks(reading, &fields, "warm_up", &scenario->warm_up_ticks);
    read_key_count(reading, &fields, "seed", &seed);
    if (scenario->warm_up_ticks > 0 && scenario->warm_up_ticks >= scenario->run_ticks)
        reading_warning(reading, reading_get(&fields, "warm_up"),
                        "`warm_up` is not shorter than the run: nothing is left to sum up");
    scenario->seed = (uint64_t)seed;
}

static void read_watch(struct reading *reading, struct node *node) {
    struct fields fields;
    struct scenario_watch *watch = &reading->scenario->watch;
    watch->blocked_after_ticks = NOT_GIVEN;
    watch->blocked_default_ticks = DEFAULT_BLOCKED_S * reading->scenario->ticks_per_second;
    reading_open(reading, node, CATALOGUE_WATCH, &fields);
    read_key_ticks(reading, &fields, "every", &watch->every_ticks);
    read_key_ticks(reading, &fields, "starved_after", &watch->starved_after_ticks);
    read_key_ticks(reading, &fields, "blocked_after", &watch->blocked_after_ticks);
    read_key_ticks(reading, &fields, "jam_after", &watch->jam_after_ticks);
    read_key_ratio(reading, &fields, "congested_at", INT64_MAX, &watch->congested_at);
}

void read_settings(struct reading *reading, const struct fields *top) {
    read_clock(reading, reading_get(top, "clock"));
    read_title(reading, reading_get(top, "title"));
    read_run(reading, reading_get(top, "run"));
    read_watch(reading, reading_get(top, "watch"));
}
