/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget.c - one step after the other, each on what was found before. */
#include "model/budget/budget.h"

#include <stdlib.h>

#include "model/budget/budget_certificate.h"
#include "model/budget/budget_explode.h"
#include "model/budget/budget_fill.h"
#include "model/budget/budget_greatest.h"
#include "model/budget/budget_kwo.h"
#include "model/budget/budget_net.h"
#include "model/budget/budget_rates.h"
#include "model/budget/budget_route.h"
#include "model/budget/budget_rules.h"
#include "model/budget/budget_stretches.h"
#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"

/* All up to the rates of lanes. */
static struct budget *begin(const struct scenario *scenario, enum net_fetched fetched) {
    struct budget *budget = require_memory(1, sizeof *budget);
    budget->scenario = scenario;
    budget->demand_met = budget->demand_sure = true;
    budget->net = budget_net_new(scenario, fetched);
    budget->arm = require_memory(scenario->arm_count, sizeof *budget->arm);
    budget->station = require_memory(scenario->station_count, sizeof *budget->station);
    budget->item = require_memory(scenario->item_count, sizeof *budget->item);
    budget->flow =
        require_memory(budget->net->first_entry[scenario->arm_count], sizeof *budget->flow);
    budget_rates(budget);
    budget_fill(budget);
    budget_explode(budget);
    budget_route(budget);
    budget_stretches(budget);
    budget_kwo(budget);
    budget->certificate = require_memory(scenario->lane_count, sizeof *budget->certificate);
    return budget;
}

static struct budget *judge(const struct scenario *scenario, enum net_fetched fetched) {
    struct budget *budget = begin(scenario, fetched);
    budget_rules(budget);
    return budget;
}

struct budget *budget_judge(const struct scenario *scenario) {
    return judge(scenario, NET_FETCHED_WITHOUT_END);
}

struct budget *budget_judge_as_written(const struct scenario *scenario) {
    return judge(scenario, NET_FETCHED_NEVER_COMES);
}

bool budget_ever_comes(const struct budget *budget, const struct budget_finding *finding) {
    const struct scenario *scenario = budget->scenario;
    uint32_t place = finding->lane != NO_INDEX ? layout_track_place(scenario, finding->lane)
                     : finding->station != NO_INDEX
                         ? layout_output_place(scenario, finding->station)
                         : NO_INDEX;
    return place == NO_INDEX || finding->item == NO_INDEX ||
           budget_is_reachable(budget->net, place, finding->item);
}

/* Whether something is ordered after a tick. */
static bool orders_outlast(const struct scenario *scenario, int64_t tick) {
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet && scenario->demand[i].until_tick > tick)
            return true;
    return false;
}

/* Whether another supply brings the item later than this one. */
static bool is_taken_over(const struct scenario *scenario, const struct scenario_stream *supply) {
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].item == supply->item &&
            scenario->supply[i].until_tick > supply->until_tick)
            return true;
    return false;
}

/* Rates are those of a supply while it lasts. */
static void note_ends(struct budget *budget) {
    const struct scenario *scenario = budget->scenario;
    char when[QUANTITY_TEXT_SIZE];
    for (uint32_t i = 0; i < scenario->supply_count; i++) {
        const struct scenario_stream *supply = &scenario->supply[i];
        if (orders_outlast(scenario, supply->until_tick) && !is_taken_over(scenario, supply))
            budget_texts_add(&budget->notes,
                             "%s ends at %s, orders go on: all this holds until then", supply->name,
                             quantity_clock(supply->until_tick, scenario->ticks_per_second, when));
    }
}

struct budget *budget_new(const struct scenario *scenario) {
    return budget_new_watched(scenario, NULL);
}

struct budget *budget_new_watched(const struct scenario *scenario,
                                  const struct budget_watcher *watcher) {
    struct budget *budget = begin(scenario, NET_FETCHED_WITHOUT_END);
    budget_greatest(budget, watcher);
    budget_fill_report(budget);
    budget_rules(budget);
    budget_certify(budget);
    note_ends(budget);
    return budget;
}

static void free_certificate(struct budget_certificate *certificate) {
    for (uint32_t i = 0; i < certificate->bound_count; i++) {
        free(certificate->bound[i].items);
        free(certificate->bound[i].why);
    }
    free(certificate->bound);
    budget_texts_free(&certificate->missing);
}

void budget_free(struct budget *budget) {
    if (budget == NULL)
        return;
    for (int i = 0; i < BUDGET_RULES; i++) {
        budget_texts_free(&budget->rule[i].subjects);
        budget_texts_free(&budget->rule[i].whys);
        budget_texts_free(&budget->rule[i].advice);
        free(budget->rule[i].finding);
    }
    for (uint32_t i = 0; i < budget->scenario->lane_count; i++)
        free_certificate(&budget->certificate[i]);
    budget_net_free(budget->net);
    budget_texts_free(&budget->notes);
    free(budget->arm);
    free(budget->station);
    free(budget->item);
    free(budget->product);
    free(budget->flow);
    free(budget->track);
    free(budget->stretch);
    free(budget->certificate);
    free(budget);
}

const char *budget_rule_name(enum budget_rule_kind rule) {
    static const char *const name[BUDGET_RULES] = {
        [RULE_FEEDERS_WITHIN_LANE] = "feeders-within-lane",
        [RULE_TAKERS_OUTPACE_FEEDERS] = "takers-outpace-feeders",
        [RULE_EXIT_STAYS_OPEN] = "exit-stays-open",
        [RULE_GATE_WATCHES_END_CHEST] = "gate-watches-end-chest",
        [RULE_OUTPUTS_HAVE_EXIT] = "outputs-have-exit",
        [RULE_INPUTS_GATED_ON_OUTPUTS] = "inputs-gated-on-outputs",
        [RULE_SUPPLIED_BIN_KEEPS_ROOM] = "supplied-bin-keeps-room",
        [RULE_BULK_ON_A_LINE] = "bulk-on-a-line"};
    return name[rule];
}

const char *budget_verdict_name(enum budget_verdict verdict) {
    switch (verdict) {
    case BUDGET_HOLDS: return "holds";
    case BUDGET_CANNOT_SAY: return "cannot say";
    case BUDGET_BROKEN: return "broken";
    }
    require(false);
    return NULL;
}
