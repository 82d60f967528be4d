/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/budget/budget_json.c - the budget as JSON, written element by element; keys end in their
 * units. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/text_stream.h"
#include "tools/base/json_stream.h"
#include "tools/base/json_text.h"
#include "tools/budget/budget_view.h"

enum { BUDGET_DIGITS = 9 };

static json_t *text_or_null(const char *text) {
    return text != NULL ? json_string(text) : json_null();
}

static json_t *texts_json(const struct budget_texts *texts) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < texts->count; i++)
        json_text_append(array, json_string(texts->text[i]));
    return array;
}

static json_t *joined_json(const struct budget_texts *texts) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    for (uint32_t i = 0; i < texts->count; i++)
        fprintf(out, "%s%s", i > 0 ? "; " : "", texts->text[i]);
    char *text = text_stream_end(&stream);
    json_t *string = json_string(text);
    free(text);
    return string;
}

static void write_products(struct json_stream *stream, const struct budget *budget) {
    json_stream_open_object(stream, "products");
    for (uint32_t i = 0; i < budget->product_count; i++) {
        const struct budget_product *product = &budget->product[i];
        json_t *entry = json_object();
        json_text_put(entry, "greatest_per_min",
                      json_text_real(product->is_known ? 60 * product->greatest : NAN));
        json_text_put(entry, "sure_per_min",
                      json_text_real(product->is_known ? 60 * product->sure : NAN));
        json_text_put(entry, "needed_per_min", json_text_real(60 * product->needed));
        json_text_put(entry, "bottleneck", text_or_null(product->bottleneck));
        json_text_put(entry, "next", text_or_null(product->next));
        json_stream_put(stream, budget->scenario->item[product->item].name, entry);
    }
    json_stream_close_object(stream);
}

/* A change as --set takes it, or a list of those that are to be made together; null: none was
 * found. */
static json_t *mend_json(const struct budget_texts *set) {
    if (set->count == 0)
        return json_null();
    return set->count == 1 ? json_string(set->text[0]) : texts_json(set);
}

static void write_rules(struct json_stream *stream, const struct budget *budget,
                        const struct mend_search *mend) {
    json_stream_open_array(stream, "rules");
    for (int i = 0; i < BUDGET_RULES; i++) {
        const struct budget_rule *rule = &budget->rule[i];
        json_t *entry = json_object();
        json_text_put(entry, "rule", json_string(budget_rule_name((enum budget_rule_kind)i)));
        json_text_put(entry, "verdict", json_string(budget_verdict_name(rule->verdict)));
        json_text_put(entry, "subjects", texts_json(&rule->subjects));
        json_text_put(entry, "why", joined_json(&rule->whys));
        json_text_put(entry, "mend", mend_json(&mend->set[i]));
        json_text_put(entry, "advice",
                      rule->advice.count > 0 ? joined_json(&rule->advice) : json_null());
        json_text_put(entry, "also", texts_json(&mend->also[i]));
        json_text_put(entry, "absent", texts_json(&mend->absent[i]));
        json_text_put(entry, "holds_as_written", json_boolean(mend->holds_as_written[i]));
        json_stream_put(stream, NULL, entry);
    }
    json_stream_close_array(stream);
}

static json_t *kwo_json(const struct budget_track *track) {
    const struct budget_kwo *kwo = &track->kwo;
    if (!track->fits_kwo)
        return json_null();
    json_t *object = json_object();
    json_text_put(object, "carriers", json_text_real(kwo->carriers));
    json_text_put(object, "carriers_per_s", json_text_real(kwo->carrier_rate));
    json_text_put(object, "capacity_per_s", json_text_real(kwo->capacity));
    json_text_put(object, "arms_per_s", json_text_real(kwo->handler_limit));
    json_text_put(object, "speed_lower", json_boolean(kwo->speed_lower));
    json_text_put(object, "speed_upper", json_boolean(kwo->speed_upper));
    json_text_put(object, "capacity", json_boolean(kwo->capacity_holds));
    json_text_put(object, "uniformity", json_boolean(kwo->uniformity));
    return object;
}

static void write_stretches(struct json_stream *stream, const struct budget *budget,
                            const struct budget_track *track) {
    json_stream_open_array(stream, "stretches");
    for (uint32_t k = 0; k < track->stretch_count; k++) {
        const struct budget_stretch *stretch = &budget->stretch[track->first_stretch + k];
        json_t *entry = json_object();
        json_text_put(entry, "from_cell", json_text_whole(stretch->from_cell));
        json_text_put(entry, "to_cell", json_text_whole(stretch->to_cell));
        json_text_put(entry, "feeders_per_s", json_text_real(stretch->feeders));
        json_text_put(entry, "needed_per_s", json_text_real(stretch->needed));
        double expected = stretch->needed + track->missed;
        json_text_put(entry, "share", json_text_real(fmin(expected / track->rate, 1)));
        json_text_put(entry, "free_per_s", json_text_real(fmax(track->rate - expected, 0)));
        json_stream_put(stream, NULL, entry);
    }
    json_stream_close_array(stream);
}

/* Free places that come by each arm that places there: those of the stretch that ends at it. */
static void write_feeders(struct json_stream *stream, const struct budget *budget, uint32_t index) {
    const struct scenario *scenario = budget->scenario;
    const struct budget_track *track = &budget->track[index];
    json_stream_open_object(stream, "free_at_feeders_per_s");
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct place to = scenario->arm[i].to;
        bool here = layout_track(scenario, to) == index;
        double before = 0; /* nothing comes from before a line's first arm */
        for (uint32_t k = 0; here && k < track->stretch_count; k++) {
            const struct budget_stretch *stretch = &budget->stretch[track->first_stretch + k];
            if (stretch->to_cell == to.cell && stretch->from_cell != stretch->to_cell)
                before = stretch->needed;
        }
        if (here)
            json_stream_put(stream, scenario->arm[i].name,
                            json_text_real(fmax(track->rate - before - track->missed, 0)));
    }
    json_stream_close_object(stream);
}

static void write_lanes(struct json_stream *stream, const struct budget *budget, bool lines) {
    const struct scenario *scenario = budget->scenario;
    json_stream_open_object(stream, lines ? "lines" : "lanes");
    for (uint32_t i = 0; i < budget->track_count; i++) {
        const struct budget_track *track = &budget->track[i];
        if ((i >= scenario->lane_count) != lines)
            continue;
        json_stream_open_object(stream, layout_track_name(scenario, i));
        json_stream_put(stream, "cells", json_text_whole(track->cells));
        json_stream_put(stream, "rate_per_s", json_text_real(track->rate));
        json_stream_put(stream, "feeders_per_s", json_text_real(track->feeders));
        json_stream_put(stream, "needed_per_s", json_text_real(track->needed));
        json_stream_put(stream, "missed_per_s", json_text_real(track->missed));
        json_stream_put(stream, "share", json_text_real(track->share));
        write_stretches(stream, budget, track);
        write_feeders(stream, budget, i);
        json_stream_put(stream, "kwo", kwo_json(track));
        json_stream_close_object(stream);
    }
    json_stream_close_object(stream);
}

static void write_items(struct json_stream *stream, const struct budget *budget) {
    json_stream_open_object(stream, "items");
    for (uint32_t i = 0; i < budget->scenario->item_count; i++) {
        const struct budget_item *item = &budget->item[i];
        json_t *entry = json_object();
        json_text_put(entry, "needed_per_min", json_text_real(60 * (item->demanded + item->used)));
        json_text_put(entry, "made_per_min", json_text_real(60 * item->made));
        json_text_put(entry, "supplied_per_min", json_text_real(60 * item->supplied));
        json_text_put(entry, "surplus_per_min", json_text_real(60 * item->surplus));
        json_text_put(entry, "lacking_per_min", json_text_real(60 * item->lacking));
        json_text_put(entry, "feeders_per_min", json_text_real(60 * item->fed));
        json_text_put(entry, "takers_per_min", json_text_real(60 * item->taken));
        json_text_put(entry, "exit_stays_open",
                      item->rides ? json_boolean(item->exit_stays_open) : json_null());
        json_text_put(entry, "clearing_taker", json_boolean(item->has_clearing_taker));
        json_stream_put(stream, budget->scenario->item[i].name, entry);
    }
    json_stream_close_object(stream);
}

static void write_stations(struct json_stream *stream, const struct budget *budget) {
    json_stream_open_object(stream, "stations");
    for (uint32_t i = 0; i < budget->scenario->station_count; i++) {
        const struct budget_station *station = &budget->station[i];
        json_t *entry = json_object();
        json_text_put(entry, "utilisation", json_text_real(station->utilisation));
        json_text_put(entry, "batches_per_min", json_text_real(60 * station->needed));
        json_text_put(entry, "greatest_batches_per_min", json_text_real(60 * station->greatest));
        json_stream_put(stream, budget->scenario->station[i].name, entry);
    }
    json_stream_close_object(stream);
}

static void write_arms(struct json_stream *stream, const struct budget *budget) {
    json_stream_open_object(stream, "arms");
    for (uint32_t i = 0; i < budget->scenario->arm_count; i++) {
        const struct budget_arm *arm = &budget->arm[i];
        json_t *entry = json_object();
        json_text_put(entry, "hand_over_swing_per_min", json_text_real(60 * arm->peak_rate));
        json_text_put(entry, "greatest_per_min", json_text_real(60 * arm->greatest));
        json_text_put(entry, "steady_per_min", json_text_real(60 * arm->steady));
        json_text_put(entry, "sure_per_min", json_text_real(60 * arm->sure));
        json_text_put(entry, "needed_per_min", json_text_real(60 * arm->needed));
        json_text_put(entry, "utilisation", json_text_real(arm->utilisation));
        json_stream_put(stream, budget->scenario->arm[i].name, entry);
    }
    json_stream_close_object(stream);
}

static json_t *bounds_json(const struct budget_certificate *certificate) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < certificate->bound_count; i++) {
        json_t *entry = json_object();
        json_text_put(entry, "items", json_string(certificate->bound[i].items));
        json_text_put(entry, "at_most", json_text_whole(certificate->bound[i].at_most));
        json_text_put(entry, "places", json_text_whole(certificate->bound[i].cells));
        json_text_put(entry, "why", json_string(certificate->bound[i].why));
        json_text_append(array, entry);
    }
    return array;
}

static void write_certificates(struct json_stream *stream, const struct budget *budget) {
    json_stream_open_object(stream, "certificate");
    for (uint32_t i = 0; i < budget->scenario->lane_count; i++) {
        const struct budget_certificate *certificate = &budget->certificate[i];
        bool known = certificate->certified;
        json_t *entry = json_object();
        json_text_put(entry, "never_fills", json_boolean(known));
        json_text_put(entry, "cells", json_text_whole(budget->track[i].cells));
        json_text_put(entry, "at_most",
                      known ? json_text_whole(certificate->at_most) : json_null());
        json_text_put(entry, "places", known ? json_text_whole(certificate->cells) : json_null());
        json_text_put(entry, "bounds", bounds_json(certificate));
        json_text_put(entry, "missing", texts_json(&certificate->missing));
        json_stream_put(stream, layout_track_name(budget->scenario, i), entry);
    }
    json_stream_close_object(stream);
}

void budget_view_json(const struct budget *budget, const struct mend_search *mend, FILE *out) {
    struct json_stream stream = json_stream_begin(out, BUDGET_DIGITS);
    bool met = budget->demand_met;
    json_stream_put(&stream, "title", json_string(budget->scenario->title));
    json_stream_put(&stream, "holds", json_boolean(met && budget->rules_hold));
    json_stream_put(&stream, "demand_met", json_boolean(met));
    json_stream_put(&stream, "demand_sure", json_boolean(met && budget->demand_sure));
    write_products(&stream, budget);
    write_rules(&stream, budget, mend);
    write_lanes(&stream, budget, false);
    write_lanes(&stream, budget, true);
    write_items(&stream, budget);
    write_stations(&stream, budget);
    write_arms(&stream, budget);
    write_certificates(&stream, budget);
    json_stream_put(&stream, "notes", texts_json(&budget->notes));
    json_stream_end(&stream);
}
