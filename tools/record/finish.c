/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/finish.c - the files are in their place before anything is said about them. */
#include "tools/record/finish.h"

#include <stdlib.h>

#include "tools/base/status.h"
#include "tools/record/advice.h"
#include "tools/record/summary_text.h"

bool finish_may_write(const struct options *options, const char *command) {
    static const struct {
        enum option option;
        const char *name, *what;
    } row[] = {{OPTION_MOVES, "--moves", "moves.csv"},
               {OPTION_KEEP_EVERY, "--keep-every", "its capsules"}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        if (!options->given[row[i].option] || options->value[OPTION_OUT] != NULL)
            continue;
        fprintf(stderr, "loopwright %s: `%s` needs a directory for %s: add --out DIR\n", command,
                row[i].name, row[i].what);
        return false;
    }
    return true;
}

static void print_outcome(const struct finish *finish, const struct outcome *outcome,
                          const char *json) {
    const struct options *options = finish->options;
    const char *directory = options->value[OPTION_OUT];
    if (finish->shown) {
        summary_text_verdict(outcome, stdout);
    } else if (options->given[OPTION_JSON]) {
        fputs(json, stdout);
    } else if (!options->given[OPTION_QUIET]) {
        summary_text_print(outcome, directory, stdout);
        advice_print(outcome, directory != NULL ? directory : finish->explained, stdout);
    }
}

/* What is only said in words needs no JSON. */
static bool is_wanted(const struct finish *finish) {
    return finish->directory != NULL || (finish->options->given[OPTION_JSON] && !finish->shown);
}

static bool write_all(struct record *record, const char *summary, struct directory *directory) {
    return record_write(record, summary) &&
           (record->keeper.self == NULL || record->keeper.write(record->keeper.self, directory)) &&
           directory_commit(directory);
}

int finish_run(const struct finish *finish, struct record *record) {
    record_end(record);
    struct outcome outcome = record_outcome(record);
    outcome.is_part = finish->is_part;
    char *summary = is_wanted(finish) ? summary_as_json(&outcome) : NULL;
    bool written = finish->directory == NULL || write_all(record, summary, finish->directory);
    if (written)
        print_outcome(finish, &outcome, summary);
    free(summary);
    if (!written)
        return STATUS_FILE;
    return record->verdict.holds ? STATUS_HOLDS : STATUS_FAILS;
}
