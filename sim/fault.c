/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/fault.c - keeps what was found wrong until it is shown.
 *
 * A hostile file can be wrong millions of times: the first KEPT_OF_GRADE_MAX errors and as many
 * warnings are kept, and all are counted. */
#include "sim/fault.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/array.h"
#include "sim/require.h"

enum { KEPT_OF_GRADE_MAX = 5000 };

enum { USUAL_BYTES = 400 };

static char *text_by_format(const char *format, va_list arguments) {
    char usual[USUAL_BYTES];
    va_list again;
    va_copy(again, arguments);
    int length = vsnprintf(usual, sizeof usual, format, again);
    va_end(again);
    require(length >= 0);
    char *text = require_memory((size_t)length + 1, 1);
    if ((size_t)length < sizeof usual)
        memcpy(text, usual, (size_t)length);
    else
        vsnprintf(text, (size_t)length + 1, format, arguments);
    return text;
}

static void fault_texts_free(struct fault *fault) {
    free(fault->source);
    free(fault->excerpt);
    free(fault->what);
    free(fault->note);
    free(fault->help);
}

/* Room for one more fault, the `number`-th of its grade. */
static struct fault *next_slot(struct faults *faults, uint32_t number) {
    if (number > KEPT_OF_GRADE_MAX) {
        fault_texts_free(&faults->spare);
        return &faults->spare;
    }
    faults->fault =
        array_with_room(faults->fault, faults->count, &faults->capacity, sizeof *faults->fault);
    return &faults->fault[faults->count++];
}

bool faults_keeps(const struct faults *faults, const struct fault *fault) {
    return fault != &faults->spare;
}

struct fault *faults_add(struct faults *faults, enum fault_grade grade, const char *what, ...) {
    uint32_t *count = grade == FAULT_ERROR ? &faults->error_count : &faults->warning_count;
    struct fault *fault = next_slot(faults, ++*count);
    *fault = (struct fault){.grade = grade, .source = require_text(""), .width = 1};
    va_list arguments;
    va_start(arguments, what);
    fault->what = text_by_format(what, arguments);
    va_end(arguments);
    return fault;
}

void fault_note(struct fault *fault, const char *text, ...) {
    free(fault->note);
    va_list arguments;
    va_start(arguments, text);
    fault->note = text_by_format(text, arguments);
    va_end(arguments);
}

void fault_help(struct fault *fault, const char *text, ...) {
    free(fault->help);
    va_list arguments;
    va_start(arguments, text);
    fault->help = text_by_format(text, arguments);
    va_end(arguments);
}

bool faults_failed(const struct faults *faults) { return faults->error_count > 0; }

/* A fault and what it is sorted by. */
struct ranked_fault {
    struct fault fault;
    uint32_t source_rank; /* index of the first fault of the same source */
    uint32_t index;       /* where it stood, so that equals keep their order */
};

static int order_of(uint32_t a, uint32_t b) { return (a > b) - (a < b); }

static int compare_ranked(const void *left, const void *right) {
    const struct ranked_fault *a = left, *b = right;
    int order = order_of(a->source_rank, b->source_rank);
    if (order == 0)
        order = order_of(a->fault.line, b->fault.line);
    if (order == 0)
        order = order_of(a->fault.column, b->fault.column);
    return order != 0 ? order : order_of(a->index, b->index);
}

static uint32_t first_of_source(const struct faults *faults, uint32_t index) {
    for (uint32_t i = 0; i < index; i++)
        if (strcmp(faults->fault[i].source, faults->fault[index].source) == 0)
            return i;
    return index;
}

void faults_sort(struct faults *faults) {
    struct ranked_fault *ranked = require_memory(faults->count, sizeof *ranked);
    for (uint32_t i = 0; i < faults->count; i++)
        ranked[i] = (struct ranked_fault){faults->fault[i], first_of_source(faults, i), i};
    qsort(ranked, faults->count, sizeof *ranked, compare_ranked);
    for (uint32_t i = 0; i < faults->count; i++)
        faults->fault[i] = ranked[i].fault;
    free(ranked);
}

void faults_free(struct faults *faults) {
    for (uint32_t i = 0; i < faults->count; i++)
        fault_texts_free(&faults->fault[i]);
    fault_texts_free(&faults->spare);
    free(faults->fault);
    *faults = (struct faults){0};
}
