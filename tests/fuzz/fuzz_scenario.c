/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_scenario.c - any bytes as a scenario: they are read, or refused with errors that
 * have a place; what was read is read again from its own text, as a capsule keeps it. */
#include <string.h>

#include "model/reader/read.h"
#include "tests/fuzz/fuzz.h"
#include "tests/unit/same_scenario.h"

static void check_faults(const struct faults *faults) {
    for (uint32_t i = 0; i < faults->count; i++) {
        const struct fault *fault = &faults->fault[i];
        fuzz_check(fault->what != NULL && fault->what[0] != '\0' && fault->source != NULL);
        fuzz_check(fault->excerpt == NULL || (fault->column >= fault->excerpt_column &&
                                              fault->width >= 1 && fault->excerpt_column >= 1));
    }
}

static void check_again(const struct scenario *scenario) {
    struct faults faults = {0};
    const char *text = scenario->text;
    struct scenario *again = read_scenario(text, strlen(text), "again", NULL, 0, &faults);
    fuzz_check(again != NULL);
    fuzz_check(same_scenario_difference(scenario, again) == NULL);
    faults_free(&faults);
    scenario_free(again);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario((const char *)data, length, "input", NULL, 0, &faults);
    fuzz_check((scenario != NULL) == !faults_failed(&faults));
    check_faults(&faults);
    if (scenario != NULL)
        check_again(scenario);
    faults_free(&faults);
    scenario_free(scenario);
    return 0;
}
