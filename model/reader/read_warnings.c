/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_warnings.c - warns of what is useless in a scenario that has no errors. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "model/reader/reading.h"
#include "model/scenario/layout.h"
#include "model/scenario/reach.h"
#include "sim/require.h"

/* The value of a key of a part, or the part itself. */
static const struct node *value_of(const struct node *part, const char *key) {
    const struct node *value = yaml_tree_find(part, key);
    return value != NULL ? value : part;
}

static const struct node *arm_node(const struct reading *reading, uint32_t arm, const char *key) {
    return value_of(reading->part[THING_ARM][arm], key);
}

/* ---- two arms at one cell ---- */
struct visit {
    struct place place;
    uint32_t arm;
    const char *key; /* "from" or "to" */
};

static int order_of(uint32_t a, uint32_t b) { return (a > b) - (a < b); }

static int compare_places(const struct place *a, const struct place *b) {
    int order = order_of(a->kind, b->kind);
    if (order == 0)
        order = order_of(a->index, b->index);
    return order != 0 ? order : order_of(a->cell, b->cell);
}

static int compare_visits(const void *left, const void *right) {
    const struct visit *a = left, *b = right;
    int order = compare_places(&a->place, &b->place);
    if (order == 0)
        order = order_of(a->arm, b->arm);
    return order != 0 ? order : strcmp(a->key, b->key);
}

/* How many arms make the `count` visits to one cell. */
static uint32_t arms_of_cell(const struct visit *visit, uint32_t count) {
    uint32_t arms = 1;
    for (uint32_t i = 1; i < count; i++)
        arms += visit[i].arm != visit[i - 1].arm;
    return arms;
}

/* Warns of a cell at which several arms work; that there are others is a note, not a warning for
 * each: where arms stand on both sides of a loop it is so at most of its cells. */
static void warn_of_cell(struct reading *reading, const struct visit *visit, uint32_t arms,
                         uint32_t others) {
    const struct scenario_arm *arm = reading->scenario->arm;
    uint32_t second = 1;
    while (visit[second].arm == visit[0].arm)
        second++;
    const struct node *node = arm_node(reading, visit[second].arm, visit[second].key);
    struct fault *fault =
        reading_warning(reading, node, "arms `%s` and `%s` work at the same cell, `%s`",
                        arm[visit[0].arm].name, arm[visit[second].arm].name, node->text);
    if (others > 0)
        fault_note(fault, "the one that is declared first acts first; at %u more cell%s several do",
                   others, others == 1 ? "" : "s");
    else if (arms > 2)
        fault_note(fault, "and %u more", arms - 2);
    else
        fault_note(fault, "the one that is declared first acts first");
}

static void warn_of_cells(struct reading *reading) {
    const struct scenario *scenario = reading->scenario;
    struct visit *visit = require_memory((size_t)scenario->arm_count * 2, sizeof *visit);
    uint32_t count = 0;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (arm->from.kind == PLACE_LANE || arm->from.kind == PLACE_LINE)
            visit[count++] = (struct visit){arm->from, i, "from"};
        if (arm->to.kind == PLACE_LANE || arm->to.kind == PLACE_LINE)
            visit[count++] = (struct visit){arm->to, i, "to"};
    }
    qsort(visit, count, sizeof *visit, compare_visits);
    const struct visit *shared = NULL;
    uint32_t shared_arms = 0, cells = 0;
    for (uint32_t first = 0, next; first < count; first = next) {
        for (next = first + 1;
             next < count && compare_places(&visit[first].place, &visit[next].place) == 0;)
            next++;
        uint32_t arms = arms_of_cell(visit + first, next - first);
        if (arms > 1 && cells++ == 0) {
            shared = visit + first;
            shared_arms = arms;
        }
    }
    if (shared != NULL)
        warn_of_cell(reading, shared, shared_arms, cells - 1);
    free(visit);
}

/* ---- stations ---- */

/* The node of entry number `index` of a map of items. */
static const struct node *entry_node(const struct reading *reading, uint32_t station,
                                     const char *key, uint32_t index) {
    const struct node *map = yaml_tree_find(reading->part[THING_STATION][station], key);
    return map->child[2 * index];
}

/* What a station takes and no arm carries to it, or an arm would, but nothing brings it there. */
static void warn_of_inputs(struct reading *reading, const struct reach *reach,
                           const struct pairs *brought, uint32_t index, bool fed) {
    const struct scenario_station *station = &reading->scenario->station[index];
    uint32_t place = layout_input_place(reading->scenario, index);
    if (!fed && station->takes.count > 0) {
        reading_warning(reading, value_of(reading->part[THING_STATION][index], "name"),
                        "nothing feeds station `%s`", station->name);
        return;
    }
    for (uint32_t i = 0; i < station->takes.count; i++) {
        uint32_t item = station->takes.entry[i].item;
        const char *name = reading->scenario->item[item].name;
        if (pairs_find(brought, place, item) == NO_INDEX)
            reading_warning(reading, entry_node(reading, index, "takes", i),
                            "no arm brings `%s` to station `%s`", name, station->name);
        else if (!reach_comes_to(reach, place, item))
            fault_note(reading_warning(reading, entry_node(reading, index, "takes", i),
                                       "nothing brings `%s` to where station `%s` gets it", name,
                                       station->name),
                       "no start, supply, station or drop on the way to it has any");
    }
}

static void warn_of_outputs(struct reading *reading, const struct reach *reach, uint32_t index) {
    const struct scenario_station *station = &reading->scenario->station[index];
    uint32_t place = layout_output_place(reading->scenario, index);
    for (uint32_t i = 0; i < station->makes_count; i++) {
        uint32_t item = station->makes[i].item;
        if (!reach_leaves(reach, place, item))
            fault_note(reading_warning(reading, entry_node(reading, index, "makes", i),
                                       "nothing takes `%s` away from station `%s`",
                                       reading->scenario->item[item].name, station->name),
                       "it stops when its room is full");
    }
}

static void warn_of_stations(struct reading *reading, const struct reach *reach) {
    const struct scenario *scenario = reading->scenario;
    struct pairs brought = {0};
    bool *fed = require_memory(scenario->station_count, sizeof *fed);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (arm->to.kind != PLACE_STATION)
            continue;
        fed[arm->to.index] = true;
        for (uint32_t k = 0; k < arm->item_count; k++)
            pairs_add(&brought, layout_target(scenario, arm->to), arm->item[k], i);
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        warn_of_inputs(reading, reach, &brought, i, fed[i]);
        warn_of_outputs(reading, reach, i);
    }
    free(fed);
    pairs_free(&brought);
}

/* ---- loops and lines ---- */

/* Where that is written which puts an item on a lane or line: an arm, or an incident's drop. */
static const struct node *putter_node(const struct reading *reading, uint32_t putter) {
    uint32_t arms = reading->scenario->arm_count;
    if (putter < arms)
        return arm_node(reading, putter, "to");
    const struct node *incident = reading->part[THING_INCIDENT][putter - arms];
    return value_of(yaml_tree_find(incident, "drop"), "item");
}

/* Warns of items that stay on a lane or line for good; of one that nobody takes from, once. */
static void warn_of_stays(struct reading *reading, const struct reach *reach) {
    const struct scenario *scenario = reading->scenario;
    uint32_t first = layout_track_place(scenario, 0);
    bool *reported = require_memory(layout_track_count(scenario), sizeof *reported);
    for (uint32_t i = 0; i < reach->reached.count; i++) {
        uint32_t place = (uint32_t)(reach->reached.pair[i] >> 32);
        uint32_t item = (uint32_t)reach->reached.pair[i];
        if (place < first || reported[place - first] || reach_leaves(reach, place, item))
            continue;
        const char *name = layout_track_name(scenario, place - first);
        const struct node *node = putter_node(reading, reach->reached.value[i]);
        reported[place - first] = !reach_has_taker(reach, place);
        if (reported[place - first])
            reading_warning(reading, node, "nothing takes anything off `%s`", name);
        else
            reading_warning(reading, node, "`%s` can get on `%s`, and nothing takes it off",
                            scenario->item[item].name, name);
    }
    free(reported);
}

/* ---- arms ---- */

/* Warns of arms that can never find anything; of a chain of them, of the first. */
static void warn_of_idle_arms(struct reading *reading, const struct reach *reach) {
    const struct scenario *scenario = reading->scenario;
    bool *waits = require_memory(layout_place_count(scenario), sizeof *waits);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (!reach->arm_used[i])
            waits[layout_target(scenario, scenario->arm[i].to)] = true;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        if (!reach->arm_used[i] && !waits[layout_source(scenario, arm->from)])
            reading_warning(reading, arm_node(reading, i, "from"),
                            "arm `%s` never finds anything to carry", arm->name);
    }
    free(waits);
}

/* ---- items ---- */

/* Warns of items that readers of tables take for something else than a name: R, pandas,
 * spreadsheets. */
static void warn_of_names(struct reading *reading) {
    static const char *const missing[] = {"na", "nan", "null", "none"};
    static const char *const values[] = {"true", "false", "inf", "infinity"};
    for (uint32_t i = 0; i < reading->scenario->item_count; i++) {
        const char *name = reading->scenario->item[i].name, *taken_for = NULL;
        for (size_t k = 0; k < sizeof missing / sizeof *missing; k++)
            taken_for = strcasecmp(name, missing[k]) == 0 ? "a missing value" : taken_for;
        for (size_t k = 0; k < sizeof values / sizeof *values; k++)
            taken_for = strcasecmp(name, values[k]) == 0 ? "a value" : taken_for;
        if (taken_for != NULL)
            fault_note(reading_warning(reading, reading->item_node[i],
                                       "programs that read the tables may take `%s` for %s", name,
                                       taken_for),
                       "another name for the item is safe");
    }
}

/* ---- gates ---- */

/* Whether an incident makes a chest larger, or gives a gate another threshold. */
static bool is_changed(const struct scenario *scenario, uint32_t chest) {
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_SET_BELOW || incident->kind == INCIDENT_SET_AT_LEAST ||
            (incident->kind == INCIDENT_SET_CAPACITY && incident->chest == chest))
            return true;
    }
    return false;
}

static void warn_of_leaf(struct reading *reading, const struct node *node,
                         const struct scenario_gate *gate) {
    const struct scenario *scenario = reading->scenario;
    if (gate->reads != READS_CHEST || is_changed(scenario, gate->subject))
        return;
    int64_t room = layout_chest_capacity(scenario, gate->subject);
    int64_t limit =
        gate->item == NO_INDEX ? NO_LIMIT : layout_chest_limit(scenario, gate->subject, gate->item);
    room = limit < room ? limit : room;
    if (gate->threshold <= room)
        return;
    bool below = gate->kind == GATE_BELOW;
    fault_note(reading_warning(reading, node, "a gate with `%s: %" PRId64 "` never %s",
                               below ? "below" : "at_least", gate->threshold,
                               below ? "shuts" : "opens"),
               "`%s` holds %" PRId64 " of that at most", scenario->chest[gate->subject].name, room);
}

/* Of a gate, or of those that it joins. */
static void warn_of_gate(struct reading *reading, const struct node *node, uint32_t index) {
    if (index == NO_INDEX)
        return;
    const struct scenario_gate *gate = &reading->scenario->gate[index];
    if (gate->first_child == NO_INDEX) {
        warn_of_leaf(reading, node, gate);
        return;
    }
    for (uint32_t child = gate->first_child; child != NO_INDEX;
         child = reading->scenario->gate[child].next_sibling)
        warn_of_gate(reading, node, child);
}

/* Warns of gates on chests that never hold enough. */
static void warn_of_gates(struct reading *reading) {
    const struct scenario *scenario = reading->scenario;
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        warn_of_gate(reading, arm_node(reading, i, "gate"), scenario->arm[i].gate);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        warn_of_gate(reading, value_of(reading->part[THING_STATION][i], "gate"),
                     scenario->station[i].gate);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        warn_of_gate(reading, value_of(reading->part[THING_SUPPLY][i], "gate"),
                     scenario->supply[i].gate);
}

/* ---- expectations ---- */
static void warn_of_expectations(struct reading *reading) {
    const struct scenario *scenario = reading->scenario;
    const struct scenario_expect *expect = &scenario->expect;
    bool *made = require_memory(scenario->item_count, sizeof *made);
    bool *wanted = require_memory(scenario->item_count, sizeof *wanted);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        for (uint32_t k = 0; k < scenario->station[i].makes_count; k++)
            made[scenario->station[i].makes[k].item] = true;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet)
            wanted[scenario->demand[i].item] = true;
    const struct node *node = expect->present ? yaml_tree_find(reading->tree.root, "expect") : NULL;
    for (uint32_t i = 0; i < expect->made_count; i++)
        if (!made[expect->made[i].item])
            reading_warning(reading, yaml_tree_find(node, "made")->child[2 * i],
                            "no station makes `%s`", scenario->item[expect->made[i].item].name);
    for (uint32_t i = 0; i < expect->demand_met_count; i++)
        if (!wanted[expect->demand_met[i].item])
            reading_warning(reading, yaml_tree_find(node, "demand_met")->child[2 * i],
                            "no demand takes `%s`",
                            scenario->item[expect->demand_met[i].item].name);
    free(made);
    free(wanted);
}

/* Looks at an arm and an item before the search for what comes where is given up; about a second.
 */
enum { STEPS_MAX = 50000000 };

void read_sense(struct reading *reading) {
    struct reach reach = reach_of(reading->scenario, REACH_WITH_DROPS, STEPS_MAX);
    warn_of_names(reading);
    warn_of_cells(reading);
    warn_of_gates(reading);
    warn_of_expectations(reading);
    if (reach.complete) {
        warn_of_stations(reading, &reach);
        warn_of_stays(reading, &reach);
        warn_of_idle_arms(reading, &reach);
    } else {
        fault_note(reading_warning(reading, reading->tree.root,
                                   "what can reach which place was not worked out"),
                   "too many arms may carry too many items");
    }
    reach_free(&reach);
}
