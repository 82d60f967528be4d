/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/yaml_lines.h - texts of a scenario in lines of at most 98 bytes, where they can be
 * cut. */
#pragma once

#include <stdio.h>

/* A text, cut at blanks, with `first` before its first line and `rest` before the others. */
void yaml_lines_put_text(FILE *out, const char *first, const char *rest, const char *text);
/* A map or list in braces, cut after commas, of the outer map where that will do. */
void yaml_lines_put_flow(FILE *out, const char *first, const char *rest, const char *text);
/* A comment; an empty text: nothing. A sentence at the left edge begins with a capital letter. */
void yaml_lines_put_comment(FILE *out, const char *indent, const char *text);
