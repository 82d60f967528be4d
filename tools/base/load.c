/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/load.c - reads a scenario with the changes of the command line. */
#include "tools/base/load.h"

#include <stdlib.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tools/base/diagnostics.h"
#include "tools/base/interrupt.h"
#include "tools/base/status.h"

static struct scenario *read_changed(const char *path, const char *const *override, int count,
                                     int *status) {
    struct faults faults = {0};
    bool unreadable = false;
    interrupt_leave(); /* a pipe may keep us waiting, and nothing is begun yet */
    struct scenario *scenario =
        read_scenario_file(path, override, (size_t)count, &faults, &unreadable);
    interrupt_watch();
    diagnostics_print(stderr, &faults);
    faults_free(&faults);
    if (scenario == NULL)
        *status = unreadable ? STATUS_FILE : STATUS_SCENARIO;
    return scenario;
}

struct scenario *load_scenario(const struct options *options, const char *command, const char *path,
                               int *status) {
    char *made[2] = {NULL, NULL};
    const char **override = require_memory(options->set_count + 2, sizeof *override);
    int count = options_overrides(options, command, override, made);
    struct scenario *scenario = NULL;
    if (count < 0)
        *status = STATUS_USAGE;
    else
        scenario = read_changed(path, override, count, status);
    free(override);
    free(made[0]);
    free(made[1]);
    return scenario;
}
