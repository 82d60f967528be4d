/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_engines.c - a valid scenario made of the bytes (tests/exact/scatter.h), with both
 * engines, move by move. */
#include <string.h>

#include "model/reader/read.h"
#include "tests/exact/duel.h"
#include "tests/exact/scatter.h"
#include "tests/fuzz/fuzz.h"

enum { RUN_TICKS_MAX = 600 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    struct faults faults = {0};
    struct duel_tally tally = {0};
    if (length < 1)
        return 0;
    char *text = scatter_from_bytes(data + 1, length - 1, data[0] % 2 == 1);
    struct scenario *scenario = read_scenario(text, strlen(text), "input", NULL, 0, &faults);
    if (scenario != NULL && scenario->run_ticks > RUN_TICKS_MAX)
        scenario->run_ticks = RUN_TICKS_MAX;
    bool agrees = scenario != NULL && duel_agrees(scenario, scenario->seed, stderr, &tally);
    if (!agrees)
        fputs(text, stderr);
    fuzz_check(scenario != NULL);
    fuzz_check(agrees);
    scenario_free(scenario);
    faults_free(&faults);
    free(text);
    return 0;
}
