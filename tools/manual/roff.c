/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/roff.c - escapes and breaks lines. */
#include "tools/manual/roff.h"

#include <stdbool.h>
#include <string.h>

enum { LINE_BYTES = 76 };

/* A character that is itself in a page, but not in its source. A hyphen of an option's name is a
 * minus, so that it can be copied. */
static void put(FILE *out, const char *text, const char *at) {
    bool minus = *at == '-' && (at[1] == '-' || (at > text && at[-1] == '-'));
    if (*at == '\\')
        fputs("\\e", out);
    else if (minus)
        fputs("\\-", out);
    else
        fputc(*at, out);
}

void roff_words(FILE *out, const char *words) {
    for (const char *at = words; *at != '\0'; at++)
        put(out, words, at);
}

/* True after a word that ends a sentence, as mandoc(1) sees it. */
static bool ends_sentence(const char *word, size_t length) {
    while (length > 1 && strchr(")\"'`", word[length - 1]) != NULL)
        length--;
    return strchr(".?!", word[length - 1]) != NULL;
}

void roff_text(FILE *out, const char *text) {
    size_t column = 0;
    for (const char *at = text; *at != '\0';) {
        size_t length = strcspn(at, " \n");
        if (column > 0 && column + 1 + length > LINE_BYTES) {
            fputc('\n', out);
            column = 0;
        }
        if (column > 0)
            fputc(' ', out);
        else if (*at == '.' || *at == '\'')
            fputs("\\&", out);
        for (size_t i = 0; i < length; i++)
            put(out, text, at + i);
        column += length + 1;
        if (length > 0 && ends_sentence(at, length) && at[length] != '\0') {
            fputc('\n', out);
            column = 0;
        }
        at += length;
        if (*at == '\n') {
            fputs(column > 0 ? "\n.Pp\n" : ".Pp\n", out);
            column = 0;
        }
        at += strspn(at, " \n");
    }
    fputc('\n', out);
}
