/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_corners.c - a scenario made of the bytes, of which some numbers are then put to
 * the corners of what is allowed. Where it is accepted, the first ticks run, sound, their summary
 * is written, and its budget is worked out; nothing overflows. */
#include <string.h>

#include "model/reader/read.h"
#include "tests/exact/scatter.h"
#include "tests/fuzz/edit.h"
#include "tests/fuzz/fuzz.h"
#include "tests/unit/corners.h"

enum { CHANGES_MAX = 8, PICK_BYTES = 3 };

/* The text with some numbers replaced, as the input says; freed with free(). */
static char *put_corners(char *text, uint64_t changes, struct edit_input *input) {
    for (uint64_t i = 0; i < changes; i++) {
        uint32_t number = (uint32_t)edit_take(input, 2) % corners_count(text);
        char *with =
            corners_with(text, number, corners_value[edit_take(input, 1) % CORNERS_VALUES]);
        free(text);
        text = with;
    }
    return text;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    struct edit_input input = {data, length};
    struct faults faults = {0};
    uint64_t kind = edit_take(&input, 1), changes = kind / 4 % CHANGES_MAX;
    uint8_t picks[PICK_BYTES * CHANGES_MAX] = {0};
    for (uint64_t i = 0; i < PICK_BYTES * changes; i++)
        picks[i] = (uint8_t)edit_take(&input, 1);
    char *text = scatter_from_bytes(input.at, input.left, kind % 2 == 1);
    text = put_corners(text, changes, &(struct edit_input){picks, sizeof picks});
    struct scenario *scenario = read_scenario(text, strlen(text), "input", NULL, 0, &faults);
    if (scenario != NULL) {
        corners_run(scenario);
        if (kind / 2 % 2 == 0)
            corners_budget(scenario);
    }
    scenario_free(scenario);
    faults_free(&faults);
    free(text);
    return 0;
}
