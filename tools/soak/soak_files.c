/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_files.c - writes the files of a finished soak; their contents come from
 * soak_report. */
#include "tools/soak/soak_files.h"

#include <stdlib.h>
#include <string.h>

#include "tools/soak/soak_json.h"
#include "tools/soak/soak_report.h"

bool soak_files_add_results(const struct soak_files *files, const struct soak_journal *book,
                            uint64_t shard) {
    struct bytes bytes = soak_journal_bytes(book, shard);
    bool added = files->add(files->self, "soak.results", bytes.data, bytes.length);
    bytes_free(&bytes);
    return added;
}

static bool add_text(const struct soak_files *files, const char *name, char *text) {
    bool added = files->add(files->self, name, text, strlen(text));
    free(text);
    return added;
}

bool soak_files_add_tables(const struct soak_files *files, const struct soak_journal *book) {
    const char *scenario = book->plan->scenario[0]->text;
    return add_text(files, "runs.csv", soak_report_runs(book, 0)) &&
           (book->plan->variant_count == 1 ||
            add_text(files, "against.csv", soak_report_runs(book, 1))) &&
           add_text(files, "soak.json", soak_json_text(book)) &&
           files->add(files->self, "scenario.yaml", scenario, strlen(scenario));
}
