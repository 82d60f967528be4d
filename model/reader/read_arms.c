/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_arms.c - reads arms, and works out which items each may carry where the
 * scenario does not say so. Equal defaults share one list in memory, because a large scenario
 * may have ten thousand arms that may each carry ten thousand items. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* What is shared while arms are read. */
struct arm_defaults {
    uint32_t *length;   /* of all items, in rising order */
    uint32_t *owner;    /* [item_count + 1]: the arm that owns the list of the n items that fit */
    bool told_too_many; /* LIMIT_ARM_ITEMS or LIMIT_HANDS */
    bool told_hands;
};

static int compare_lengths(const void *left, const void *right) {
    const uint32_t *a = left, *b = right;
    return (*a > *b) - (*a < *b);
}

static struct arm_defaults defaults_init(const struct scenario *scenario) {
    struct arm_defaults defaults = {
        .length = require_memory(scenario->item_count, sizeof(uint32_t)),
        .owner = require_memory((size_t)scenario->item_count + 1, sizeof(uint32_t))};
    for (uint32_t i = 0; i < scenario->item_count; i++)
        defaults.length[i] = scenario->item[i].length;
    qsort(defaults.length, scenario->item_count, sizeof(uint32_t), compare_lengths);
    for (uint32_t i = 0; i <= scenario->item_count; i++)
        defaults.owner[i] = NO_INDEX;
    return defaults;
}

/* How many items are at most `longest` cells long. */
static uint32_t fitting_count(const struct arm_defaults *defaults, uint32_t item_count,
                              uint32_t longest) {
    uint32_t low = 0, high = item_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (defaults->length[middle] <= longest)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The longest item that fits at a place; UINT32_MAX: any, or not known. */
static uint32_t longest_at(const struct scenario *scenario, struct place place) {
    if (place.kind == PLACE_LINE)
        return place.cell + 1;
    uint32_t cells = place.kind == PLACE_LANE ? read_place_cells(scenario, place) : 0;
    return cells > 0 ? cells : UINT32_MAX;
}

static uint32_t longest_of(const struct scenario *scenario, const struct scenario_arm *arm) {
    uint32_t from = longest_at(scenario, arm->from), to = longest_at(scenario, arm->to);
    return from < to ? from : to;
}

/* ---- items by default ---- */
static void tell_nothing_to_carry(struct reading *reading, const struct node *node,
                                  const struct scenario_arm *arm) {
    const struct scenario *scenario = reading->scenario;
    struct fault *fault =
        reading_error(reading, node, "arm `%s` has no item that it could carry", arm->name);
    if (arm->to.kind == PLACE_STATION && scenario->station[arm->to.index].takes.count == 0)
        fault_note(fault, "station `%s` takes nothing", scenario->station[arm->to.index].name);
    else if (scenario->item_count == 0)
        fault_note(fault, "the scenario has no items");
    else
        fault_note(fault, "at most %" PRIu32 " cells are free for one there",
                   longest_of(scenario, arm));
}

static void count_items(struct reading *reading, struct arm_defaults *defaults,
                        const struct node *node, uint32_t count) {
    reading->arm_items += count;
    if (reading->arm_items <= LIMIT_ARM_ITEMS || defaults->told_too_many)
        return;
    char limit[QUANTITY_TEXT_SIZE];
    defaults->told_too_many = true;
    fault_note(reading_error(reading, node, "the lists of what arms may carry are too long"),
               "at most %s entries in all", quantity_grouped(LIMIT_ARM_ITEMS, limit));
}

/* All items that are not too long, in the scenario's order; shared. */
static void default_to_all(struct reading *reading, struct arm_defaults *defaults,
                           const struct node *node, uint32_t index) {
    const struct scenario *scenario = reading->scenario;
    struct scenario_arm *arm = &scenario->arm[index];
    uint32_t longest = longest_of(scenario, arm);
    uint32_t count = fitting_count(defaults, scenario->item_count, longest);
    uint32_t owner = defaults->owner[count];
    arm->takes_what_fits = true;
    if (owner != NO_INDEX) {
        arm->item = scenario->arm[owner].item;
        arm->item_count = count;
        arm->borrows_items = true;
        return;
    }
    count_items(reading, defaults, node, count);
    if (defaults->told_too_many)
        return;
    arm->item = require_memory(count, sizeof *arm->item);
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (scenario->item[i].length <= longest)
            arm->item[arm->item_count++] = i;
    defaults->owner[count] = index;
}

/* What the destination station takes and is not too long. */
static void default_to_takes(const struct scenario *scenario, struct scenario_arm *arm) {
    const struct item_counts *takes = &scenario->station[arm->to.index].takes;
    uint32_t longest = longest_of(scenario, arm);
    arm->item = require_memory(takes->count, sizeof *arm->item);
    for (uint32_t i = 0; i < takes->count; i++)
        if (scenario->item[takes->entry[i].item].length <= longest)
            arm->item[arm->item_count++] = takes->entry[i].item;
}

static void read_default_items(struct reading *reading, struct arm_defaults *defaults,
                               const struct node *node, uint32_t index) {
    struct scenario_arm *arm = &reading->scenario->arm[index];
    bool to_station = arm->to.kind == PLACE_STATION;
    if (to_station && !reading->station_known[arm->to.index])
        return;
    if (to_station)
        default_to_takes(reading->scenario, arm);
    else
        default_to_all(reading, defaults, node, index);
    count_items(reading, defaults, node, to_station ? arm->item_count : 0);
    if (arm->item_count == 0 && !defaults->told_too_many)
        tell_nothing_to_carry(reading, node, arm);
}

/* ---- items written out ---- */
/* Tells an item that can't be carried from `from` to `to`. */
static bool check_item(struct reading *reading, const struct node *node,
                       const struct scenario_arm *arm, uint32_t item) {
    const struct scenario *scenario = reading->scenario;
    uint32_t longest = longest_of(scenario, arm);
    if (scenario->item[item].length > longest) {
        fault_note(
            reading_error(reading, node, "`%s` is too long for where the arm works", node->text),
            "it is %" PRIu32 " cells long, and at most %" PRIu32 " fit",
            scenario->item[item].length, longest);
        return false;
    }
    if (arm->to.kind != PLACE_STATION || !reading->station_known[arm->to.index])
        return true;
    if (pairs_find(&reading->takes, arm->to.index, item) != NO_INDEX)
        return true;
    reading_error(reading, node, "station `%s` does not take `%s`",
                  scenario->station[arm->to.index].name, node->text);
    return false;
}

static void read_written_items(struct reading *reading, struct arm_defaults *defaults,
                               const struct node *list, struct scenario_arm *arm, bool placed) {
    struct names seen = {0};
    if (!read_value_list(reading, list, "items", true))
        return;
    count_items(reading, defaults, list, list->count);
    arm->item = require_memory(list->count, sizeof *arm->item);
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t item = reading_item(reading, list->child[i], "items");
        if (item == NO_INDEX)
            continue;
        if (names_add(&seen, list->child[i]->text, i) != NO_INDEX)
            reading_error(reading, list->child[i], "`%s` is in the list already",
                          list->child[i]->text);
        else if (!placed || check_item(reading, list->child[i], arm, item))
            arm->item[arm->item_count++] = item;
    }
    names_free(&seen);
}

/* ---- arms ---- */
static void count_hand(struct reading *reading, struct arm_defaults *defaults,
                       const struct node *node, const struct scenario_arm *arm) {
    if (arm->from.kind == PLACE_CHEST || arm->from.kind == PLACE_STATION || defaults->told_hands)
        return;
    reading->hands += arm->hand;
    if (reading->hands <= LIMIT_HANDS)
        return;
    char limit[QUANTITY_TEXT_SIZE];
    defaults->told_hands = true;
    fault_note(reading_error(reading, node,
                             "the hands of arms that pick from loops and lines are too large"),
               "at most %s items in all", quantity_grouped(LIMIT_HANDS, limit));
}

static void read_arm_times(struct reading *reading, const struct fields *fields,
                           struct scenario_arm *arm) {
    if (read_key_span(reading, fields, "swing", &arm->swing))
        arm->linger_ticks = arm->swing.mean_ticks;
    read_key_ticks(reading, fields, "linger", &arm->linger_ticks);
}

static void read_arm(struct reading *reading, const struct fields *fields,
                     struct arm_defaults *defaults, uint32_t index) {
    struct scenario_arm *arm = &reading->scenario->arm[index];
    bool from = read_place(reading, reading_get(fields, "from"), "from", &arm->from);
    bool to = read_place(reading, reading_get(fields, "to"), "to", &arm->to);
    const struct node *items = reading_get(fields, "items");
    if (items != NULL)
        read_written_items(reading, defaults, items, arm, from && to);
    else if (from && to)
        read_default_items(reading, defaults, fields->node, index);
    int64_t hand;
    read_key_count(reading, fields, "hand", &hand);
    arm->hand = (uint32_t)hand;
    if (from)
        count_hand(reading, defaults, fields->node, arm);
    read_arm_times(reading, fields, arm);
    arm->choose = read_key_word(reading, fields, "choose") == 0 ? CHOOSE_IN_TURN : CHOOSE_RANDOM;
    arm->gate = read_gate(reading, reading_get(fields, "gate"));
    arm->breaks = read_span_breaks(reading, reading_get(fields, "breaks"));
}

void read_arms(struct reading *reading) {
    struct scenario *scenario = reading->scenario;
    struct arm_defaults defaults = defaults_init(scenario);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct fields fields;
        scenario->arm[i].gate = NO_INDEX;
        scenario->arm[i].breaks = &scenario_never_breaks;
        if (reading_open(reading, reading->part[THING_ARM][i], CATALOGUE_ARM, &fields))
            read_arm(reading, &fields, &defaults, i);
    }
    free(defaults.length);
    free(defaults.owner);
}
