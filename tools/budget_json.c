/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget_json.c - the budget as an object of jansson; keys end in their units. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "sim/require.h"
#include "tools/budget_view.h"

enum { REAL_DIGITS = 12 };

static void put(json_t *object, const char *key, json_t *value) {
    require(json_object_set_new(object, key, value) == 0);
}

static void append(json_t *array, json_t *value) {
    require(json_array_append_new(array, value) == 0);
}

static json_t *whole(int64_t number) { return json_integer((json_int_t)number); }
static json_t *real(double number) { return isfinite(number) ? json_real(number) : json_null(); }
static json_t *text_or_null(const char *text) {
    return text != NULL ? json_string(text) : json_null();
}

static json_t *texts_json(const struct budget_texts *texts) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < texts->count; i++)
        append(array, json_string(texts->text[i]));
    return array;
}

static json_t *joined_json(const struct budget_texts *texts) {
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    require(out != NULL);
    for (uint32_t i = 0; i < texts->count; i++)
        fprintf(out, "%s%s", i > 0 ? "; " : "", texts->text[i]);
    require(fclose(out) == 0);
    json_t *string = json_string(text);
    free(text);
    return string;
}

static json_t *products_json(const struct budget *budget) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < budget->product_count; i++) {
        const struct budget_product *product = &budget->product[i];
        json_t *entry = json_object();
        put(entry, "greatest_per_min", real(product->is_known ? 60 * product->greatest : NAN));
        put(entry, "needed_per_min", real(60 * product->needed));
        put(entry, "bottleneck", text_or_null(product->bottleneck));
        put(entry, "next", text_or_null(product->next));
        put(object, budget->scenario->item[product->item].name, entry);
    }
    return object;
}

static json_t *rules_json(const struct budget *budget) {
    json_t *array = json_array();
    for (int i = 0; i < BUDGET_RULES; i++) {
        const struct budget_rule *rule = &budget->rule[i];
        json_t *entry = json_object();
        put(entry, "rule", json_string(budget_rule_name((enum budget_rule_kind)i)));
        put(entry, "verdict", json_string(budget_verdict_name(rule->verdict)));
        put(entry, "subjects", texts_json(&rule->subjects));
        put(entry, "why", joined_json(&rule->whys));
        put(entry, "mend", rule->mends.count > 0 ? joined_json(&rule->mends) : json_null());
        append(array, entry);
    }
    return array;
}

static json_t *kwo_json(const struct budget_track *track) {
    const struct budget_kwo *kwo = &track->kwo;
    if (!track->fits_kwo)
        return json_null();
    json_t *object = json_object();
    put(object, "carriers", real(kwo->carriers));
    put(object, "carriers_per_s", real(kwo->carrier_rate));
    put(object, "capacity_per_s", real(kwo->capacity));
    put(object, "arms_per_s", real(kwo->handler_limit));
    put(object, "speed_lower", json_boolean(kwo->speed_lower));
    put(object, "speed_upper", json_boolean(kwo->speed_upper));
    put(object, "capacity", json_boolean(kwo->capacity_holds));
    put(object, "uniformity", json_boolean(kwo->uniformity));
    return object;
}

static json_t *stretches_json(const struct budget *budget, const struct budget_track *track) {
    json_t *array = json_array();
    for (uint32_t k = 0; k < track->stretch_count; k++) {
        const struct budget_stretch *stretch = &budget->stretch[track->first_stretch + k];
        json_t *entry = json_object();
        put(entry, "from_cell", whole(stretch->from_cell));
        put(entry, "to_cell", whole(stretch->to_cell));
        put(entry, "feeders_per_s", real(stretch->feeders));
        put(entry, "needed_per_s", real(stretch->needed));
        double expected = stretch->needed + track->missed;
        put(entry, "share", real(fmin(expected / track->rate, 1)));
        put(entry, "free_per_s", real(fmax(track->rate - expected, 0)));
        append(array, entry);
    }
    return array;
}

/* Free places that come by each arm that places there: those of the stretch that ends at it. */
static json_t *feeders_json(const struct budget *budget, uint32_t index) {
    const struct scenario *scenario = budget->scenario;
    const struct budget_track *track = &budget->track[index];
    json_t *object = json_object();
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct place to = scenario->arm[i].to;
        bool here = (to.kind == PLACE_LANE && to.index == index) ||
                    (to.kind == PLACE_LINE && scenario->lane_count + to.index == index);
        double before = 0; /* nothing comes from before a line's first arm */
        for (uint32_t k = 0; here && k < track->stretch_count; k++) {
            const struct budget_stretch *stretch = &budget->stretch[track->first_stretch + k];
            if (stretch->to_cell == to.cell && stretch->from_cell != stretch->to_cell)
                before = stretch->needed;
        }
        if (here)
            put(object, scenario->arm[i].name, real(fmax(track->rate - before - track->missed, 0)));
    }
    return object;
}

static json_t *lanes_json(const struct budget *budget, bool lines) {
    const struct scenario *scenario = budget->scenario;
    json_t *object = json_object();
    for (uint32_t i = 0; i < budget->track_count; i++) {
        const struct budget_track *track = &budget->track[i];
        if ((i >= scenario->lane_count) != lines)
            continue;
        json_t *entry = json_object();
        put(entry, "cells", whole(track->cells));
        put(entry, "rate_per_s", real(track->rate));
        put(entry, "feeders_per_s", real(track->feeders));
        put(entry, "needed_per_s", real(track->needed));
        put(entry, "missed_per_s", real(track->missed));
        put(entry, "share", real(track->share));
        put(entry, "stretches", stretches_json(budget, track));
        put(entry, "free_at_feeders_per_s", feeders_json(budget, i));
        put(entry, "kwo", kwo_json(track));
        put(object, budget_track_name(scenario, i), entry);
    }
    return object;
}

static json_t *items_json(const struct budget *budget) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < budget->scenario->item_count; i++) {
        const struct budget_item *item = &budget->item[i];
        json_t *entry = json_object();
        put(entry, "needed_per_min", real(60 * (item->demanded + item->used)));
        put(entry, "made_per_min", real(60 * item->made));
        put(entry, "supplied_per_min", real(60 * item->supplied));
        put(entry, "surplus_per_min", real(60 * item->surplus));
        put(entry, "lacking_per_min", real(60 * item->lacking));
        put(entry, "feeders_per_min", real(60 * item->fed));
        put(entry, "takers_per_min", real(60 * item->taken));
        put(entry, "exit_stays_open",
            item->rides ? json_boolean(item->exit_stays_open) : json_null());
        put(entry, "clearing_taker", json_boolean(item->has_clearing_taker));
        put(object, budget->scenario->item[i].name, entry);
    }
    return object;
}

static json_t *stations_json(const struct budget *budget) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < budget->scenario->station_count; i++) {
        const struct budget_station *station = &budget->station[i];
        json_t *entry = json_object();
        put(entry, "utilisation", real(station->utilisation));
        put(entry, "batches_per_min", real(60 * station->needed));
        put(entry, "greatest_batches_per_min", real(60 * station->greatest));
        put(object, budget->scenario->station[i].name, entry);
    }
    return object;
}

static json_t *arms_json(const struct budget *budget) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < budget->scenario->arm_count; i++) {
        const struct budget_arm *arm = &budget->arm[i];
        json_t *entry = json_object();
        put(entry, "hand_over_swing_per_min", real(60 * arm->pace));
        put(entry, "greatest_per_min", real(60 * arm->greatest));
        put(entry, "steady_per_min", real(60 * arm->steady));
        put(entry, "needed_per_min", real(60 * arm->needed));
        put(entry, "utilisation", real(arm->utilisation));
        put(object, budget->scenario->arm[i].name, entry);
    }
    return object;
}

static json_t *bounds_json(const struct budget_certificate *certificate) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < certificate->bound_count; i++) {
        json_t *entry = json_object();
        put(entry, "items", json_string(certificate->bound[i].items));
        put(entry, "at_most", whole(certificate->bound[i].at_most));
        put(entry, "places", whole(certificate->bound[i].cells));
        put(entry, "why", json_string(certificate->bound[i].why));
        append(array, entry);
    }
    return array;
}

static json_t *certificates_json(const struct budget *budget) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < budget->scenario->lane_count; i++) {
        const struct budget_certificate *certificate = &budget->certificate[i];
        bool known = certificate->certified;
        json_t *entry = json_object();
        put(entry, "never_fills", json_boolean(known));
        put(entry, "cells", whole(budget->track[i].cells));
        put(entry, "at_most", known ? whole(certificate->at_most) : json_null());
        put(entry, "places", known ? whole(certificate->cells) : json_null());
        put(entry, "bounds", bounds_json(certificate));
        put(entry, "missing", texts_json(&certificate->missing));
        put(object, budget_track_name(budget->scenario, i), entry);
    }
    return object;
}

char *budget_view_json(const struct budget *budget) {
    json_t *object = json_object();
    put(object, "title", json_string(budget->scenario->title));
    put(object, "holds", json_boolean(budget->demand_met && budget->rules_hold));
    put(object, "demand_met", json_boolean(budget->demand_met));
    put(object, "products", products_json(budget));
    put(object, "rules", rules_json(budget));
    put(object, "lanes", lanes_json(budget, false));
    put(object, "lines", lanes_json(budget, true));
    put(object, "items", items_json(budget));
    put(object, "stations", stations_json(budget));
    put(object, "arms", arms_json(budget));
    put(object, "certificate", certificates_json(budget));
    put(object, "notes", texts_json(&budget->notes));
    char *text = json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(REAL_DIGITS));
    require(text != NULL);
    json_decref(object);
    size_t length = strlen(text);
    text = require_more_memory(text, length + 2, 1);
    memcpy(text + length, "\n", 2);
    return text;
}
