/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/report.c - `loopwright report`: one HTML file from the directory of a run, a replay, a
 * drain, a soak or a sweep, of a run with the workshop in motion. */
#include <stdlib.h>
#include <string.h>

#include "sim/text_stream.h"
#include "tools/base/command.h"
#include "tools/base/interrupt.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/status.h"
#include "tools/checkpoint/capsule.h"
#include "tools/page/assets.h"
#include "tools/page/document.h"

static const char name[] = "report";

/* ---- writing it ---- */

static json_t *stretches_json(const struct recording *recording) {
    json_t *list = json_array(), *row = NULL;
    for (uint32_t i = 0; i < recording->piece_count; i++) {
        const struct recording_piece *piece = &recording->piece[i];
        if (!piece->is_whole)
            row = NULL;
        else if (row != NULL)
            json_array_set_new(row, 1, json_text_whole(piece->last_tick));
        else {
            row = json_array();
            json_text_append(row, json_text_whole(piece->first_tick));
            json_text_append(row, json_text_whole(piece->last_tick));
            json_text_append(list, row);
        }
    }
    return list;
}

/* Where it is and how large, then what of the run it does not show in full. */
static void print_done(const struct options *options, const struct document *document,
                       const char *path, size_t length) {
    const struct again *again = document->again;
    if (options->given[OPTION_JSON]) {
        json_t *object = json_object();
        json_text_put(object, "file", json_string(path));
        json_text_put(object, "bytes", json_text_whole((int64_t)length));
        json_text_put(object, "stretches",
                      again != NULL ? stretches_json(&again->recording) : json_array());
        char *text = json_text_of(object, JSON_TEXT_DIGITS);
        fputs(text, stdout);
        free(text);
    } else if (!options->given[OPTION_QUIET]) {
        printf("The page is %s, %.*f MB; a browser opens it from the disk.\n", path,
               length < 100000 ? 2 : 1, (double)length / 1e6);
        if (again != NULL && again->thinned_pieces > 0)
            printf(
                "It would be too large with every move: %u of %u stretches are shown as samples.\n"
                "The start, the end and what lies around events are shown in full.\n",
                again->thinned_pieces, again->whole_pieces + again->thinned_pieces);
    }
}

static int write_page(const struct options *options, const struct document *document,
                      const char *path) {
    struct text_stream stream;
    document_write(document, text_stream_begin(&stream));
    char *text = text_stream_end(&stream);
    bool written = output_write(path, OUTPUT_HTML, options->given[OPTION_FORCE], text);
    if (written && !output_is_standard(path))
        print_done(options, document, path, strlen(text));
    free(text);
    return written ? STATUS_HOLDS : output_failure(path);
}

/* ---- finding out ---- */

/* With all starvations that lasted, jams, deadlocks and clogs, as `cause` does. */
static bool explain(struct explanation *explanation, const struct source *source,
                    const struct world *begin, int64_t prove_ticks, bool show_progress) {
    if (!explanation_begin(explanation, source->scenario, begin, prove_ticks, show_progress))
        return false;
    cause_cases_keep_lasting(&explanation->cases);
    return explanation_work_out(explanation);
}

/* How far proofs go, as of `cause`: no shorter than the run. */
static bool read_horizon(const struct options *options, const struct scenario *scenario,
                         int64_t *ticks) {
    *ticks = NOT_GIVEN;
    if (!options_ticks(options, name, OPTION_PROVE, scenario->ticks_per_second, ticks))
        return false;
    if (*ticks > 0 && *ticks < scenario->run_ticks)
        *ticks = scenario->run_ticks;
    return true;
}

static int report_run(const struct options *options, const struct source *source,
                      const char *path) {
    struct again again;
    struct explanation explanation;
    int64_t prove_ticks;
    bool show_progress = !options->given[OPTION_QUIET];
    if (!read_horizon(options, source->scenario, &prove_ticks))
        return STATUS_USAGE;
    if (!again_run(&again, source, show_progress))
        return interrupt_signal() != 0 ? STATUS_SIGNAL + interrupt_signal() : STATUS_FILE;
    struct world *begin = source->kind == SOURCE_REPLAY ? source_world(source) : NULL;
    bool whole = explain(&explanation, source, begin, prove_ticks, show_progress);
    const struct document document = {source, &again, &explanation};
    int status = whole ? write_page(options, &document, path) : STATUS_SIGNAL + interrupt_signal();
    explanation_free(&explanation);
    world_free(begin);
    again_free(&again);
    return status;
}

static int report_source(const struct options *options, const struct source *source) {
    char *own = capsule_path_in(options->operand, "report.html");
    const char *given = options->value[OPTION_OUT_PAGE], *path = given != NULL ? given : own;
    int status = STATUS_FILE;
    if (output_may_write(path, options->given[OPTION_FORCE]))
        status = source->kind == SOURCE_SOAK || source->kind == SOURCE_SWEEP
                     ? write_page(options, &(struct document){.source = source}, path)
                     : report_run(options, source, path);
    free(own);
    return status;
}

int report_command(const struct options *options) {
    struct source source;
    if (assets_text("page.html") == NULL) {
        fputs("loopwright report: this program was built without the page\n"
              "    note: its chart library was not there when it was built\n"
              "    help: see docs/dependencies.md; `make demo` fetches it and builds again\n",
              stderr);
        return STATUS_FILE;
    }
    if (!source_read(&source, options->operand))
        return STATUS_FILE;
    int status = report_source(options, &source);
    source_free(&source);
    return status;
}
