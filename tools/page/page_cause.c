/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_cause.c - works on the JSON of `cause`, so that page and command say the same. */
#include "tools/page/page_cause.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/cause/cause_report.h"
#include "tools/page/html.h"

static const char *text(const json_t *object, const char *key) {
    const char *value = json_string_value(json_object_get(object, key));
    return value != NULL ? value : "";
}

static struct cause_report report_of(const struct source *source,
                                     const struct explanation *explanation) {
    return (struct cause_report){.path = source->path,
                                 .scenario_path = "scenario.yaml",
                                 .cases = &explanation->cases,
                                 .remedies = &explanation->remedies,
                                 .shorts = &explanation->shorts,
                                 .short_remedies = &explanation->short_remedies};
}

/* A set as one would type it. */
static void write_sets(const json_t *sets, FILE *out) {
    fputs("<td class=\"words\"><code class=\"paste\">", out);
    for (size_t i = 0; i < json_array_size(sets); i++)
        html_print(out, "%s--set '%s'", i > 0 ? " " : "",
                   json_string_value(json_array_get(sets, i)));
    fputs("</code></td>", out);
}

static void write_effect(const json_t *remedy, FILE *out) {
    const json_t *jam = json_object_get(remedy, "jam"), *met = json_object_get(remedy, "met");
    const json_t *first = json_object_get(remedy, "first_jam_s");
    fputs("<td class=\"words\">", out);
    if (json_is_true(jam) && json_is_number(first))
        fprintf(out, "jams or clogs later, after %.0f s", json_number_value(first));
    else
        fputs(json_is_true(jam) ? "jams or clogs later" : "no jam", out);
    if (json_is_true(json_object_get(remedy, "starved")))
        fputs("; a station starves", out);
    fprintf(out, "</td><td>%.1f h</td>",
            json_number_value(json_object_get(remedy, "proved_s")) / 3600);
    if (json_is_number(met))
        fprintf(out, "<td>%.0f %%</td>", 100 * json_number_value(met));
    else
        fputs("<td>–</td>", out);
    fputs("<td class=\"words\">", out);
    const char *item, *between = "";
    json_t *rate;
    json_object_foreach(json_object_get(remedy, "throughput"), item, rate) {
        html_print(out, "%s%s %.1f", between, item, json_number_value(rate));
        between = ", ";
    }
    const json_t *grows = json_object_get(remedy, "grows");
    for (size_t i = 0; i < json_array_size(grows); i++) {
        const json_t *one = json_array_get(grows, i);
        html_print(out, "; %s goes on filling with %s", text(one, "place"), text(one, "item"));
    }
    fputs("</td>", out);
}

static void write_remedies(const json_t *found, FILE *out) {
    const json_t *remedies = json_object_get(found, "remedies");
    if (json_array_size(remedies) == 0)
        return;
    fputs("<table><caption>", out);
    html_print(out, "What would have prevented it: %s of %s", text(found, "kind"),
               text(found, "subject"));
    fputs("; each was tried by running again, the best first</caption><thead><tr><th>change, to "
          "paste after `loopwright run SCENARIO`<th class=\"words\">what it does<th>tried "
          "over<th>demand met<th>made "
          "a minute</tr></thead><tbody>\n",
          out);
    for (size_t i = 0; i < json_array_size(remedies); i++) {
        const json_t *remedy = json_array_get(remedies, i);
        fputs("<tr>", out);
        write_sets(json_object_get(remedy, "set"), out);
        write_effect(remedy, out);
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}

static void write_waits(const json_t *found, FILE *out) {
    const json_t *waits = json_object_get(found, "waits");
    fputs("<details><summary>Who waits for whom, as a table</summary><table><thead><tr><th>who<th "
          "class=\"words\">"
          "waits for<th class=\"words\">on<th>since, s</tr></thead><tbody>\n",
          out);
    for (size_t i = 0; i < json_array_size(waits); i++) {
        const json_t *wait = json_array_get(waits, i);
        fputs("<tr>", out);
        html_element(out, "td class=\"name\"", text(wait, "who"));
        html_element(out, "td class=\"words\"", text(wait, "what"));
        html_element(out, "td class=\"name\"", text(wait, "on"));
        fputs("<td>", out);
        html_number(out, json_object_get(wait, "since_s"));
        fputs("</td></tr>\n", out);
    }
    fputs("</tbody></table></details>\n", out);
}

/* The order in which cases are told: jams first, then what lasts in another way. */
static int turn_of(const json_t *found) {
    static const char *const kind[] = {"jam", "deadlock", "clogged", "starved"};
    for (size_t i = 0; i < sizeof kind / sizeof *kind; i++)
        if (strcmp(text(found, "kind"), kind[i]) == 0)
            return (int)i;
    return (int)(sizeof kind / sizeof *kind);
}
enum { TURNS = 5 };

static void write_picture(const json_t *found, size_t index, FILE *out) {
    if (json_array_size(json_object_get(found, "waits")) == 0)
        return;
    fprintf(out, "<figure class=\"waits\" data-found=\"%zu\"><figcaption>", index);
    html_print(out, "Who waits for whom: %s of %s", text(found, "kind"), text(found, "subject"));
    fputs("</figcaption><div class=\"picture\" tabindex=\"0\"></div>", out);
    write_waits(found, out);
    fputs("</figure>\n", out);
}

/* The first in full, the others folded away. */
static void write_found(const json_t *found, FILE *out) {
    size_t told = 0;
    for (int turn = 0; turn < TURNS; turn++)
        for (size_t i = 0; i < json_array_size(found); i++) {
            const json_t *one = json_array_get(found, i);
            if (turn_of(one) != turn)
                continue;
            if (told++ == 1)
                fprintf(out, "<details><summary>%zu more</summary>\n", json_array_size(found) - 1);
            write_picture(one, i, out);
            write_remedies(one, out);
        }
    if (told > 1)
        fputs("</details>\n", out);
}

void page_cause_write(const struct source *source, const struct explanation *explanation,
                      FILE *out) {
    struct cause_report report = report_of(source, explanation);
    struct text_stream stream;
    char *json = cause_report_json(&report);
    json_t *data = json_loads(json, 0, NULL);
    require(data != NULL);
    cause_report_text(&report, text_stream_begin(&stream));
    char *words = text_stream_end(&stream);
    fputs("<section id=\"cause\" aria-labelledby=\"cause-head\">\n"
          "<h2 id=\"cause-head\">Cause</h2>\n",
          out);
    html_element(out, "pre class=\"said\" tabindex=\"0\"", words);
    write_found(json_object_get(data, "found"), out);
    html_data(out, "found", json_incref(json_object_get(data, "found")));
    fputs("</section>\n", out);
    json_decref(data);
    free(json);
    free(words);
}
