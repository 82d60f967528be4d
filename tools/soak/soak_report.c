/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_report.c - the one place that knows how soaks are told. */
#include "tools/soak/soak_report.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/base/json_text.h"
#include "tools/base/table.h"
#include "tools/soak/soak_statistics.h"

/* Bounds rest on the machine's log and exp, see sim/estimate.h: no more digits than are equal
 * everywhere. */
enum { JSON_DIGITS = 10 };

char *soak_capsule_name(uint64_t run, char name[SOAK_NAME_BYTES]) {
    snprintf(name, SOAK_NAME_BYTES, "jam-%" PRIu64 ".capsule", run);
    return name;
}

char *soak_events_name(uint64_t run, char name[SOAK_NAME_BYTES]) {
    snprintf(name, SOAK_NAME_BYTES, "jam-%" PRIu64 "-events.csv", run);
    return name;
}

static const struct soak_result *result_of(const struct soak_journal *book, uint32_t variant,
                                           uint64_t run) {
    return &book->result[run * book->plan->variant_count + variant];
}

static bool variant_holds(const struct soak_journal *book, uint32_t variant) {
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        if (result_of(book, variant, run)->jams > 0 || !result_of(book, variant, run)->holds)
            return false;
    return true;
}

bool soak_report_holds(const struct soak_journal *book) { return variant_holds(book, 0); }

static const char *product_name(const struct soak_journal *book, uint32_t variant, uint32_t index) {
    const struct soak_measures *measures = &book->measures[variant];
    return measures->scenario->item[measures->product[index]].name;
}

/* ---- runs.csv ---- */

static void print_seconds(FILE *out, const struct soak_journal *book, uint32_t variant,
                          int64_t ticks) {
    char text[QUANTITY_TEXT_SIZE] = "";
    if (ticks != NOT_GIVEN)
        quantity_seconds(ticks, book->plan->scenario[variant]->ticks_per_second, text);
    bool is_whole = text[0] != '\0' && strchr(text, '.') == NULL;
    fprintf(out, "%s%s,", text, is_whole ? ".0" : ""); /* as csv_put_scaled writes seconds */
}

static void print_run(FILE *out, const struct soak_journal *book, uint32_t variant, uint64_t run) {
    const struct soak_result *result = result_of(book, variant, run);
    char name[SOAK_NAME_BYTES];
    fprintf(out, "%" PRIu64 ",%" PRIu64 ",%s,", run, soak_plan_seed(book->plan, run),
            result->holds ? "holds" : "fails");
    print_seconds(out, book, variant, result->ticks);
    print_seconds(out, book, variant, result->jams > 0 ? result->first_jam_tick : NOT_GIVEN);
    fprintf(out, "%" PRIu64 ",", result->jams);
    print_seconds(out, book, variant, result->jammed_ticks);
    print_seconds(out, book, variant, result->starved_ticks);
    if (variant == 0 && soak_journal_keeps(book, run))
        fputs(soak_capsule_name(run, name), out);
    for (uint32_t i = 0; i < book->measures[variant].product_count; i++) {
        double rate = result->value[soak_measure_of_product(i)];
        fputc(',', out);
        if (isfinite(rate))
            fprintf(out, "%.15g", rate);
    }
    fputc('\n', out);
}

char *soak_report_runs(const struct soak_journal *book, uint32_t variant) {
    char *text = NULL;
    size_t length;
    FILE *out = open_memstream(&text, &length);
    require(out != NULL);
    fputs("run,seed,verdict,simulated_s,first_jam_s,jams,jammed_s,starved_s,capsule", out);
    for (uint32_t i = 0; i < book->measures[variant].product_count; i++)
        fprintf(out, ",%s_per_min", product_name(book, variant, i));
    fputc('\n', out);
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        print_run(out, book, variant, run);
    int closed = fclose(out);
    require(closed == 0);
    return text;
}

/* ---- soak.json ---- */

static json_t *estimate_json(struct estimate estimate, const char *name) {
    json_t *object = json_object();
    json_text_put(object, name, json_text_real(estimate.value));
    json_text_put(object, "low", json_text_real(estimate.low));
    json_text_put(object, "high", json_text_real(estimate.high));
    return object;
}

static json_t *first_jam_json(const struct soak_journal *book, uint32_t variant) {
    json_t *object = estimate_json(soak_statistics_first_jam(book, variant), "mean_s");
    uint64_t jammed = soak_statistics_jammed(book, variant);
    json_text_put(object, "censored", json_integer((json_int_t)(book->plan->run_count - jammed)));
    return object;
}

static json_t *throughput_json(const struct soak_journal *book, uint32_t variant) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < book->measures[variant].product_count; i++)
        json_text_put(
            object, product_name(book, variant, i),
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

static void put_statistics(json_t *object, const struct soak_journal *book, uint32_t variant) {
    json_text_put(object, "jam_probability",
                  estimate_json(soak_statistics_probability(book, variant), "estimate"));
    json_text_put(object, "first_jam", first_jam_json(book, variant));
    json_text_put(object, "throughput", throughput_json(book, variant));
    json_text_put(object, "wip", estimate_json(soak_statistics_measure(book, variant, 0), "mean"));
    json_text_put(object, "occupied_share", shares_json(book, variant));
    json_text_put(object, "warm_up_s", warm_up_json(book, variant));
}

/* The product of the second variant that has the name of one of the first; NO_INDEX: none. */
static uint32_t product_in_second(const struct soak_journal *book, uint32_t first) {
    for (uint32_t i = 0; i < book->measures[1].product_count; i++)
        if (strcmp(product_name(book, 1, i), product_name(book, 0, first)) == 0)
            return i;
    return NO_INDEX;
}

static struct estimate product_difference(const struct soak_journal *book, uint32_t first,
                                          uint32_t second) {
    return soak_statistics_difference(book, soak_measure_of_product(first),
                                      soak_measure_of_product(second));
}

static json_t *difference_json(const struct soak_journal *book) {
    json_t *object = json_object(), *throughput = json_object();
    json_text_put(object, "jams", estimate_json(soak_statistics_jams_difference(book), "mean"));
    for (uint32_t i = 0; i < book->measures[0].product_count; i++) {
        uint32_t second = product_in_second(book, i);
        if (second != NO_INDEX)
            json_text_put(throughput, product_name(book, 0, i),
                          estimate_json(product_difference(book, i, second), "mean"));
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

char *soak_report_json(const struct soak_journal *book) {
    json_t *object = json_object();
    json_text_put(object, "runs", json_integer((json_int_t)book->plan->run_count));
    json_text_put(object, "confidence", json_real(SOAK_CONFIDENCE));
    put_statistics(object, book, 0);
    if (book->plan->variant_count > 1)
        json_text_put(object, "against", against_json(book));
    return json_text_of(object, JSON_DIGITS);
}

/* ---- in words ---- */

enum { KEPT_SHOWN = 3 };

/* A time of some seconds as people say it. */
static const char *span_text(double time_s, char text[QUANTITY_TEXT_SIZE]) {
    static const struct {
        double seconds;
        const char *name;
    } unit[] = {{86400, "d"}, {3600, "h"}, {60, "min"}};
    if (!isfinite(time_s))
        return "-";
    for (size_t i = 0; i < sizeof unit / sizeof *unit; i++)
        if (time_s >= 2 * unit[i].seconds) {
            snprintf(text, QUANTITY_TEXT_SIZE, "%.1f %s", time_s / unit[i].seconds, unit[i].name);
            return text;
        }
    snprintf(text, QUANTITY_TEXT_SIZE, "%.1f s", time_s);
    return text;
}

/* A probability in per cent. */
static const char *percent(double share, char text[QUANTITY_TEXT_SIZE]) {
    snprintf(text, QUANTITY_TEXT_SIZE, share >= 0.1 ? "%.0f" : "%.2g", 100 * share);
    return text;
}

static void print_jams(const struct soak_journal *book, uint32_t variant, FILE *out) {
    uint64_t jammed = soak_statistics_jammed(book, variant), runs = book->plan->run_count;
    struct estimate probability = soak_statistics_probability(book, variant);
    struct estimate time = soak_statistics_first_jam(book, variant);
    char mean[QUANTITY_TEXT_SIZE], low[QUANTITY_TEXT_SIZE], high[QUANTITY_TEXT_SIZE];
    if (jammed == 0)
        fprintf(out, "no jam in %" PRIu64 " run%s", runs, plural(runs));
    else
        fprintf(out, "a jam in %" PRIu64 " of %" PRIu64 " run%s, %s %%", jammed, runs, plural(runs),
                percent(probability.value, mean));
    fprintf(out, " (95 %% sure: %s to %s %%).\n", percent(probability.low, low),
            percent(probability.high, high));
    if (jammed > 0)
        fprintf(out, "Mean time to the first jam: %s (%s to %s).\n", span_text(time.value, mean),
                span_text(time.low, low), span_text(time.high, high));
}

/* `run` knows nothing of the disturbances of a soak. */
static void print_failed(const struct soak_journal *book, uint32_t variant, FILE *out) {
    uint64_t failed = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        failed += !result_of(book, variant, run)->holds;
    if (failed == 0)
        return;
    fprintf(out, "In %" PRIu64 " run%s what was expected did not come true: runs.csv says in which",
            failed, plural(failed));
    fputs(book->plan->disturb ? ".\n"
                              : ";\n`loopwright run` with the --seed and --for of one says what "
                                "it was.\n",
          out);
}

static void number_cell(struct table *table, double number, double factor) {
    if (isfinite(number))
        table_add(table, "%.4g", factor * number);
    else
        table_add(table, "-");
}

static void add_row(struct table *table, const char *name, struct estimate estimate,
                    double factor) {
    table_add(table, "%s", name);
    number_cell(table, estimate.value, factor);
    number_cell(table, estimate.low, factor);
    number_cell(table, estimate.high, factor);
}

static void print_measures(const struct soak_journal *book, uint32_t variant, FILE *out) {
    static const struct table_column column[] = {
        {"95 % sure", false}, {"mean", true}, {"from", true}, {"to", true}};
    const struct soak_measures *measures = &book->measures[variant];
    struct table table;
    char name[3 * QUANTITY_TEXT_SIZE];
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < measures->product_count; i++) {
        snprintf(name, sizeof name, "%s a minute", product_name(book, variant, i));
        add_row(&table, name, soak_statistics_measure(book, variant, soak_measure_of_product(i)),
                1);
    }
    for (uint32_t i = 0; i < measures->track_count; i++) {
        snprintf(name, sizeof name, "%s, %% held", layout_track_name(measures->scenario, i));
        add_row(&table, name,
                soak_statistics_measure(book, variant, soak_measure_of_track(measures, i)), 100);
    }
    add_row(&table, "items at work", soak_statistics_measure(book, variant, 0), 1);
    fputc('\n', out);
    table_print(&table, out);
    table_free(&table);
}

static void print_differences(const struct soak_journal *book, FILE *out) {
    static const struct table_column column[] = {
        {"second less first", false}, {"mean", true}, {"from", true}, {"to", true}};
    struct table table;
    char name[3 * QUANTITY_TEXT_SIZE];
    table_init(&table, column, sizeof column / sizeof *column);
    add_row(&table, "jams a run", soak_statistics_jams_difference(book), 1);
    for (uint32_t i = 0; i < book->measures[0].product_count; i++) {
        uint32_t second = product_in_second(book, i);
        snprintf(name, sizeof name, "%s a minute", product_name(book, 0, i));
        if (second != NO_INDEX)
            add_row(&table, name, product_difference(book, i, second), 1);
    }
    add_row(&table, "items at work", soak_statistics_difference(book, 0, 0), 1);
    fputc('\n', out);
    table_print(&table, out);
    table_free(&table);
}

static void print_kept(const struct soak_journal *book, const char *path, FILE *out) {
    char name[SOAK_NAME_BYTES];
    for (uint64_t i = 0; i < book->jammed_count && i < KEPT_SHOWN; i++)
        fprintf(out, "%s loopwright cause %s/%s\n", i == 0 ? "Why it jams:" : "            ", path,
                soak_capsule_name(book->jammed[i], name));
    if (book->jammed_count > KEPT_SHOWN)
        fprintf(out, "             and %" PRIu64 " more\n", book->jammed_count - KEPT_SHOWN);
}

static void print_variant(const struct soak_journal *book, uint32_t variant, FILE *out) {
    bool jammed = soak_statistics_jammed(book, variant) > 0;
    fputs(variant_holds(book, variant) ? "It holds: "
          : jammed                     ? "It does not hold: "
                                       : "It does not hold, with ",
          out);
    print_jams(book, variant, out);
    print_failed(book, variant, out);
    print_measures(book, variant, out);
}

void soak_report_print(const struct soak_journal *book, const char *path, FILE *out) {
    const struct soak_plan *plan = book->plan;
    char hours[QUANTITY_TEXT_SIZE];
    for (uint32_t i = 0; i < plan->variant_count; i++) {
        if (plan->variant_count > 1)
            fprintf(out, "%sThe %s scenario\n", i > 0 ? "\n" : "", i == 0 ? "first" : "second");
        fprintf(out, "%" PRIu64 " run%s with seeds from %" PRIu64 " on, %s simulated\n\n",
                plan->run_count, plural(plan->run_count), soak_plan_seed(plan, 0),
                span_text(3600 * soak_statistics_hours(book, i), hours));
        print_variant(book, i, out);
    }
    if (plan->variant_count > 1)
        print_differences(book, out);
    if (path == NULL)
        return;
    fputc('\n', out);
    print_kept(book, path, out);
    fprintf(out, "The files of the soak are in %s\n", path);
}
