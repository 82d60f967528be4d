/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_soak.c - from soak.json and runs.csv. The spread of a product is drawn as
 * columns, one for each of some equal steps of its rate; the table of all runs says the same. */
#include "tools/page/page_soak.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/checkpoint/capsule.h"
#include "tools/page/html.h"

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

static const char *clock_of(const struct source *source, const char *seconds,
                            char buffer[QUANTITY_TEXT_SIZE]) {
    int64_t rate = source->scenario->ticks_per_second;
    if (*seconds == '\0')
        return "–";
    return quantity_clock((int64_t)(strtod(seconds, NULL) * (double)rate + 0.5), rate, buffer);
}

/* ---- in sentences ---- */

static void write_interval(const json_t *estimate, double factor, const char *unit, FILE *out) {
    if (json_is_number(json_object_get(estimate, "low")) &&
        json_is_number(json_object_get(estimate, "high")))
        fprintf(out, " (%.3g to %.3g%s)", factor * number(estimate, "low"),
                factor * number(estimate, "high"), unit);
}

static bool run_failed(const struct source *source, size_t row) {
    return strcmp(csv_table_field(&source->runs, row, "verdict"), "fails") == 0;
}

static size_t failed_runs(const struct source *source) {
    size_t count = 0;
    for (size_t row = 1; row < source->runs.rows; row++)
        count += run_failed(source, row);
    return count;
}

static bool run_jammed(const struct source *source, size_t row) {
    return strcmp(csv_table_field(&source->runs, row, "jams"), "0") != 0;
}

static size_t jammed_runs(const struct source *source) {
    size_t count = 0;
    for (size_t row = 1; row < source->runs.rows; row++)
        count += run_jammed(source, row);
    return count;
}

static void write_sentences(const struct source *source, FILE *out) {
    const json_t *soak = source->soak, *jam = json_object_get(soak, "jam_probability");
    const json_t *stuck = json_object_get(soak, "stuck"),
                 *first = json_object_get(soak, "first_jam");
    size_t failed = failed_runs(source);
    fprintf(out, "<p class=\"verdict %s\"><strong>%s</strong>: ", failed == 0 ? "holds" : "fails",
            failed == 0 ? "It holds" : "It does not hold");
    if (failed == 0)
        fprintf(out, "none of %.0f runs fails", number(soak, "runs"));
    else
        fprintf(out, "%zu of %.0f runs fail%s", failed, number(soak, "runs"),
                failed == 1 ? "s" : "");
    fprintf(out, "; %zu of them jam%s.</p>\n<ul class=\"points\">\n", jammed_runs(source),
            jammed_runs(source) == 1 ? "s" : "");
    fprintf(out, "<li>Probability of a jam in a run: <strong>%.3g %%</strong>",
            100 * number(jam, "estimate"));
    write_interval(jam, 100, " %", out);
    fputs("</li>\n", out);
    if (json_is_object(stuck)) {
        fprintf(out, "<li>Stuck at the end: <strong>%.3g %%</strong> of runs",
                100 * number(stuck, "estimate"));
        write_interval(stuck, 100, " %", out);
        fputs("</li>\n", out);
    }
    if (json_is_number(json_object_get(first, "mean_s"))) {
        fprintf(out, "<li>Mean time to the first jam: <strong>%.2f h</strong>",
                number(first, "mean_s") / 3600);
        write_interval(first, 1 / 3600.0, " h", out);
        fprintf(out, "; %.0f runs without one</li>\n", number(first, "censored"));
    }
    const json_t *fills = json_object_get(soak, "accumulates");
    if (json_is_object(fills))
        fprintf(
            out,
            "<li>All runs jam after much the same time, %.2f to %.2f h: something fills up.</li>\n",
            number(fills, "least_s") / 3600, number(fills, "greatest_s") / 3600);
    const json_t *recovery = json_object_get(soak, "recovery");
    if (json_is_object(recovery))
        fprintf(
            out,
            "<li>After a disturbance products come as before within %.0f s on average, %.0f s at "
            "most; %.0f times not in time.</li>\n",
            number(recovery, "mean_s"), number(recovery, "greatest_s"), number(recovery, "not"));
    fprintf(out, "</ul>\n<p class=\"quiet\">In brackets: %.0f %% intervals.</p>\n",
            100 * number(soak, "confidence"));
}

/* A cell; without a number where the runs can't say. */
static void write_scaled(const json_t *estimate, const char *key, double factor, FILE *out) {
    if (json_is_number(json_object_get(estimate, key)))
        fprintf(out, "<td>%.2f</td>", factor * number(estimate, key));
    else
        fputs("<td>–</td>", out);
}

static void write_means(const json_t *object, const char *caption, const char *kind, double factor,
                        FILE *out) {
    const char *name;
    json_t *estimate;
    if (json_object_size(object) == 0)
        return;
    fprintf(out,
            "<table><caption>%s</caption><thead><tr><th>%s<th>mean<th>from<th>to</tr></thead>"
            "<tbody>\n",
            caption, kind);
    json_object_foreach((json_t *)object, name, estimate) {
        fputs("<tr>", out);
        html_element(out, "td class=\"name\"", name);
        write_scaled(estimate, "mean", factor, out);
        write_scaled(estimate, "low", factor, out);
        write_scaled(estimate, "high", factor, out);
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}

/* ---- the spread of a product ---- */

enum { COLUMNS = 24, WIDTH = 480, HEIGHT = 120, LEFT = 34, BOTTOM = 22 };

struct spread {
    double least, greatest;
    size_t count[COLUMNS], most, runs;
};

static size_t column_of(const struct spread *spread, double rate) {
    double width = spread->greatest - spread->least;
    size_t column = width > 0 ? (size_t)((rate - spread->least) / width * COLUMNS) : COLUMNS / 2;
    return column < COLUMNS ? column : COLUMNS - 1;
}

static struct spread spread_of(const struct csv_table *runs, const char *heading) {
    struct spread spread = {.runs = runs->rows - 1};
    for (size_t row = 1; row < runs->rows; row++) {
        double rate = strtod(csv_table_field(runs, row, heading), NULL);
        spread.least = row == 1 || rate < spread.least ? rate : spread.least;
        spread.greatest = row == 1 || rate > spread.greatest ? rate : spread.greatest;
    }
    for (size_t row = 1; row < runs->rows; row++) {
        size_t *count =
            &spread.count[column_of(&spread, strtod(csv_table_field(runs, row, heading), NULL))];
        *count += 1;
        spread.most = *count > spread.most ? *count : spread.most;
    }
    return spread;
}

static void write_spread(const struct spread *spread, const char *product, FILE *out) {
    double step = (double)(WIDTH - LEFT) / COLUMNS;
    fprintf(out, "<figure class=\"spread\"><figcaption>");
    html_print(out, "%s, made in a minute: %zu runs from %.3g to %.3g", product, spread->runs,
               spread->least, spread->greatest);
    fprintf(out, "</figcaption><svg viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"", WIDTH,
            HEIGHT + BOTTOM);
    html_print(out, "columns: how many runs made how many %s a minute", product);
    fprintf(out,
            "\"><path class=\"axis\" d=\"M%d 4V%dH%d\"/><text x=\"%d\" y=\"12\" "
            "text-anchor=\"end\">%zu</text>",
            LEFT, HEIGHT, WIDTH, LEFT - 4, spread->most);
    for (int i = 0; i < COLUMNS; i++) {
        double height = (double)spread->count[i] / (double)spread->most * (HEIGHT - 8);
        if (spread->count[i] > 0)
            fprintf(out,
                    "<rect class=\"column\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\">"
                    "<title>%zu runs</title></rect>",
                    LEFT + i * step + 1, HEIGHT - height, step - 2, height, spread->count[i]);
    }
    fprintf(out,
            "<text x=\"%d\" y=\"%d\">%.3g</text><text x=\"%d\" y=\"%d\" text-anchor=\"end\">%.3g"
            "</text></svg></figure>\n",
            LEFT, HEIGHT + 16, spread->least, WIDTH, HEIGHT + 16, spread->greatest);
}

static void write_spreads(const struct csv_table *runs, FILE *out) {
    static const char ending[] = "_per_min";
    if (runs->rows < 2)
        return;
    fputs("<h3>How each product's rate is spread over the runs</h3>\n<div class=\"spreads\">\n",
          out);
    for (size_t i = 0; i < runs->columns; i++) {
        const char *heading = runs->field[i];
        size_t length = strlen(heading);
        if (length <= strlen(ending) || strcmp(heading + length - strlen(ending), ending) != 0)
            continue;
        char *product = require_text(heading);
        product[length - strlen(ending)] = '\0';
        struct spread spread = spread_of(runs, heading);
        write_spread(&spread, product, out);
        free(product);
    }
    fputs("</div>\n", out);
}

/* ---- runs ---- */

static bool is_there(const char *directory, const char *file) {
    struct stat status;
    char *path = capsule_path_in(directory, file);
    bool there = stat(path, &status) == 0;
    free(path);
    return there;
}

/* How to have a run again of which nothing was kept. One that was disturbed comes only with its
 * disturbances. */
static void write_line_of(const struct source *source, size_t row, FILE *out) {
    bool disturbed = json_is_object(json_object_get(source->soak, "recovery"));
    const char *seed = csv_table_field(&source->runs, row, "seed");
    html_print(out,
               disturbed ? "loopwright soak %s/scenario.yaml --disturb --runs 1 --seed %s --out "
                           "run-%s"
                         : "loopwright run %s/scenario.yaml --seed %s --out run-%s",
               source->path, seed, csv_table_field(&source->runs, row, "run"));
}

/* A link to the page of a run that was kept; else how to make it. */
static void write_page_of(const struct source *source, size_t row, FILE *out) {
    const char *run = csv_table_field(&source->runs, row, "run");
    const char *capsule = csv_table_field(&source->runs, row, "capsule");
    char page[64];
    snprintf(page, sizeof page, "jam-%.40s.html", run);
    fputs("<td class=\"words\">", out);
    if (is_there(source->path, page)) {
        fprintf(out, "<a href=\"%s\">its page</a>", page);
    } else if (capsule != NULL && *capsule != '\0') {
        fputs("<code class=\"paste\">", out);
        html_print(out,
                   "loopwright replay %s/%s --out run-%s && loopwright report run-%s --out "
                   "%s/%s",
                   source->path, capsule, run, run, source->path, page);
        fputs("</code>", out);
    } else {
        fputs("<code class=\"paste\">", out);
        write_line_of(source, row, out);
        fputs("</code>", out);
    }
    fputs("</td>", out);
}

static void write_failed(const struct source *source, FILE *out) {
    char clock[QUANTITY_TEXT_SIZE];
    if (failed_runs(source) == 0 && jammed_runs(source) == 0)
        return;
    fputs("<h3>Runs that failed or jammed</h3>\n<table><thead><tr><th>run<th>seed<th>first "
          "jam<th>jams<th>"
          "jammed, s<th>stuck<th class=\"words\">to see it</tr></thead><tbody>\n",
          out);
    for (size_t row = 1; row < source->runs.rows; row++) {
        if (!run_failed(source, row) && !run_jammed(source, row))
            continue;
        fputs("<tr>", out);
        html_element(out, "td", csv_table_field(&source->runs, row, "run"));
        html_element(out, "td", csv_table_field(&source->runs, row, "seed"));
        html_element(out, "td",
                     clock_of(source, csv_table_field(&source->runs, row, "first_jam_s"), clock));
        html_element(out, "td", csv_table_field(&source->runs, row, "jams"));
        html_element(out, "td", csv_table_field(&source->runs, row, "jammed_s"));
        const char *stuck = csv_table_field(&source->runs, row, "stuck");
        html_element(out, "td", stuck != NULL && strcmp(stuck, "1") == 0 ? "yes" : "no");
        write_page_of(source, row, out);
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}

void page_soak_write(const struct source *source, FILE *out) {
    write_sentences(source, out);
    fputs("<div class=\"tables\">\n", out);
    write_means(json_object_get(source->soak, "throughput"), "Made in a minute", "product", 1, out);
    write_means(json_object_get(source->soak, "occupied_share"), "Occupied share, %", "lane", 100,
                out);
    fputs("</div>\n", out);
    write_failed(source, out);
    write_spreads(&source->runs, out);
    html_table(out, "All runs", &source->runs);
}
