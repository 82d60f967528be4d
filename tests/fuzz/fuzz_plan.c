/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_plan.c - any bytes as the plan of a soak, or a good plan with a few of its bytes
 * changed: refused, or read; a plan that was read and written reads the same again. */
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/fuzz/edit.h"
#include "tests/fuzz/fuzz.h"
#include "tools/soak/soak_plan.h"

static const char text[] = "run: {for: 1 h}\nitems: [spring]\nchests: [{name: bin}]\n";
static char *good;

static void make_good(void) {
    struct faults faults = {0};
    struct soak_plan plan = {.variant_count = 2, .run_count = 9, .keep = 2, .shard_count = 3};
    for (uint32_t i = 0; i < plan.variant_count; i++) {
        plan.name[i] = require_text("clocks.yaml");
        plan.scenario[i] = read_scenario(text, strlen(text), "", NULL, 0, &faults);
        require(plan.scenario[i] != NULL);
    }
    faults_free(&faults);
    soak_plan_write(&plan);
    good = require_text(plan.text);
    soak_plan_free(&plan);
}

static void try_plan(const char *data, size_t length) {
    struct faults faults = {0};
    struct soak_plan plan, again;
    if (soak_plan_read(&plan, data, length, "plan.json", &faults)) {
        const char *written = plan.text;
        fuzz_check(soak_plan_read(&again, written, strlen(written), "plan.json", &faults));
        fuzz_check(strcmp(plan.text, again.text) == 0);
        fuzz_check(plan.run_count >= 1 && soak_plan_units(&plan) >= plan.run_count);
        soak_plan_free(&plan);
        soak_plan_free(&again);
    } else {
        fuzz_check(faults_failed(&faults));
    }
    faults_free(&faults);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    struct edit_input input = {data, length};
    if (good == NULL)
        make_good();
    if (edit_take(&input, 1) % 2 == 0) {
        try_plan((const char *)input.at, input.left);
        return 0;
    }
    struct bytes bytes = edit_copy((const unsigned char *)good, strlen(good), 0, &input);
    try_plan((const char *)bytes.data, bytes.length);
    bytes_free(&bytes);
    return 0;
}
