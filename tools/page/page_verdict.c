/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_verdict.c - of a run, a replay or a drain; that of a soak is in page_soak.c. */
#include "tools/page/page_verdict.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/quantity.h"
#include "tools/page/html.h"
#include "tools/page/page_soak.h"
#include "tools/page/page_sweep.h"

/* ---- numbers ---- */

static double number(const json_t *object, const char *key) {
    return json_number_value(json_object_get(object, key));
}

static const char *text(const json_t *object, const char *key) {
    const char *value = json_string_value(json_object_get(object, key));
    return value != NULL ? value : "";
}

static void share_cell(FILE *out, const json_t *share) {
    if (json_is_number(share))
        fprintf(out, "<td>%.0f %%</td>", 100 * json_number_value(share));
    else
        fputs("<td>–</td>", out);
}

static void number_cell(FILE *out, const json_t *value) {
    fputs("<td>", out);
    html_number(out, value);
    fputs("</td>", out);
}

/* A time of a file as the clock shows it. */
static const char *clock_of(const struct source *source, double seconds,
                            char buffer[QUANTITY_TEXT_SIZE]) {
    int64_t rate = source->scenario->ticks_per_second;
    return quantity_clock((int64_t)(seconds * (double)rate + 0.5), rate, buffer);
}

/* ---- in a sentence ---- */

/* The first row of events.csv of a kind, with a link that shows that moment. */
static void first_event(const struct source *source, const char *kind, FILE *out) {
    char clock[QUANTITY_TEXT_SIZE];
    for (size_t row = 1; row < source->events.rows; row++) {
        if (strcmp(csv_table_field(&source->events, row, "event"), kind) != 0)
            continue;
        clock_of(source, strtod(csv_table_field(&source->events, row, "start_s"), NULL), clock);
        html_print(out, " on %s at ", csv_table_field(&source->events, row, "subject"));
        fprintf(out, "<a href=\"#t=%s\">%s</a>", clock, clock);
        return;
    }
}

static void count_events(const struct source *source, const json_t *verdict, const char *key,
                         const char *kind, FILE *out) {
    double count = number(verdict, key);
    if (count <= 0)
        return;
    fprintf(out, "; %.0f %s%s, the first", count, kind, count == 1 ? "" : "s");
    first_event(source, kind, out);
}

static void write_expectations(const json_t *verdict, FILE *out) {
    const json_t *list = json_object_get(verdict, "expect");
    size_t count = json_array_size(list), held = 0;
    for (size_t i = 0; i < count; i++)
        held += json_is_true(json_object_get(json_array_get(list, i), "holds"));
    if (count > 0)
        fprintf(out, "; %zu of %zu expectations came true", held, count);
}

static void write_sentence(const struct source *source, FILE *out) {
    const json_t *verdict = json_object_get(source->summary, "verdict");
    bool holds = json_is_true(json_object_get(verdict, "holds"));
    fprintf(out, "<p class=\"verdict %s\"><strong>%s</strong>", holds ? "holds" : "fails",
            holds ? "It holds" : "It does not hold");
    if (holds && number(verdict, "jams") > 0)
        fputs(", as the scenario expects it", out);
    count_events(source, verdict, "jams", "jam", out);
    count_events(source, verdict, "deadlocks", "deadlock", out);
    if (number(verdict, "jams") <= 0 && number(verdict, "deadlocks") <= 0)
        fputs("; no jam", out);
    write_expectations(verdict, out);
    fputs(".</p>\n", out);
}

/* ---- a drain ---- */

static const json_t *worst_drain(const struct source *source) {
    const json_t *worst = json_object_get(source->drain, "worst");
    return worst != NULL ? worst : source->drain;
}

static void write_left(const json_t *left, FILE *out) {
    if (json_array_size(left) == 0)
        return;
    fputs("<table><caption>What is left, and why it cannot leave</caption><thead><tr><th>place"
          "<th class=\"words\">item<th>count<th class=\"words\">why</tr></thead><tbody>\n",
          out);
    for (size_t i = 0; i < json_array_size(left); i++) {
        const json_t *one = json_array_get(left, i);
        fputs("<tr>", out);
        html_element(out, "td class=\"name\"", text(one, "place"));
        html_element(out, "td class=\"name\"", text(one, "item"));
        number_cell(out, json_object_get(one, "count"));
        html_element(out, "td class=\"words\"", text(one, "why"));
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}

static void write_time(const struct source *source, const json_t *object, const char *key,
                       const char *before, const char *after, FILE *out) {
    char clock[QUANTITY_TEXT_SIZE];
    if (!json_is_number(json_object_get(object, key)))
        return;
    clock_of(source, number(object, key), clock);
    fprintf(out, "%s<a href=\"#t=%s\">%s</a>%s", before, clock, clock, after);
}

static void write_drain(const struct source *source, FILE *out) {
    const json_t *drain = worst_drain(source);
    bool drained = json_is_true(json_object_get(drain, "drained"));
    fprintf(out, "<p class=\"verdict %s\"><strong>%s</strong>", drained ? "holds" : "fails",
            drained ? "Drained" : "Not drained");
    write_time(source, drain, "stopped_s", ": the demands stopped at ", "", out);
    write_time(source, drain, "emptied_s", ", and every loop is empty from ", " on", out);
    if (!drained) {
        double items = 0;
        const json_t *left = json_object_get(drain, "left");
        for (size_t i = 0; i < json_array_size(left); i++)
            items += number(json_array_get(left, i), "count");
        fprintf(out, ", and %.0f item%s left at the end", items, items == 1 ? " is" : "s are");
    }
    write_time(source, drain, "rest_s", "; nothing moves from ", " on", out);
    if (json_is_number(json_object_get(drain, "restart_s")))
        fprintf(out, "; started again, it made every product as fast as before after %.1f s",
                number(drain, "restart_s"));
    else if (json_is_false(json_object_get(drain, "restarted")))
        fputs("; started again, it did not make every product as fast as before", out);
    if (json_is_number(json_object_get(source->drain, "runs")))
        fprintf(out, ". Of %.0f runs %.0f drained; this is the worst",
                number(source->drain, "runs"), number(source->drain, "drained"));
    fputs(".</p>\n", out);
    const json_t *flood = json_object_get(drain, "flood");
    if (flood != NULL)
        fprintf(out, "<p>It began with a heap of %.0f items; the lanes %s.</p>\n",
                number(flood, "items"),
                json_is_true(json_object_get(flood, "recovered")) ? "thinned out by themselves"
                                                                  : "did not thin out");
    write_left(json_object_get(drain, "left"), out);
}

/* ---- figures ---- */

static void write_expected(const json_t *list, FILE *out) {
    if (json_array_size(list) == 0)
        return;
    fputs("<details><summary>What was expected, point by point</summary><table><thead><tr><th>what"
          "<th class=\"words\">expected<th>found<th>came true</tr></thead><tbody>\n",
          out);
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *one = json_array_get(list, i), *found = json_object_get(one, "found");
        fputs("<tr>", out);
        html_element(out, "td class=\"name\"", text(one, "what"));
        html_element(out, "td class=\"words\"", text(one, "expected"));
        if (json_is_string(found))
            html_element(out, "td", json_string_value(found));
        else
            number_cell(out, found);
        fprintf(out, "<td>%s</td></tr>\n",
                json_is_true(json_object_get(one, "holds")) ? "yes" : "no");
    }
    fputs("</tbody></table></details>\n", out);
}

static bool item_matters(const json_t *item) {
    return number(item, "made") > 0 || number(item, "demanded") > 0 || number(item, "met") > 0;
}

static void write_products(const json_t *items, FILE *out) {
    static const char *const column[] = {"made", "demanded", "met", "owed", "lost", "left"};
    const char *name;
    json_t *item;
    bool some = false;
    json_object_foreach((json_t *)items, name, item) some = some || item_matters(item);
    if (!some)
        return;
    fputs("<table><caption>Products</caption><thead><tr><th>item<th>made a minute<th>made<th>asked "
          "for<th>met<th>owed<th>lost<th>left at the end</tr></thead><tbody>\n",
          out);
    json_object_foreach((json_t *)items, name, item) {
        if (!item_matters(item))
            continue;
        fputs("<tr>", out);
        html_element(out, "td class=\"name\"", name);
        number_cell(out, json_object_get(item, "made_per_min"));
        for (size_t i = 0; i < sizeof column / sizeof *column; i++)
            number_cell(out, json_object_get(item, column[i]));
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}

static void write_lanes(const json_t *lanes, FILE *out) {
    const char *name;
    json_t *lane;
    if (json_object_size(lanes) == 0)
        return;
    fputs("<table><caption>Lanes and lines: occupied share</caption><thead><tr><th>lane<th>mean"
          "<th>greatest<th class=\"words\">items at the end</tr></thead><tbody>\n",
          out);
    json_object_foreach((json_t *)lanes, name, lane) {
        fputs("<tr>", out);
        html_element(out, "td class=\"name\"", name);
        share_cell(out, json_object_get(lane, "mean_share"));
        share_cell(out, json_object_get(lane, "max_share"));
        fputs("<td class=\"words\">", out);
        const char *kind, *between = "";
        json_t *count;
        json_object_foreach(json_object_get(lane, "items"), kind, count) {
            html_print(out, "%s%lld %s", between, (long long)json_integer_value(count), kind);
            between = ", ";
        }
        fputs("</td></tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}

/* Parts with the shares of their time; `states` ends with NULL. */
static void write_shares(const json_t *parts, const char *caption, const char *kind,
                         const char *const *states, FILE *out) {
    const char *name;
    json_t *part;
    if (json_object_size(parts) == 0)
        return;
    fprintf(out, "<table><caption>%s</caption><thead><tr><th>%s", caption, kind);
    for (size_t i = 0; states[i] != NULL; i++)
        fprintf(out, "<th>%s", states[i]);
    fputs("</tr></thead><tbody>\n", out);
    json_object_foreach((json_t *)parts, name, part) {
        fputs("<tr>", out);
        html_element(out, "td class=\"name\"", name);
        for (size_t i = 0; states[i] != NULL; i++)
            share_cell(out, json_object_get(part, states[i]));
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}

static void write_figures(const json_t *summary, FILE *out) {
    static const char *const station[] = {"working", "starved", "blocked",
                                          "gated",   "stopped", NULL};
    static const char *const arm[] = {"reaching",  "carrying", "placing",
                                      "returning", "stopped",  NULL};
    fputs("<div class=\"tables\">\n", out);
    write_products(json_object_get(summary, "items"), out);
    write_lanes(json_object_get(summary, "lanes"), out);
    write_shares(json_object_get(summary, "stations"), "Stations: shares of time", "station",
                 station, out);
    fputs("</div>\n<details><summary>Arms: shares of time</summary>\n", out);
    write_shares(json_object_get(summary, "arms"), "Arms: shares of time", "arm", arm, out);
    fputs("</details>\n", out);
    write_expected(json_object_get(json_object_get(summary, "verdict"), "expect"), out);
    fputs("<p class=\"quiet\">Shares of time and rates are those after the warm-up; counts are of "
          "the whole run.</p>\n",
          out);
}

void page_verdict_write(const struct source *source, FILE *out) {
    if (source->kind == SOURCE_SOAK) {
        page_soak_write(source, out);
        return;
    }
    if (source->kind == SOURCE_SWEEP) {
        page_sweep_write(source, out);
        return;
    }
    if (source->kind == SOURCE_DRAIN)
        write_drain(source, out);
    else
        write_sentence(source, out);
    write_figures(source->summary, out);
}
