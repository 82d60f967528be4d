/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz_set.c - changes as --set takes them, one a line, to a scenario that has something
 * in each section. What they make of it is written back as YAML, which has to read the same. */
#include <string.h>

#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/fuzz/fuzz.h"
#include "tests/unit/same_scenario.h"

static const char base[] =
    "title: Lanterns\nclock: {ticks_per_second: 100}\nrun: {for: 30 min, seed: 7, warm_up: 2 min}\n"
    "watch: {every: 1 s, starved_after: 9, blocked_after: 8, congested_at: 0.9, jam_after: 30}\n"
    "items: {frame: {length: 2}, pane: {}, lantern: {}}\n"
    "loops: [{name: ring, cells: 90, rate: 5, lanes: [outer, inner]}]\n"
    "lines: [{name: slide, cells: 20, rate: 4, breaks: {after: {gamma: [1h, 0.5]}, repair: 9}}]\n"
    "chests:\n"
    "  - {name: bin, capacity: 60, start: {frame: 40, pane: 9}}\n"
    "  - {name: tray, limits: {frame: 45, pane: 100}}\n"
    "stations:\n"
    "  - {name: bench, takes: {frame: 1, pane: 4}, makes: {lantern: {count: 2, chance: 0.5}},\n"
    "     time: 8 s, ahead: 2, room: {lantern: 4}, gate: {chest: tray, item: lantern, below: 12}}\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring/outer@4, swing: {normal: [4.5, 1]}, items: [frame],\n"
    "     gate: {all: [{lane: ring/outer, below: 30, reopen_below: 20}, {line: slide, below: "
    "9}]}}\n"
    "  - {name: taker, from: ring/outer@50, to: tray, hand: 3, linger: 1, choose: random}\n"
    "  - {name: loader, from: tray, to: bench, swing: 1.4 s}\n"
    "supplies: [{name: frames, chest: bin, item: frame, every: {uniform: [8, 9]}, batch: 12}]\n"
    "demands: [{name: orders, chest: tray, item: lantern, every: {weibull: [10, 2]}}]\n"
    "incidents:\n"
    "  - {at: 5 min, drop: {item: pane, count: 3, lane: ring/inner}}\n"
    "  - {name: halt, every: {exponential: 1h}, stop: taker}\n"
    "  - {at: 9 min, set: {gate: bench, below: 4}}\n"
    "expect: {jam: false, made: {lantern: {at_least: 3}}}\n";

enum { CHANGES_MAX = 8 };

/* Cuts a text into lines; returns how many there are. */
static uint32_t cut_lines(char *text, const char *line[CHANGES_MAX]) {
    uint32_t count = 0;
    for (char *next = text; next != NULL && count < CHANGES_MAX;) {
        line[count++] = next;
        next = strchr(next, '\n');
        if (next != NULL)
            *next++ = '\0';
    }
    return count;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length) {
    const char *line[CHANGES_MAX];
    struct faults faults = {0}, none = {0};
    char *text = require_memory(length + 1, 1);
    if (length > 0)
        memcpy(text, data, length);
    uint32_t count = cut_lines(text, line);
    struct scenario *scenario = read_scenario(base, strlen(base), "input", line, count, &faults);
    fuzz_check((scenario != NULL) == !faults_failed(&faults));
    if (scenario != NULL) {
        const char *written = scenario->text;
        struct scenario *again = read_scenario(written, strlen(written), "again", NULL, 0, &none);
        fuzz_check(again != NULL);
        fuzz_check(same_scenario_difference(scenario, again) == NULL);
        scenario_free(again);
    }
    scenario_free(scenario);
    faults_free(&faults);
    faults_free(&none);
    free(text);
    return 0;
}
