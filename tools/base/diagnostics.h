/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/diagnostics.h - faults in words, for people and for editors that follow
 * file:line:column. */
#pragma once

#include <stdio.h>

#include "sim/fault.h"

/* Prints the faults of a list in its order, the first FAULTS_SHOWN_MAX errors and as many warnings,
 * and how many more there are:
 *
 *     ring.yaml:7:18: error: unknown key `cels` in a loop
 *          7 |   - {name: ring, cels: 120, rate: 8}
 *                               ^^^^
 *       note: keys of a loop: name, cells, rate, lanes, breaks
 *       help: did you mean `cells`?
 *
 * An override is its own place: its text, marked, without a line number. No colour, no escapes. */
void diagnostics_print(FILE *out, const struct faults *faults);
/* The same, however many there are. */
void diagnostics_print_all(FILE *out, const struct faults *faults);
