/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/unit/corners.h"

#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/budget/budget_view.h"
#include "tools/record/record.h"

const char *const corners_value[CORNERS_VALUES] = {"0",
                                                   "0.000000000000000001",
                                                   "0.00000001",
                                                   "0.000001",
                                                   "0.001",
                                                   "0.05",
                                                   "0.5",
                                                   "0.95",
                                                   "0.999999999999999999",
                                                   "1",
                                                   "2",
                                                   "3",
                                                   "8",
                                                   "20",
                                                   "1000",
                                                   "1 h",
                                                   "10000",
                                                   "999999",
                                                   "1000000",
                                                   "1000 d",
                                                   "9007199254.740992",
                                                   "999999999999",
                                                   "1000000000000",
                                                   "104249991 d",
                                                   "9007199254740991",
                                                   "9007199254740992",
                                                   "999999999999999999"};

/* A number in a text, as written. */
struct number {
    size_t at, length;
};

enum { NUMBERS_MAX = 400 };

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

uint32_t corners_count(const char *text) {
    struct number number[NUMBERS_MAX];
    return find_numbers(text, number);
}

char *corners_with(const char *text, uint32_t which, const char *value) {
    struct number number[NUMBERS_MAX];
    require(which < find_numbers(text, number));
    struct number old = number[which];
    size_t length = strlen(text), added = strlen(value);
    char *with = require_memory(length + added + 1, 1);
    memcpy(with, text, old.at);
    memcpy(with + old.at, value, added);
    memcpy(with + old.at + added, text + old.at + old.length, length - old.at - old.length);
    return with;
}

enum { STEPS = 300 };

void corners_run(const struct scenario *scenario) {
    struct world *world = world_new(scenario);
    struct record record;
    record_begin(&record, scenario, world, true);
    for (int i = 0; i < STEPS && world_tick(world) < scenario->run_ticks; i++) {
        world_step(world, scenario->run_ticks);
        if (i == 0) /* so that all that comes is measured */
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

void corners_budget(const struct scenario *scenario) {
    struct mend_search mend = {0};
    struct text_stream stream;
    struct budget *budget = budget_new(scenario);
    mend_search_find(&mend, budget, false);
    budget_view_json(budget, &mend, text_stream_begin(&stream));
    free(text_stream_end(&stream));
    mend_search_free(&mend);
    budget_free(budget);
}
