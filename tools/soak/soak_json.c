/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_json.c - the statistics, keys in the order of the manual. */
#include "tools/soak/soak_json.h"

#include <stdlib.h>

#include "model/scenario/layout.h"
#include "tools/base/json_text.h"
#include "tools/soak/soak_report.h"
#include "tools/soak/soak_statistics.h"

/* Bounds rest on the machine's log and exp, see sim/estimate.h: no more digits than are equal
 * everywhere. */
enum { JSON_DIGITS = 10 };

static json_t *estimate_json(struct estimate estimate, const char *name) {
    json_t *object = json_object();
    json_text_put(object, name, json_text_real(estimate.value));
    json_text_put(object, "low", json_text_real(estimate.low));
    json_text_put(object, "high", json_text_real(estimate.high));
    return object;
}

/* Null where the times are no matter of chance: see accumulates_json. */
static json_t *first_jam_json(const struct soak_journal *book, uint32_t variant) {
    if (soak_statistics_regular(book, variant).accumulates)
        return json_null();
    json_t *object = estimate_json(soak_statistics_first_jam(book, variant), "mean_s");
    uint64_t jammed = soak_statistics_jammed(book, variant);
    json_text_put(object, "censored", json_integer((json_int_t)(book->plan->run_count - jammed)));
    return object;
}

static json_t *accumulates_json(struct soak_regular regular) {
    json_t *object = json_object();
    json_text_put(object, "least_s", json_text_real(regular.least_s));
    json_text_put(object, "greatest_s", json_text_real(regular.greatest_s));
    return object;
}

static json_t *jams_ended_json(struct soak_jams jams) {
    json_t *object = json_object();
    json_text_put(object, "ended", json_text_whole((int64_t)jams.ended));
    json_text_put(object, "of", json_text_whole((int64_t)jams.count));
    return object;
}

static json_t *recovery_json(struct soak_recoveries recoveries) {
    json_t *object = json_object();
    json_text_put(object, "mean_s", json_text_real(recoveries.mean_s));
    json_text_put(object, "greatest_s", json_text_real(recoveries.greatest_s));
    json_text_put(object, "not", json_text_whole((int64_t)recoveries.never));
    return object;
}

static json_t *throughput_json(const struct soak_journal *book, uint32_t variant) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < book->measures[variant].product_count; i++)
        json_text_put(
            object, soak_report_product(book, variant, i),
            estimate_json(soak_statistics_measure(book, variant, soak_measure_of_product(i)),
                          "mean"));
    return object;
}

static json_t *shares_json(const struct soak_journal *book, uint32_t variant) {
    json_t *object = json_object();
    const struct soak_measures *measures = &book->measures[variant];
    for (uint32_t i = 0; i < measures->track_count; i++)
        json_text_put(object, layout_track_name(measures->scenario, i),
                      estimate_json(soak_statistics_measure(book, variant,
                                                            soak_measure_of_track(measures, i)),
                                    "mean"));
    return object;
}

static json_t *warm_up_json(const struct soak_journal *book, uint32_t variant) {
    int64_t ticks = soak_statistics_warm_up(book, variant);
    if (ticks == NOT_GIVEN)
        return json_null();
    int64_t rate = book->plan->scenario[variant]->ticks_per_second;
    if (ticks % rate == 0)
        return json_integer((json_int_t)(ticks / rate));
    return json_real((double)ticks / (double)rate);
}

static void put_jams(json_t *object, const struct soak_journal *book, uint32_t variant) {
    struct soak_jams jams = soak_statistics_jams(book, variant);
    struct soak_regular regular = soak_statistics_regular(book, variant);
    json_text_put(object, "first_jam", first_jam_json(book, variant));
    if (regular.accumulates)
        json_text_put(object, "accumulates", accumulates_json(regular));
    json_text_put(object, "stuck", estimate_json(soak_statistics_stuck(book, variant), "estimate"));
    json_text_put(object, "jams_ended", jams_ended_json(jams));
    json_text_put(object, "jammed_share", json_text_real(jams.share));
    json_text_put(object, "longest_jam_s", json_text_real(jams.longest_s));
    if (book->plan->disturb)
        json_text_put(object, "recovery", recovery_json(soak_statistics_recoveries(book, variant)));
}

static void put_statistics(json_t *object, const struct soak_journal *book, uint32_t variant) {
    json_text_put(object, "jam_probability",
                  estimate_json(soak_statistics_probability(book, variant), "estimate"));
    put_jams(object, book, variant);
    json_text_put(object, "throughput", throughput_json(book, variant));
    json_text_put(object, "wip", estimate_json(soak_statistics_measure(book, variant, 0), "mean"));
    json_text_put(object, "occupied_share", shares_json(book, variant));
    json_text_put(object, "warm_up_s", warm_up_json(book, variant));
}

static json_t *difference_json(const struct soak_journal *book) {
    json_t *object = json_object(), *throughput = json_object();
    json_text_put(object, "jams", estimate_json(soak_statistics_jams_difference(book), "mean"));
    for (uint32_t i = 0; i < book->measures[0].product_count; i++) {
        uint32_t second = soak_statistics_in_second(book, i);
        if (second != NO_INDEX)
            json_text_put(
                throughput, soak_report_product(book, 0, i),
                estimate_json(soak_statistics_product_difference(book, i, second), "mean"));
    }
    json_text_put(object, "throughput", throughput);
    json_text_put(object, "wip", estimate_json(soak_statistics_difference(book, 0, 0), "mean"));
    return object;
}

static json_t *against_json(const struct soak_journal *book) {
    json_t *object = json_object();
    put_statistics(object, book, 1);
    json_text_put(object, "difference", difference_json(book));
    return object;
}

char *soak_json_text(const struct soak_journal *book) {
    json_t *object = json_object();
    json_text_put(object, "runs", json_integer((json_int_t)book->plan->run_count));
    json_text_put(object, "confidence", json_real(SOAK_CONFIDENCE));
    put_statistics(object, book, 0);
    if (book->plan->variant_count > 1)
        json_text_put(object, "against", against_json(book));
    return json_text_of(object, JSON_DIGITS);
}

void soak_json_print(const struct soak_journal *book, FILE *out) {
    char *text = soak_json_text(book);
    fputs(text, out);
    free(text);
}
