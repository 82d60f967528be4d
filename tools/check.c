/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/check.c - `loopwright check`: reads and checks a scenario or a brief, and runs nothing. */
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/command.h"
#include "tools/base/diagnostics.h"
#include "tools/base/interrupt.h"
#include "tools/base/json_text.h"
#include "tools/base/load.h"
#include "tools/base/status.h"
#include "tools/base/table.h"

static json_t *text_or_null(const char *text) {
    return text != NULL ? json_string(text) : json_null();
}

/* Places that there are none of are null: those of a change on the command line have no line. */
static json_t *place_or_null(uint32_t number) {
    return number > 0 ? json_text_whole(number) : json_null();
}

/* What is wrong, and what was expected. */
static json_t *message_of(const struct fault *fault) {
    if (fault->note == NULL)
        return json_string(fault->what);
    return json_sprintf("%s (%s)", fault->what, fault->note);
}

static json_t *fault_as_json(const struct fault *fault) {
    json_t *object = json_object();
    json_text_put(object, "file", json_string(fault->source));
    json_text_put(object, "line", place_or_null(fault->line));
    json_text_put(object, "column", place_or_null(fault->column));
    json_text_put(object, "severity",
                  json_string(fault->grade == FAULT_ERROR ? "error" : "warning"));
    json_text_put(object, "message", message_of(fault));
    json_text_put(object, "help", text_or_null(fault->help));
    return object;
}

static void print_json(const struct faults *faults) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < faults->count; i++)
        json_text_append(list, fault_as_json(&faults->fault[i]));
    char *text = json_text_of(list, JSON_TEXT_DIGITS);
    fputs(text, stdout);
    free(text);
}

static void print_text(const char *path, const struct faults *faults, const struct draft *draft) {
    diagnostics_print_all(stdout, faults);
    if (draft == NULL)
        printf("%s: %u error%s\n", path, faults->error_count, plural(faults->error_count));
    else if (draft_is_open(draft))
        printf("%s is in order, and open: `loopwright design` completes it\n", path);
    else
        printf("%s is in order\n", path);
}

/* Reads it with the changes of --set. */
static struct draft *read_it(const struct options *options, struct faults *faults,
                             bool *unreadable) {
    return read_draft_file(options->operand, options->set, options->set_count, faults, unreadable);
}

int check_command(const struct options *options) {
    struct faults faults = {0};
    bool unreadable = false;
    interrupt_leave();
    struct draft *draft = read_it(options, &faults, &unreadable);
    bool good = draft != NULL;
    if (unreadable)
        load_help_with_name(options->operand, &faults);
    if (unreadable)
        diagnostics_print(stderr, &faults);
    else if (options->given[OPTION_JSON])
        print_json(&faults);
    else if (!options->given[OPTION_QUIET])
        print_text(strcmp(options->operand, "-") == 0 ? "standard input" : options->operand,
                   &faults, draft);
    draft_free(draft);
    faults_free(&faults);
    return unreadable ? STATUS_FILE : good ? STATUS_HOLDS : STATUS_SCENARIO;
}
