/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/yaml_lines.c - cuts at blanks, and at commas between the keys of a map. */
#include "tools/design/yaml_lines.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"

enum { WIDTH = 98 };

void yaml_lines_put_text(FILE *out, const char *first, const char *rest, const char *text) {
    size_t indent = strlen(first);
    fputs(first, out);
    while (strlen(text) + indent > WIDTH) {
        size_t cut = WIDTH - indent;
        while (cut > 0 && text[cut] != ' ')
            cut--;
        if (cut == 0)
            break;
        fprintf(out, "%.*s\n%s", (int)cut, text, rest);
        text += cut + 1;
        indent = strlen(rest);
    }
    fprintf(out, "%s\n", text);
}

/* Where to cut a flow map that is too long for a line: after the last comma of the map itself that
 * fits, else of what is in it; 0: there is none. `*depth` is that at the begin of the line. */
static size_t cut_of(const char *text, size_t room, int *depth) {
    size_t own = 0, inner = 0;
    int level = *depth, own_level = level, inner_level = level;
    for (size_t at = 0; at < room && text[at] != '\0'; at++) {
        level += (text[at] == '{' || text[at] == '[') - (text[at] == '}' || text[at] == ']');
        if (text[at] != ',' || text[at + 1] != ' ')
            continue;
        inner = at + 1;
        inner_level = level;
        own = level == 1 ? at + 1 : own;
        own_level = level == 1 ? level : own_level;
    }
    *depth = own > 0 ? own_level : inner_level;
    return own > 0 ? own : inner;
}

void yaml_lines_put_flow(FILE *out, const char *first, const char *rest, const char *text) {
    size_t indent = strlen(first), cut;
    int depth = 0;
    fputs(first, out);
    while (strlen(text) + indent > WIDTH && (cut = cut_of(text, WIDTH - indent, &depth)) > 0) {
        fprintf(out, "%.*s\n%s", (int)cut, text, rest);
        text += cut + 1;
        indent = strlen(rest);
    }
    fprintf(out, "%s\n", text);
}

void yaml_lines_put_comment(FILE *out, const char *indent, const char *text) {
    char mark[16];
    if (text[0] == '\0')
        return;
    snprintf(mark, sizeof mark, "%s# ", indent);
    char *sentence = require_text(text);
    if (sentence[0] >= 'a' && sentence[0] <= 'z' && strchr(indent, ' ') == NULL)
        sentence[0] = (char)(sentence[0] - 'a' + 'A');
    yaml_lines_put_text(out, mark, mark, sentence);
    free(sentence);
}
