/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/finish.c - the files are in their place before anything is said about them. */
#include "tools/record/finish.h"

#include <stdlib.h>

#include "tools/base/status.h"
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

static void print_verdict(const struct verdict *verdict) {
    printf("\nIt %s: %llu jam%s and %llu deadlock%s count.\n",
           verdict->holds ? "holds" : "does not hold", (unsigned long long)verdict->jams,
           verdict->jams == 1 ? "" : "s", (unsigned long long)verdict->deadlocks,
           verdict->deadlocks == 1 ? "" : "s");
}

static void print_outcome(const struct options *options, const struct outcome *outcome,
                          const char *summary, bool shown) {
    if (shown)
        print_verdict(outcome->verdict);
    else if (options->given[OPTION_JSON])
        fputs(summary, stdout);
    else if (!options->given[OPTION_QUIET])
        summary_text_print(outcome, options->value[OPTION_OUT], stdout);
}

static bool write_all(struct record *record, const char *summary, struct directory *directory) {
    return record_write(record, summary) &&
           (record->keeper.self == NULL || record->keeper.write(record->keeper.self, directory)) &&
           directory_commit(directory);
}

int finish_run(const struct options *options, struct record *record, struct directory *directory,
               bool shown) {
    record_end(record);
    struct outcome outcome = record_outcome(record);
    char *summary = summary_as_json(&outcome);
    bool written = directory == NULL || write_all(record, summary, directory);
    if (written)
        print_outcome(options, &outcome, summary, shown);
    free(summary);
    if (!written)
        return STATUS_FILE;
    return record->verdict.holds ? STATUS_HOLDS : STATUS_FAILS;
}
