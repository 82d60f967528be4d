/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/wrap.h - texts in lines of at most 80 columns.
 *
 * The room tools/manual makes what explains the program: from the tables of commands, options
 * (tools/base) and keys (model/scenario/catalogue.h) to --help, and to what other programs read.
 * What comes in: those tables. What goes out: texts, to a FILE. */
#pragma once

#include <stdio.h>

enum { WRAP_COLUMNS = 80 };

/* Writes a text of which `used` columns of the first line are taken already, its lines after the
 * first indented by `indent`; an empty line in it stays one. Ends with an end of line. */
void wrap_print(FILE *out, int used, int indent, const char *text);
