/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/wrap.c - breaks lines between words. */
#include "tools/manual/wrap.h"

#include <string.h>

void wrap_print(FILE *out, int used, int indent, const char *text) {
    int column = used, begun = used > 0 ? used : indent;
    column += used > 0 ? 0 : fprintf(out, "%*s", indent, "");
    for (const char *at = text; *at != '\0';) {
        int length = (int)strcspn(at, " \n");
        if (column > begun && column + 1 + length >= WRAP_COLUMNS) {
            column = begun = indent;
            fprintf(out, "\n%*s", indent, "");
        }
        column += fprintf(out, "%s%.*s", column > begun ? " " : "", length, at);
        at += length;
        if (*at == '\n') {
            at += strspn(at, "\n");
            column = begun = indent;
            fprintf(out, "\n\n%*s", indent, "");
        }
        at += strspn(at, " ");
    }
    fputc('\n', out);
}
