/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/terminal.c - standard streams that pass through a filter. One place for all that is
 * printed, because any message may quote what a user's file says. */
#define _GNU_SOURCE /* fopencookie */
#include "tools/base/terminal.h"

#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "tools/base/file.h"

enum { CHARACTER_BYTES_MOST = 4, SHOWN_BYTES = 8, BUFFER_BYTES = 4096, WORD_BYTES = 256 };
enum { WIDTH_LEAST = 20, WIDTH_WANTED = 80, HANG = 2 };

/* Lines on a terminal that is narrower than what we print for: a word that does not fit begins
 * another line, set in deeper than the one it goes on. */
struct fold {
    int width;  /* columns of the terminal; 0: wide enough, or not known */
    int column; /* of what was put into this line */
    int indent; /* blanks at its begin */
    int blanks; /* kept back, since at the end of a line there should be none */
    bool begun; /* there is a word in it */
    char word[WORD_BYTES];
    size_t word_count; /* bytes */
    int word_columns;
};

/* A stream to a terminal, with the bytes of a character whose end has not come yet. */
struct guard {
    int file;
    struct fold fold;
    unsigned char held[CHARACTER_BYTES_MOST];
    size_t held_count;
    char out[BUFFER_BYTES];
    size_t out_count;
};

/* Bytes of the character that begins with `first`; 0: none does. */
static size_t character_bytes(unsigned char first) {
    if (first < 0x80)
        return 1;
    if (first < 0xC2 || first > 0xF4)
        return 0;
    return first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
}

static uint32_t code_point(const unsigned char *bytes, size_t count) {
    static const unsigned char mask[] = {0, 0x7F, 0x1F, 0x0F, 0x07};
    uint32_t code = bytes[0] & mask[count];
    for (size_t i = 1; i < count; i++)
        code = code << 6 | (bytes[i] & 0x3F);
    return code;
}

static bool is_hidden(uint32_t code) {
    return (code < 0x20 && code != '\n' && code != '\t') || (code >= 0x7F && code < 0xA0) ||
           (code >= 0x2028 && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

static int flush(struct guard *guard) {
    int error = file_write(guard->file, guard->out, guard->out_count);
    guard->out_count = 0;
    return error;
}

static int put(struct guard *guard, const char *bytes, size_t count) {
    int error = guard->out_count + count > BUFFER_BYTES ? flush(guard) : 0;
    memcpy(guard->out + guard->out_count, bytes, count);
    guard->out_count += count;
    return error;
}

/* ---- narrow terminals ---- */

static int put_blanks(struct guard *guard, int count) {
    int error = 0;
    for (int i = 0; i < count && error == 0; i++)
        error = put(guard, " ", 1);
    guard->fold.column += count;
    return error;
}

/* Puts the word that was kept back, where it fits. */
static int put_word(struct guard *guard) {
    struct fold *fold = &guard->fold;
    if (fold->word_count == 0)
        return 0;
    int error = 0, hang = fold->indent + HANG < fold->width / 2 ? fold->indent + HANG : HANG;
    if (fold->begun && fold->column + fold->blanks + fold->word_columns > fold->width) {
        error = put(guard, "\n", 1);
        fold->column = 0;
        fold->blanks = hang;
    }
    if (error == 0)
        error = put_blanks(guard, fold->blanks);
    if (error == 0)
        error = put(guard, fold->word, fold->word_count);
    fold->column += fold->word_columns;
    fold->begun = true;
    fold->blanks = fold->word_columns = 0;
    fold->word_count = 0;
    return error;
}

/* Puts one character, of `count` bytes and one column, in its turn. */
static int put_folded(struct guard *guard, const char *bytes, size_t count) {
    struct fold *fold = &guard->fold;
    if (fold->width == 0)
        return put(guard, bytes, count);
    int error = bytes[0] == '\n' || bytes[0] == ' ' || fold->word_count + count > WORD_BYTES
                    ? put_word(guard)
                    : 0;
    if (bytes[0] == '\n') {
        *fold = (struct fold){.width = fold->width};
        return error == 0 ? put(guard, bytes, count) : error;
    }
    if (bytes[0] == ' ') {
        fold->blanks++;
        fold->indent += !fold->begun;
        return error;
    }
    memcpy(fold->word + fold->word_count, bytes, count);
    fold->word_count += count;
    fold->word_columns++;
    return error;
}

static int width_of(int file) {
    struct winsize size;
    bool known = ioctl(file, TIOCGWINSZ, &size) == 0;
    return known && size.ws_col >= WIDTH_LEAST && size.ws_col < WIDTH_WANTED ? size.ws_col : 0;
}

/* ---- what would control it ---- */

static int put_code(struct guard *guard, const char *format, uint32_t code) {
    char shown[SHOWN_BYTES];
    int length = snprintf(shown, sizeof shown, format, code), error = 0;
    for (int i = 0; i < length && error == 0; i++)
        error = put_folded(guard, shown + i, 1);
    return error;
}

/* What is held cannot be the beginning of a character: its first byte is shown by its number. */
static int put_stray(struct guard *guard) {
    int error = put_code(guard, "\\x%02x", guard->held[0]);
    memmove(guard->held, guard->held + 1, --guard->held_count);
    return error;
}

/* Passes on what is held as far as it is whole characters. Returns 0, or an errno. */
static int pass_on(struct guard *guard) {
    int error = 0;
    while (guard->held_count > 0 && error == 0) {
        size_t wanted = character_bytes(guard->held[0]);
        size_t good = 1;
        while (good < guard->held_count && good < wanted && (guard->held[good] & 0xC0) == 0x80)
            good++;
        if (wanted == 0 || (good < wanted && good < guard->held_count)) {
            error = put_stray(guard);
            continue;
        }
        if (good < wanted)
            return 0;
        uint32_t code = code_point(guard->held, wanted);
        error = is_hidden(code) ? put_code(guard, "\\u%04x", code)
                                : put_folded(guard, (const char *)guard->held, wanted);
        guard->held_count -= wanted;
        memmove(guard->held, guard->held + wanted, guard->held_count);
    }
    return error;
}

static ssize_t guard_write(void *self, const char *bytes, size_t count) {
    struct guard *guard = self;
    int error = 0;
    for (size_t i = 0; i < count && error == 0; i++) {
        guard->held[guard->held_count++] = (unsigned char)bytes[i];
        error = pass_on(guard);
    }
    if (error == 0)
        error = put_word(guard); /* a colour, or the end, may follow */
    if (error == 0)
        error = flush(guard);
    if (error == 0)
        return (ssize_t)count;
    errno = error;
    return 0;
}

/* The stream in place of `stream`; that itself where it is no terminal, or there is no memory. */
static FILE *guarded(FILE *stream, struct guard *guard, int mode) {
    guard->file = fileno(stream);
    if (isatty(guard->file) == 0)
        return stream;
    guard->fold.width = width_of(guard->file);
    FILE *own = fopencookie(guard, "w", (cookie_io_functions_t){.write = guard_write});
    if (own == NULL)
        return stream;
    setvbuf(own, NULL, mode, BUFSIZ);
    return own;
}

static bool may_colour(FILE *out) {
    const char *terminal = getenv("TERM");
    return out == stdout && isatty(STDOUT_FILENO) == 1 && getenv("NO_COLOR") == NULL &&
           (terminal == NULL || strcmp(terminal, "dumb") != 0);
}

void terminal_mark(FILE *out, const char *words, bool good) {
    if (!may_colour(out)) {
        fputs(words, out);
        return;
    }
    fflush(out); /* the colour goes around the filter, in its turn */
    dprintf(STDOUT_FILENO, "\033[1;%dm", good ? 32 : 31);
    fputs(words, out);
    fflush(out);
    dprintf(STDOUT_FILENO, "\033[0m");
}

void terminal_guard(void) {
    static struct guard out, error; /* as long as the streams, which are the process's */
    stdout = guarded(stdout, &out, _IOFBF);
    stderr = guarded(stderr, &error, _IONBF);
}
