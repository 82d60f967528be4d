/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/roff.h - texts for a manual page in mdoc(7): what would be read as a request or as
 * an escape is made plain, each sentence begins a line, and lines are short. */
#pragma once

#include <stdio.h>

/* Writes paragraphs, which an empty line parts in `text`; the last line is ended. */
void roff_text(FILE *out, const char *text);
/* Writes words after a macro or within a line, as they are. */
void roff_words(FILE *out, const char *words);
