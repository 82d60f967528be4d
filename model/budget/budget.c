/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget.c - one after the other, each on what was found before. */
#include "model/budget/budget_net.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/array.h"
#include "sim/require.h"

enum { TEXT_BYTES = 512 };

void budget_texts_add(struct budget_texts *texts, const char *format, ...) {
    char text[TEXT_BYTES];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    for (uint32_t i = 0; i < texts->count; i++)
        if (strcmp(texts->text[i], text) == 0)
            return;
    texts->text = array_with_room(texts->text, texts->count, &texts->capacity, sizeof *texts->text);
    texts->text[texts->count++] = require_text(text);
}

void budget_texts_free(struct budget_texts *texts) {
    for (uint32_t i = 0; i < texts->count; i++)
        free(texts->text[i]);
    free(texts->text);
    *texts = (struct budget_texts){0};
}

struct budget *budget_new(const struct scenario *scenario) {
    struct budget *budget = require_memory(1, sizeof *budget);
    budget->scenario = scenario;
    budget->demand_met = true;
    budget_net_init(&budget->net, scenario);
    budget->arm = require_memory(scenario->arm_count, sizeof *budget->arm);
    budget->station = require_memory(scenario->station_count, sizeof *budget->station);
    budget->item = require_memory(scenario->item_count, sizeof *budget->item);
    budget->flow = require_memory(budget->net.first[scenario->arm_count], sizeof *budget->flow);
    budget_rates(budget);
    budget_explode(budget);
    budget_route(budget);
    budget_stretches(budget);
    budget_kwo(budget);
    budget_greatest(budget);
    budget_rules(budget);
    budget_certify(budget);
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
        budget_texts_free(&budget->rule[i].mends);
    }
    for (uint32_t i = 0; i < budget->scenario->lane_count; i++)
        free_certificate(&budget->certificate[i]);
    budget_net_free(&budget->net);
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
