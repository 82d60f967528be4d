/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_rows.c - means over runs, and the interval of the share that jams. */
#include "tools/sweep/sweep_rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/estimate.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/column_table.h"
#include "tools/base/csv.h"
#include "tools/base/json_text.h"
#include "tools/base/table.h"

static const double confidence = 0.95;

/* ---- adding up ---- */

static const struct sweep_result *results_of(const struct sweep_rows *rows, uint32_t combination) {
    return &rows->result[(size_t)combination * rows->runs];
}

static uint32_t jammed(const struct sweep_rows *rows, uint32_t combination) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < rows->runs; i++)
        count += results_of(rows, combination)[i].jammed;
    return count;
}

static double stuck(const struct sweep_rows *rows, uint32_t combination) {
    double count = 0;
    for (uint32_t i = 0; i < rows->runs; i++)
        count += results_of(rows, combination)[i].stuck;
    return count / rows->runs;
}

static double mean(const struct sweep_rows *rows, uint32_t combination, uint32_t measure) {
    double sum = 0;
    for (uint32_t i = 0; i < rows->runs; i++)
        sum += results_of(rows, combination)[i].value[measure];
    return sum / rows->runs;
}

/* The greatest of any run. */
static double most(const struct sweep_rows *rows, uint32_t combination, uint32_t measure) {
    double greatest = 0;
    for (uint32_t i = 0; i < rows->runs; i++)
        greatest = fmax(greatest, results_of(rows, combination)[i].value[measure]);
    return greatest;
}

static uint32_t of_product(uint32_t index) { return 1 + index; }

/* The mean share of a track; its greatest follows. */
static uint32_t of_track(const struct sweep_rows *rows, uint32_t index) {
    return 1 + rows->measures->product_count + 2 * index;
}

/* ---- the best ---- */

enum { MERITS = 5 };

struct merit {
    double merit[MERITS]; /* larger is better, the first before the others */
};

static struct merit merit_of(const struct sweep_rows *rows, uint32_t combination) {
    struct merit merit = {{-stuck(rows, combination), -(double)jammed(rows, combination),
                           mean(rows, combination, 0), 0, 0}};
    for (uint32_t i = 0; i < rows->measures->product_count; i++)
        merit.merit[3] += mean(rows, combination, of_product(i));
    for (uint32_t i = 0; i < rows->measures->track_count; i++)
        merit.merit[4] -= mean(rows, combination, of_track(rows, i));
    return merit;
}

static bool is_better(struct merit one, struct merit other) {
    for (int k = 0; k < MERITS; k++)
        if (one.merit[k] > other.merit[k] + 1e-9 || one.merit[k] < other.merit[k] - 1e-9)
            return one.merit[k] > other.merit[k];
    return false;
}

uint32_t sweep_rows_best(const struct sweep_rows *rows) {
    uint32_t best = 0;
    for (uint32_t c = 1; c < rows->axes->combinations; c++)
        if (is_better(merit_of(rows, c), merit_of(rows, best)))
            best = c;
    return best;
}

/* ---- files ---- */

static void put_field(FILE *out, const char *text) {
    struct csv_text field = csv_text_field(text);
    fwrite(field.bytes, 1, field.length, out);
    csv_text_free(&field);
}

/* With a decimal point, by which programs that read it know it as a number of that kind. */
static void put_number(FILE *out, double number) {
    char text[32];
    snprintf(text, sizeof text, "%.6g", number);
    fprintf(out, ",%s%s", text, strpbrk(text, ".e") == NULL ? ".0" : "");
}

/* How many columns there are in place of one, and the name of each. */
static uint32_t times(const struct sweep_rows *rows, enum column_each each) {
    switch (each) {
    case COLUMN_ONCE: return 1;
    case COLUMN_EACH_PRODUCT: return rows->measures->product_count;
    case COLUMN_EACH_LANE: return rows->measures->track_count;
    case COLUMN_EACH_PATH: return rows->axes->count;
    }
    require(false);
    return 0;
}

static void put_name(const struct sweep_rows *rows, const struct column *column, uint32_t index,
                     FILE *out) {
    switch (column->each) {
    case COLUMN_ONCE: fputs(column->name, out); return;
    case COLUMN_EACH_PRODUCT:
        fputs(rows->scenario->item[rows->measures->product[index]].name, out);
        break;
    case COLUMN_EACH_LANE: fputs(layout_track_name(rows->scenario, index), out); break;
    case COLUMN_EACH_PATH: put_field(out, rows->axes->axis[index].path); break;
    }
    fputs(column_table_ending(column), out);
}

/* Neighbouring columns of the same things stand together, thing by thing. */
static void put_header(const struct sweep_rows *rows, FILE *out) {
    const struct column_table *table = column_table_of("sweep.csv");
    const char *before = "";
    for (uint32_t first = 0, end = 0; first < table->column_count; first = end) {
        enum column_each each = table->column[first].each;
        while (end < table->column_count && table->column[end].each == each)
            end++;
        for (uint32_t i = 0; i < times(rows, each); i++)
            for (uint32_t k = first; k < end; k++, before = ",") {
                fputs(before, out);
                put_name(rows, &table->column[k], i, out);
            }
    }
    fputc('\n', out);
}

static void put_row(const struct sweep_rows *rows, uint32_t combination, bool best, FILE *out) {
    struct estimate jam = estimate_probability(jammed(rows, combination), rows->runs, confidence);
    for (uint32_t i = 0; i < rows->axes->count; i++) {
        put_field(out, sweep_axes_value(rows->axes, combination, i));
        fputc(',', out);
    }
    fprintf(out, "%u", rows->runs);
    put_number(out, jam.value);
    put_number(out, jam.low);
    put_number(out, jam.high);
    put_number(out, stuck(rows, combination));
    put_number(out, mean(rows, combination, 0));
    for (uint32_t i = 0; i < rows->measures->product_count; i++)
        put_number(out, mean(rows, combination, of_product(i)));
    for (uint32_t i = 0; i < rows->measures->track_count; i++) {
        put_number(out, mean(rows, combination, of_track(rows, i)));
        put_number(out, most(rows, combination, of_track(rows, i) + 1));
    }
    fprintf(out, ",%d\n", best);
}

char *sweep_rows_csv(const struct sweep_rows *rows) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    uint32_t best = sweep_rows_best(rows);
    put_header(rows, out);
    for (uint32_t c = 0; c < rows->axes->combinations; c++)
        put_row(rows, c, c == best, out);
    return text_stream_end(&stream);
}

/* ---- the screen ---- */

enum { COLUMNS_MOST = 64, HEADING_BYTES = 100 };

struct headings {
    struct table_column column[COLUMNS_MOST];
    char text[COLUMNS_MOST][HEADING_BYTES];
    uint32_t count;
};

static void add_heading(struct headings *headings, const char *format, const char *name) {
    if (headings->count == COLUMNS_MOST)
        return;
    char *text = headings->text[headings->count];
    snprintf(text, HEADING_BYTES, format, name);
    headings->column[headings->count++] = (struct table_column){text, true};
}

/* Products and lanes as far as there is room for their columns. */
static uint32_t shown(uint32_t count, uint32_t most_shown) {
    return count < most_shown ? count : most_shown;
}

enum { PRODUCTS_SHOWN = 6, TRACKS_SHOWN = 6, AXES_SHOWN = 20 };

static void set_headings(const struct sweep_rows *rows, struct headings *headings) {
    add_heading(headings, "%s", "");
    headings->column[0].is_number = false;
    for (uint32_t i = 0; i < shown(rows->axes->count, AXES_SHOWN); i++)
        add_heading(headings, "%s", rows->axes->axis[i].path);
    add_heading(headings, "%s", "jams, %");
    add_heading(headings, "%s", "95 % sure");
    add_heading(headings, "%s", "stuck, %");
    add_heading(headings, "%s", "met, %");
    for (uint32_t i = 0; i < shown(rows->measures->product_count, PRODUCTS_SHOWN); i++)
        add_heading(headings, "%s a minute", rows->scenario->item[rows->measures->product[i]].name);
    for (uint32_t i = 0; i < shown(rows->measures->track_count, TRACKS_SHOWN); i++)
        add_heading(headings, "%s, %% held", layout_track_name(rows->scenario, i));
}

static void add_row(const struct sweep_rows *rows, uint32_t combination, bool best,
                    struct table *table) {
    struct estimate jam = estimate_probability(jammed(rows, combination), rows->runs, confidence);
    table_add(table, "%s", best ? "best" : "");
    for (uint32_t i = 0; i < shown(rows->axes->count, AXES_SHOWN); i++)
        table_add(table, "%.60s", sweep_axes_value(rows->axes, combination, i));
    table_add(table, "%.3g", 100 * jam.value);
    table_add(table, "%.3g to %.3g", 100 * jam.low, 100 * jam.high);
    table_add(table, "%.3g", 100 * stuck(rows, combination));
    table_add(table, "%.4g", 100 * mean(rows, combination, 0));
    for (uint32_t i = 0; i < shown(rows->measures->product_count, PRODUCTS_SHOWN); i++)
        table_add(table, "%.4g", mean(rows, combination, of_product(i)));
    for (uint32_t i = 0; i < shown(rows->measures->track_count, TRACKS_SHOWN); i++)
        table_add(table, "%.3g to %.3g", 100 * mean(rows, combination, of_track(rows, i)),
                  100 * most(rows, combination, of_track(rows, i) + 1));
}

void sweep_rows_print(const struct sweep_rows *rows, FILE *out) {
    struct headings *headings = require_memory(1, sizeof *headings);
    struct table table;
    uint32_t best = sweep_rows_best(rows);
    set_headings(rows, headings);
    table_init(&table, headings->column, headings->count);
    fprintf(out, "%u combination%s, %u run%s each with the same seeds\n\n",
            rows->axes->combinations, plural(rows->axes->combinations), rows->runs,
            plural(rows->runs));
    for (uint32_t c = 0; c < rows->axes->combinations; c++)
        add_row(rows, c, c == best, &table);
    table_print(&table, out);
    table_free(&table);
    free(headings);
}

/* ---- data ---- */

static json_t *row_as_json(const struct sweep_rows *rows, uint32_t combination) {
    struct estimate jam = estimate_probability(jammed(rows, combination), rows->runs, confidence);
    json_t *row = json_object(), *values = json_object();
    for (uint32_t i = 0; i < rows->axes->count; i++)
        json_text_put(values, rows->axes->axis[i].path,
                      json_string(sweep_axes_value(rows->axes, combination, i)));
    json_text_put(row, "values", values);
    json_text_put(row, "runs", json_text_whole(rows->runs));
    json_text_put(row, "jam_probability", json_text_real(jam.value));
    json_text_put(row, "low", json_text_real(jam.low));
    json_text_put(row, "high", json_text_real(jam.high));
    json_text_put(row, "stuck", json_text_real(stuck(rows, combination)));
    json_text_put(row, "met", json_text_real(mean(rows, combination, 0)));
    return row;
}

char *sweep_rows_json(const struct sweep_rows *rows) {
    json_t *object = json_object(), *list = json_array();
    for (uint32_t c = 0; c < rows->axes->combinations; c++)
        json_text_append(list, row_as_json(rows, c));
    json_text_put(object, "rows", list);
    json_text_put(object, "best", json_text_whole(sweep_rows_best(rows)));
    return json_text_of(object, JSON_TEXT_DIGITS);
}
