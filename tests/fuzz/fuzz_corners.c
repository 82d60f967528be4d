/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_corners.c - a scenario made of the bytes, of which some numbers are then put to
 * the corners of what is allowed. Where it is accepted, the first ticks run, sound, their summary
 * is written, and its budget is worked out; nothing overflows. */
#include <string.h>

#include "model/budget/budget.h"
#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/exact/scatter.h"
#include "tests/fuzz/edit.h"
#include "tests/fuzz/fuzz.h"
#include "tools/record/record.h"

/* The bounds of model/scenario/limits.h and what lies around them. */
static const char *const corner[] = {"0",
                                     "1",
                                     "2",
                                     "3",
                                     "8",
                                     "20",
                                     "1000",
                                     "999999",
                                     "1000000",
                                     "10000",
                                     "1000000000000",
                                     "999999999999",
                                     "9007199254740991",
                                     "9007199254740992",
                                     "9007199254.740992",
                                     "999999999999999999",
                                     "0.000000000000000001",
                                     "0.000001",
                                     "0.00000001",
                                     "0.001",
                                     "0.05",
                                     "0.5",
                                     "0.999999999999999999",
                                     "0.95",
                                     "104249991 d",
                                     "1 h",
                                     "1000 d"};
enum { CORNERS = sizeof corner / sizeof *corner, NUMBERS_MAX = 400, STEPS = 300 };

/* A number in a text, as written. */
struct number {
    size_t at, length;
};

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

/* Where the numbers of a text stand: what begins after a blank, a bracket or an @. */
static uint32_t find_numbers(const char *text, struct number number[NUMBERS_MAX]) {
    uint32_t count = 0;
    for (size_t at = 1; text[at] != '\0' && count < NUMBERS_MAX; at++) {
        if (!is_digit(text[at]) || strchr(" [@", text[at - 1]) == NULL)
            continue;
        size_t length = strspn(text + at, "0123456789.");
        number[count++] = (struct number){at, length};
        at += length - 1;
    }
    return count;
}

/* The text with up to `changes` numbers replaced as the input says; freed with free(). */
static char *put_corners(char *text, uint64_t changes, struct edit_input *input) {
    for (uint64_t i = 0; i < changes; i++) {
        struct number number[NUMBERS_MAX];
        uint32_t count = find_numbers(text, number);
        struct number old = number[edit_take(input, 2) % count];
        const char *with = corner[edit_take(input, 1) % CORNERS];
        size_t length = strlen(text), added = strlen(with);
        text = require_more_memory(text, length + added + 1, 1);
        memmove(text + old.at + added, text + old.at + old.length,
                length - old.at - old.length + 1);
        memcpy(text + old.at, with, added);
    }
    return text;
}

static void run_some(const struct scenario *scenario) {
    struct world *world = world_new(scenario);
    struct record record;
    record_begin(&record, scenario, world, true);
    for (int i = 0; i < STEPS && world_tick(world) < scenario->run_ticks; i++) {
        world_step(world, scenario->run_ticks);
        if (i == STEPS / 2)
            record_warm(&record);
    }
    world_audit(world);
    record_sample(&record);
    record_end(&record);
    struct outcome outcome = record_outcome(&record);
    free(summary_as_json(&outcome));
    record_free(&record);
    world_free(world);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    struct edit_input input = {data, length};
    struct faults faults = {0};
    uint64_t kind = edit_take(&input, 1), changes = kind / 4 % 8;
    uint8_t picks[3 * 8] = {0};
    for (uint64_t i = 0; i < 3 * changes; i++)
        picks[i] = (uint8_t)edit_take(&input, 1);
    char *text = scatter_from_bytes(input.at, input.left, kind % 2 == 1);
    text = put_corners(text, changes, &(struct edit_input){picks, sizeof picks});
    struct scenario *scenario = read_scenario(text, strlen(text), "input", NULL, 0, &faults);
    if (scenario != NULL) {
        run_some(scenario);
        if (kind / 2 % 2 == 0)
            budget_free(budget_new(scenario));
    }
    scenario_free(scenario);
    faults_free(&faults);
    free(text);
    return 0;
}
