/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/document.c - copies the frame, and at each place to be filled calls who fills it. */
#include "tools/page/document.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/base/json_text.h"
#include "tools/base/version.h"
#include "tools/page/assets.h"
#include "tools/page/html.h"
#include "tools/page/packed.h"
#include "tools/page/page_cause.h"
#include "tools/page/page_verdict.h"
#include "tools/page/plan.h"

/* In this order they find each other. */
static const char *const script[] = {"uPlot.iife.min.js", "settings.js", "packed.js", "playback.js",
                                     "layout.js",         "words.js",    "draw.js",   "journey.js",
                                     "charts.js",         "waits.js",    "page.js"};
enum { SCRIPTS = sizeof script / sizeof *script };

static const char *asset(const char *name) {
    const char *text = assets_text(name);
    require(text != NULL);
    return text;
}

/* ---- what fills the frame ---- */

static const char *const kind_name[] = {[SOURCE_RUN] = "Run",
                                        [SOURCE_REPLAY] = "Replay",
                                        [SOURCE_DRAIN] = "Drain",
                                        [SOURCE_SOAK] = "Soak",
                                        [SOURCE_SWEEP] = "Sweep"};

static void fill_title(const struct document *document, FILE *out) {
    const char *title = document->source->scenario->title;
    html_text(out, *title != '\0' ? title : "A workshop");
}

static void fill_about(const struct document *document, FILE *out) {
    const struct source *source = document->source;
    const struct scenario *scenario = source->scenario;
    char clock[QUANTITY_TEXT_SIZE];
    fputs(kind_name[source->kind], out);
    if (source->kind == SOURCE_SOAK)
        fprintf(out, " of %lld runs with seeds from %llu on",
                (long long)json_integer_value(json_object_get(source->soak, "runs")),
                (unsigned long long)scenario->seed);
    else if (source->kind == SOURCE_SWEEP)
        fprintf(out, " of %zu combinations, %s runs each with seeds from %llu on",
                source->sweep.rows - 1, csv_table_field(&source->sweep, 1, "runs"),
                (unsigned long long)scenario->seed);
    else
        fprintf(out, " of %s, seed %llu",
                quantity_clock(scenario->run_ticks, scenario->ticks_per_second, clock),
                (unsigned long long)scenario->seed);
    if (document->again != NULL && document->again->recording.first_tick > 0)
        fprintf(out, ", from %s on",
                quantity_clock(document->again->recording.first_tick, scenario->ticks_per_second,
                               clock));
}

static void fill_styles(const struct document *document, FILE *out) {
    fprintf(out, "<style>\n%s\n%s</style>", document->again != NULL ? asset("uPlot.min.css") : "",
            asset("page.css"));
}

static void fill_contents(const struct document *document, FILE *out) {
    fputs("<a href=\"#verdict\">Verdict</a>", out);
    if (document->again != NULL)
        fputs(" <a href=\"#moving\">In motion</a> <a href=\"#charts\">Over time</a> <a "
              "href=\"#cause\">Cause</a> <a href=\"#events\">Events</a>",
              out);
    fputs(" <a href=\"#cautions\">Cautions</a> <a href=\"#sources\">Sources</a>", out);
}

static void fill_verdict(const struct document *document, FILE *out) {
    page_verdict_write(document->source, out);
}

static void fill_moving(const struct document *document, FILE *out) {
    if (document->again != NULL)
        fputs(asset("moving.html"), out);
}

static void fill_cause(const struct document *document, FILE *out) {
    if (document->explanation != NULL)
        page_cause_write(document->source, document->explanation, out);
}

/* So many are shown without JavaScript; of more than so many only incidents and troubles are kept.
 */
enum { EVENTS_PLAIN = 40, EVENTS_MOST = 20000 };

/* Without JavaScript the first of them stand here. */
static void fill_events(const struct document *document, FILE *out) {
    const struct csv_table *events = &document->source->events;
    if (document->again == NULL)
        return;
    fputs(asset("events.html"), out);
    if (events->rows > EVENTS_MOST)
        fprintf(
            out,
            "<p class=\"quiet\">Of %zu events the first %d are listed, then incidents, jams and "
            "clogs only; events.csv has all.</p>\n",
            events->rows - 1, EVENTS_MOST);
    fputs("<noscript><table><thead><tr>", out);
    for (size_t i = 0; i < events->columns; i++)
        html_element(out, "th", events->field[i]);
    fputs("</tr></thead><tbody>", out);
    for (size_t row = 1; row < events->rows && row <= EVENTS_PLAIN; row++) {
        fputs("<tr>", out);
        for (size_t i = 0; i < events->columns; i++)
            html_element(out, "td", events->field[row * events->columns + i]);
        fputs("</tr>", out);
    }
    fprintf(out,
            "</tbody></table><p>%zu events in all; events.csv has them.</p></noscript>\n"
            "</section>\n",
            events->rows - 1);
}

/* Where the colours and the charts come from. */
static void fill_moving_sources(FILE *out) {
    fputs("The run was run again from its scenario and seed, tick by tick, which gives the same "
          "run on "
          "every machine.</p>\n<p>Colours: the set of Okabe and Ito, <cite>Color Universal "
          "Design</cite>, 2002 and 2008, safe for colour-blind eyes; each item also has letters. "
          "Charts: uPlot.</p>\n<details><summary>Licence of uPlot</summary>",
          out);
    html_element(out, "pre tabindex=\"0\"", asset("LICENSE"));
    fputs("</details>\n", out);
}

static const char *figures_of(enum source_kind kind) {
    return kind == SOURCE_SOAK    ? "soak.json and runs.csv"
           : kind == SOURCE_SWEEP ? "sweep.csv"
                                  : "summary.json and events.csv";
}

static void fill_sources(const struct document *document, FILE *out) {
    fprintf(out,
            "<p>Made by <code>loopwright report</code>, version " LOOPWRIGHT_VERSION
            ". Figures are those of %s. ",
            figures_of(document->source->kind));
    if (document->again != NULL)
        fill_moving_sources(out);
    else
        fputs("</p>\n", out);
    fputs("<details><summary>The scenario as it was run</summary>", out);
    html_element(out, "pre tabindex=\"0\"", document->source->scenario->text);
    fputs("</details>\n", out);
}

/* ---- data and scripts ---- */

static bool event_matters(const char *event) {
    static const char *const minor[] = {"starved", "blocked", "congested", "emptied", "rest"};
    for (size_t i = 0; i < sizeof minor / sizeof *minor; i++)
        if (strcmp(event, minor[i]) == 0)
            return false;
    return true;
}

static json_t *events_json(const struct csv_table *events) {
    json_t *list = json_array();
    for (size_t row = 0; row < events->rows; row++) {
        if (row > EVENTS_MOST && !event_matters(csv_table_field(events, row, "event")))
            continue;
        json_t *fields = json_array();
        for (size_t i = 0; i < events->columns; i++)
            json_text_append(fields, json_string(events->field[row * events->columns + i]));
        json_text_append(list, fields);
    }
    return list;
}

/* First and last tick of each piece, then the bytes of its frame and of its changes: 0 where they
 * were left out. */
static json_t *pieces_json(const struct recording *recording) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < recording->piece_count; i++) {
        const struct recording_piece *piece = &recording->piece[i];
        json_t *row = json_array();
        json_text_append(row, json_text_whole(piece->first_tick));
        json_text_append(row, json_text_whole(piece->last_tick));
        json_text_append(row, json_text_whole((int64_t)piece->frame.length));
        json_text_append(row, json_text_whole((int64_t)piece->changes.length));
        json_text_append(list, row);
    }
    return list;
}

static void write_packed(const struct again *again, FILE *out) {
    const struct recording *recording = &again->recording;
    struct bytes series = series_pack(again->series);
    fputs("<script type=\"text/plain\" id=\"packed\">", out);
    for (uint32_t i = 0; i < recording->piece_count; i++) {
        packed_write(&recording->piece[i].frame, out);
        packed_write(&recording->piece[i].changes, out);
    }
    fputs("</script>\n<script type=\"text/plain\" id=\"series\">", out);
    packed_write(&series, out);
    fputs("</script>\n", out);
    bytes_free(&series);
}

static void write_data(const struct document *document, FILE *out) {
    const struct again *again = document->again;
    json_t *plan = plan_json(document->source->scenario, again->recording.first_tick);
    json_text_put(plan, "first", json_text_whole(again->recording.first_tick));
    json_text_put(plan, "last", json_text_whole(again->recording.last_tick));
    json_text_put(plan, "pieces", pieces_json(&again->recording));
    json_text_put(plan, "series", series_plan(again->series));
    html_data(out, "plan", plan);
    html_data(out, "event-rows", events_json(&document->source->events));
    write_packed(again, out);
}

static void fill_scripts(const struct document *document, FILE *out) {
    if (document->again == NULL)
        return;
    write_data(document, out);
    for (size_t i = 0; i < SCRIPTS; i++)
        fprintf(out, "<script>\n%s</script>\n", asset(script[i]));
}

/* ---- the frame ---- */

static const struct filling {
    const char *name;
    void (*fill)(const struct document *document, FILE *out);
} filling_row[] = {
    {"title", fill_title},       {"about", fill_about},     {"styles", fill_styles},
    {"contents", fill_contents}, {"verdict", fill_verdict}, {"moving", fill_moving},
    {"cause", fill_cause},       {"events", fill_events},   {"sources", fill_sources},
    {"scripts", fill_scripts},
};
enum { FILLINGS = sizeof filling_row / sizeof *filling_row };

static const struct filling *filling_named(const char *name, size_t length) {
    for (size_t i = 0; i < FILLINGS; i++)
        if (strlen(filling_row[i].name) == length &&
            strncmp(filling_row[i].name, name, length) == 0)
            return &filling_row[i];
    return NULL;
}

void document_write(const struct document *document, FILE *out) {
    static const char begin[] = "<!-- fill: ", end[] = " -->";
    const char *at = asset("page.html");
    for (;;) {
        const char *place = strstr(at, begin);
        if (place == NULL)
            break;
        fwrite(at, 1, (size_t)(place - at), out);
        const char *name = place + strlen(begin), *after = strstr(name, end);
        require(after != NULL);
        const struct filling *filling = filling_named(name, (size_t)(after - name));
        require(filling != NULL);
        filling->fill(document, out);
        at = after + strlen(end);
    }
    fputs(at, out);
}
