/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/load.c - reads a scenario with the changes of the command line. */
#include "tools/base/load.h"

#include <dirent.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/reader/read.h"
#include "model/reader/suggest.h"
#include "sim/require.h"
#include "tools/base/diagnostics.h"
#include "tools/base/interrupt.h"
#include "tools/base/status.h"

/* The name in a directory that is nearest to `wanted`, of equally near ones the first by letters;
 * "": none is near. */
static void find_name(DIR *names, const char *wanted, char found[NAME_MAX + 1]) {
    uint32_t least = suggest_start(wanted).distance;
    for (struct dirent *entry; (entry = readdir(names)) != NULL;) {
        struct suggestion one = suggest_start(wanted);
        suggest_look(&one, entry->d_name);
        bool nearer = one.distance < least || (one.distance == least && found[0] != '\0' &&
                                               strcmp(entry->d_name, found) < 0);
        if (suggest_word(&one) == NULL || !nearer)
            continue;
        snprintf(found, NAME_MAX + 1, "%s", entry->d_name);
        least = one.distance;
    }
}

void load_help_with_name(const char *path, struct faults *faults) {
    if (strcmp(path, "-") == 0 || access(path, F_OK) == 0)
        return;
    struct fault *fault = &faults->fault[faults->count - 1];
    char *directory = require_text(path), found[NAME_MAX + 1] = "";
    char *slash = strrchr(directory, '/');
    const char *name = slash != NULL ? path + (slash - directory) + 1 : path;
    directory[slash != NULL ? slash - directory + 1 : 0] = '\0';
    DIR *names = opendir(slash != NULL ? directory : ".");
    if (names != NULL) {
        find_name(names, name, found);
        closedir(names);
    }
    if (found[0] != '\0')
        fault_help(fault, "did you mean `%s%s`?", directory, found);
    else
        fault_help(fault, "loopwright new %s writes one to start from", path);
    free(directory);
}

static struct scenario *read_changed(const char *path, const char *const *override, int count,
                                     int *status) {
    struct faults faults = {0};
    bool unreadable = false;
    interrupt_leave(); /* a pipe may keep us waiting, and nothing is begun yet */
    struct scenario *scenario =
        read_scenario_file(path, override, (size_t)count, &faults, &unreadable);
    interrupt_watch();
    if (unreadable)
        load_help_with_name(path, &faults);
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
