/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_report.c - names of files, and a row for each run. */
#include "tools/soak/soak_report.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "model/scenario/quantity.h"
#include "sim/text_stream.h"
#include "tools/base/column_table.h"

char *soak_capsule_name(uint64_t run, char name[SOAK_NAME_BYTES]) {
    snprintf(name, SOAK_NAME_BYTES, "jam-%" PRIu64 ".capsule", run);
    return name;
}

char *soak_events_name(uint64_t run, char name[SOAK_NAME_BYTES]) {
    snprintf(name, SOAK_NAME_BYTES, "jam-%" PRIu64 "-events.csv", run);
    return name;
}

const struct soak_result *soak_report_result(const struct soak_journal *book, uint32_t variant,
                                             uint64_t run) {
    return &book->result[run * book->plan->variant_count + variant];
}

bool soak_report_run_holds(const struct soak_journal *book, uint32_t variant, uint64_t run) {
    const struct soak_result *result = soak_report_result(book, variant, run);
    return result->holds && (book->plan->disturb || result->jams == 0);
}

uint64_t soak_report_first_bad(const struct soak_journal *book, uint32_t variant) {
    uint64_t run = 0;
    while (run < book->plan->run_count && soak_report_run_holds(book, variant, run))
        run++;
    return run;
}

bool soak_report_holds(const struct soak_journal *book) {
    return soak_report_first_bad(book, 0) == book->plan->run_count;
}

const char *soak_report_product(const struct soak_journal *book, uint32_t variant, uint32_t index) {
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
    fprintf(out, "%s%s", text, is_whole ? ".0" : ""); /* as csv_put_scaled writes seconds */
}

static void print_run(FILE *out, const struct soak_journal *book, uint32_t variant, uint64_t run) {
    const struct soak_result *result = soak_report_result(book, variant, run);
    char name[SOAK_NAME_BYTES];
    fprintf(out, "%" PRIu64 ",%" PRIu64 ",%s,", run, soak_plan_seed(book->plan, run),
            result->holds ? "holds" : "fails");
    print_seconds(out, book, variant, result->ticks);
    fputc(',', out);
    print_seconds(out, book, variant, result->jams > 0 ? result->first_jam_tick : NOT_GIVEN);
    fprintf(out, ",%" PRIu64 ",", result->jams);
    print_seconds(out, book, variant, result->jammed_ticks);
    fputc(',', out);
    print_seconds(out, book, variant, result->starved_ticks);
    fputc(',', out);
    if (variant == 0 && soak_journal_keeps(book, run))
        fputs(soak_capsule_name(run, name), out);
    for (uint32_t i = 0; i < book->measures[variant].product_count; i++) {
        double rate = result->value[soak_measure_of_product(i)];
        fputc(',', out);
        if (isfinite(rate))
            fprintf(out, "%.15g", rate);
    }
    fprintf(out, ",%d,", result->stuck);
    print_seconds(out, book, variant, result->longest_jam_ticks);
    fputc('\n', out);
}

/* The name of a column; of one for each product, those of all. */
static void print_heading(FILE *out, const struct column *column, const struct soak_journal *book,
                          uint32_t variant, const char *before) {
    if (column->each == COLUMN_ONCE) {
        fprintf(out, "%s%s", before, column->name);
        return;
    }
    for (uint32_t i = 0; i < book->measures[variant].product_count; i++)
        fprintf(out, "%s%s%s", before, soak_report_product(book, variant, i),
                column_table_ending(column));
}

char *soak_report_runs(const struct soak_journal *book, uint32_t variant) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    const struct column_table *table = column_table_of("runs.csv");
    for (uint32_t i = 0; i < table->column_count; i++)
        print_heading(out, &table->column[i], book, variant, i > 0 ? "," : "");
    fputc('\n', out);
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        print_run(out, book, variant, run);
    return text_stream_end(&stream);
}
