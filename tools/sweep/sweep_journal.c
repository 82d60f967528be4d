/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/sweep/sweep_journal.c - lines with a checksum at their end. */
#include "tools/sweep/sweep_journal.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sim/require.h"
#include "sim/text_stream.h"

/* FNV-1a, 64 bits (G. Fowler, L. C. Noll and K.-P. Vo). */
static const uint64_t fnv_prime = UINT64_C(1099511628211);
static const uint64_t fnv_start = UINT64_C(14695981039346656037);

static uint64_t hash(uint64_t sum, const char *text, size_t bytes) {
    for (size_t i = 0; i < bytes; i++)
        sum = (sum ^ (unsigned char)text[i]) * fnv_prime;
    return sum;
}

uint64_t sweep_journal_identity(uint64_t identity, const char *text) {
    /* The NUL too, so that texts do not run into each other. */
    return hash(identity == 0 ? fnv_start : identity, text, strlen(text) + 1);
}

/* ---- lines ---- */

/* A text with its checksum and an end of line. */
static char *line_of(const char *text) {
    size_t room = strlen(text) + 24;
    char *line = require_memory(room, 1);
    snprintf(line, room, "%s %016" PRIx64 "\n", text, hash(fnv_start, text, strlen(text)));
    return line;
}

/* Cuts the checksum off a line without its end; false: it is wrong. */
static bool is_whole(char *line) {
    char *blank = strrchr(line, ' ');
    char sum[20];
    if (blank == NULL)
        return false;
    *blank = '\0';
    snprintf(sum, sizeof sum, "%016" PRIx64, hash(fnv_start, line, strlen(line)));
    return strcmp(sum, blank + 1) == 0;
}

static char *head_of(const struct sweep_journal *journal) {
    char text[64];
    snprintf(text, sizeof text, "loopwright-sweep-1 %016" PRIx64, journal->identity);
    return line_of(text);
}

static int write_all(int file, const char *text) {
    size_t left = strlen(text);
    while (left > 0) {
        ssize_t written = write(file, text, left);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return errno != 0 ? errno : EIO;
        text += written;
        left -= (size_t)written;
    }
    return 0;
}

/* ---- reading ---- */

static bool read_result(const struct sweep_journal *journal, char *line,
                        struct sweep_result *result, uint64_t count) {
    char *end;
    uint64_t unit = strtoull(line, &end, 10);
    if (unit >= count)
        return false;
    result[unit].jammed = strtol(end, &end, 10) != 0;
    result[unit].stuck = strtol(end, &end, 10) != 0;
    for (uint32_t i = 0; i < journal->width; i++)
        result[unit].value[i] = strtod(end, &end);
    result[unit].done = *end == '\0';
    return result[unit].done;
}

/* Bytes that are good; 0: it is of another sweep. */
static size_t read_lines(const struct sweep_journal *journal, char *text,
                         struct sweep_result *result, uint64_t count) {
    char *head = head_of(journal);
    size_t good = strncmp(text, head, strlen(head)) == 0 ? strlen(head) : 0;
    free(head);
    for (char *line = text + good, *end; good > 0 && (end = strchr(line, '\n')) != NULL;
         line = end + 1) {
        *end = '\0';
        if (!is_whole(line) || !read_result(journal, line, result, count))
            break;
        good = (size_t)(end + 1 - text);
    }
    return good;
}

static char *read_text(int file, int *error) {
    size_t used = 0, room = 1 << 16;
    char *text = require_memory(room, 1);
    for (;;) {
        ssize_t got = read(file, text + used, room - used - 1);
        if (got < 0 && errno == EINTR)
            continue;
        *error = got < 0 ? errno : 0;
        if (got <= 0)
            break;
        used += (size_t)got;
        if (room - used < 2)
            text = require_more_memory(text, room *= 2, 1);
    }
    text[used] = '\0';
    return text;
}

/* ---- opening and adding ---- */

static int begin(struct sweep_journal *journal) {
    char *head = head_of(journal);
    int error = write_all(journal->file, head);
    free(head);
    return error;
}

/* Whether not even the first line is whole. */
static bool is_empty(const char *text) { return strchr(text, '\n') == NULL; }

int sweep_journal_open(struct sweep_journal *journal, int directory, struct sweep_result *result,
                       uint64_t count, enum sweep_journal_found *found) {
    int error;
    *found = SWEEP_JOURNAL_NONE;
    journal->file = openat(directory, SWEEP_JOURNAL_NAME,
                           O_RDWR | O_CREAT | O_NONBLOCK | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (journal->file < 0)
        return errno;
    char *text = read_text(journal->file, &error);
    bool empty = is_empty(text);
    size_t good = error == 0 ? read_lines(journal, text, result, count) : 0;
    free(text);
    if (error != 0)
        return error;
    if (!empty)
        *found = good > 0 ? SWEEP_JOURNAL_SAME : SWEEP_JOURNAL_OTHER;
    if (*found == SWEEP_JOURNAL_OTHER)
        return 0;
    if (ftruncate(journal->file, (off_t)good) != 0 ||
        lseek(journal->file, (off_t)good, SEEK_SET) < 0)
        return errno;
    return empty ? begin(journal) : 0;
}

/* The line of a result. */
static char *line_of_result(const struct sweep_journal *journal, uint64_t unit,
                            const struct sweep_result *result) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    fprintf(out, "%" PRIu64 " %d %d", unit, result->jammed, result->stuck);
    for (uint32_t i = 0; i < journal->width; i++)
        fprintf(out, " %.17g", result->value[i]);
    char *text = text_stream_end(&stream), *line = line_of(text);
    free(text);
    return line;
}

int sweep_journal_add(struct sweep_journal *journal, uint64_t unit,
                      const struct sweep_result *result) {
    if (journal->file < 0)
        return 0;
    char *line = line_of_result(journal, unit, result);
    int error = write_all(journal->file, line);
    free(line);
    return error;
}

/* ---- the results of a finished sweep ---- */

char *sweep_journal_results(const struct sweep_journal *journal, const struct sweep_result *result,
                            uint64_t count) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    char *head = head_of(journal);
    fputs(head, out);
    free(head);
    for (uint64_t unit = 0; unit < count; unit++) {
        char *line = line_of_result(journal, unit, &result[unit]);
        fputs(line, out);
        free(line);
    }
    return text_stream_end(&stream);
}

enum sweep_journal_found sweep_journal_finished(const struct sweep_journal *journal, int directory,
                                                struct sweep_result *result, uint64_t count) {
    int file =
            openat(directory, SWEEP_RESULTS_NAME, O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOFOLLOW),
        error;
    if (file < 0)
        return SWEEP_JOURNAL_NONE;
    char *text = read_text(file, &error);
    bool empty = is_empty(text), same = error == 0 && read_lines(journal, text, result, count) > 0;
    free(text);
    close(file);
    return same ? SWEEP_JOURNAL_SAME : empty ? SWEEP_JOURNAL_NONE : SWEEP_JOURNAL_OTHER;
}

void sweep_journal_close(struct sweep_journal *journal) {
    if (journal->file >= 0)
        close(journal->file);
    journal->file = -1;
}
