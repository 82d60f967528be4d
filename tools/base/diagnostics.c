/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/diagnostics.c - shows what is wrong, where, and what may mend it. */
#include "tools/base/diagnostics.h"

#include <inttypes.h>
#include <string.h>

#include "model/scenario/quantity.h"

static const char *grade_word(enum fault_grade grade) {
    return grade == FAULT_ERROR ? "error" : "warning";
}

static void print_head(FILE *out, const struct fault *fault) {
    if (fault->source[0] != '\0')
        fprintf(out, "%s:", fault->source);
    if (fault->line > 0)
        fprintf(out, "%" PRIu32 ":%" PRIu32 ":", fault->line, fault->column);
    fprintf(out, "%s%s: %s\n", fault->source[0] != '\0' ? " " : "", grade_word(fault->grade),
            fault->what);
}

/* Bytes of the character at `text`: a leading byte of UTF-8 and those that continue it. */
static size_t character_bytes(const char *text) {
    size_t bytes = 1;
    while (((unsigned char)text[bytes] & 0xC0) == 0x80)
        bytes++;
    return bytes;
}

/* False for what would move the cursor of a terminal, or is no character at all. */
static bool is_printable(const char *text, size_t bytes) {
    unsigned char first = (unsigned char)text[0];
    if (bytes == 1)
        return first >= 0x20 && first < 0x7F;
    if (first == 0xC2 && (unsigned char)text[1] < 0xA0)
        return false;
    return (first >= 0xC2 && first < 0xE0 && bytes == 2) ||
           (first >= 0xE0 && first < 0xF0 && bytes == 3) || (first >= 0xF0 && bytes == 4);
}

/* The line as it is, and under it blanks up to the mark; a tab stays a tab in both. */
static void print_excerpt(FILE *out, const struct fault *fault) {
    char gutter[24] = "    ";
    if (fault->line > 0)
        snprintf(gutter, sizeof gutter, "%6" PRIu32 " | ", fault->line);
    fputs(gutter, out);
    for (const char *at = fault->excerpt; *at != '\0'; at += character_bytes(at)) {
        bool shown = is_printable(at, character_bytes(at)) || *at == '\t';
        fwrite(shown ? at : "?", 1, shown ? character_bytes(at) : 1, out);
    }
    fprintf(out, "\n%*s", (int)strlen(gutter), "");
    uint32_t column = fault->excerpt_column;
    const char *at = fault->excerpt;
    for (; column < fault->column && *at != '\0'; column++, at += character_bytes(at))
        fputc(*at == '\t' ? '\t' : ' ', out);
    uint32_t marks = 0;
    do {
        fputc('^', out);
        at += *at != '\0' ? character_bytes(at) : 0;
    } while (++marks < fault->width && *at != '\0');
    fputc('\n', out);
}

static void print_fault(FILE *out, const struct fault *fault) {
    print_head(out, fault);
    if (fault->excerpt != NULL && fault->excerpt[0] != '\0')
        print_excerpt(out, fault);
    if (fault->note != NULL)
        fprintf(out, "  note: %s\n", fault->note);
    if (fault->help != NULL)
        fprintf(out, "  help: %s\n", fault->help);
}

static void print_rest(FILE *out, uint32_t count, enum fault_grade grade) {
    char number[QUANTITY_TEXT_SIZE];
    if (count > FAULTS_SHOWN_MAX)
        fprintf(out, "and %s more %s%s\n", quantity_grouped(count - FAULTS_SHOWN_MAX, number),
                grade_word(grade), count - FAULTS_SHOWN_MAX == 1 ? "" : "s");
}

void diagnostics_print(FILE *out, const struct faults *faults) {
    uint32_t shown[2] = {0, 0};
    for (uint32_t i = 0; i < faults->count; i++)
        if (shown[faults->fault[i].grade]++ < FAULTS_SHOWN_MAX)
            print_fault(out, &faults->fault[i]);
    print_rest(out, faults->error_count, FAULT_ERROR);
    print_rest(out, faults->warning_count, FAULT_WARNING);
}

void diagnostics_print_all(FILE *out, const struct faults *faults) {
    for (uint32_t i = 0; i < faults->count; i++)
        print_fault(out, &faults->fault[i]);
}
