/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/terminal.h - what is printed to a terminal does not control it: titles, names and
 * paths come from files that somebody else may have written. */
#pragma once

#include <stdbool.h>
#include <stdio.h>

/* From now on, where standard output or standard error is a terminal, characters that would move
 * its cursor, change its state or turn the direction of the text (C0 but for tab and line feed, C1,
 * U+2028, U+2029, U+202A to U+202E, U+2066 to U+2069) and bytes that are not UTF-8 are shown as
 * \u202e or \x9b. On a terminal of less than 80 columns lines are folded between words. Pipes
 * and files get the bytes as they are. To be called before anything is printed; progress writes to
 * the terminal by itself. */
void terminal_guard(void);

/* Prints words that say how something came out: in bold green or red where standard output is a
 * terminal that shows colours and NO_COLOR is not set, else as they are. `out` is standard output
 * or another stream, which then gets no colour. */
void terminal_mark(FILE *out, const char *words, bool good);
