/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/fuzz.h - what a fuzz target and libFuzzer call of each other, and how a target says
 * that something is wrong.
 *
 * A target is a file fuzz_NAME.c. It is given bytes and does with them what the program would do;
 * a crash, a report of a sanitizer, a `require` or a failed fuzz_check is a finding. With
 * MODE=fuzz it is linked with libFuzzer, else with replay.c, which gives it files, one by one. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length);

/* Ends the program when what a target holds of the program is not so. */
#define fuzz_check(condition)                                                                      \
    do {                                                                                           \
        if (!(condition)) {                                                                        \
            fprintf(stderr, "%s:%d: `%s` does not hold\n", __FILE__, __LINE__, #condition);        \
            abort();                                                                               \
        }                                                                                          \
    } while (0)
