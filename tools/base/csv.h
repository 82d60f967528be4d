/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/csv.h - the one writer of all tables: RFC 4180, a header row, LF at the end of each
 * row,
 * `.` as the decimal point, UTF-8 without a mark at the start.
 *
 * A row is written into the buffer by hand, with no call into stdio: csv_row gives room, the put
 * functions move along it, csv_row_end closes it. What stays the same from row to row (names, with
 * their commas and quotes) is made once as a struct csv_text. The first thing that goes wrong with
 * the file is kept and reported by csv_close; until then writing on is harmless. */
#pragma once

#include <stddef.h>
#include <stdint.h>
#include <string.h>

enum {
    CSV_BLOCK_BYTES = 16,                                  /* texts are copied in such blocks */
    CSV_NUMBER_BYTES = 24,                                 /* room for a number */
    CSV_DECIMAL_BYTES = CSV_NUMBER_BYTES + CSV_BLOCK_BYTES /* room for a decimal */
};

/* A piece of a row, in memory that is padded to whole blocks. Freed with csv_text_free. */
struct csv_text {
    char *bytes;
    uint32_t length;
};

/* The text as it is, commas and all, from a format as printf takes it. */
struct csv_text csv_text_of(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* One field: in quotes, with its quotes doubled, where it holds a comma, a quote or an end of
 * line. */
struct csv_text csv_text_field(const char *field);
void csv_text_free(struct csv_text *text);

/* How whole numbers are written as decimals: divided by `divisor`, the exact decimal where there is
 * one of at most nine places, else rounded to nine places (a half goes up); no zeros at the end,
 * but for those that `places_least` wants: 0, or 1 for columns that readers should take for
 * decimals even where all are whole. Seconds have ticks_per_second as divisor and one place, shares
 * of a lane its cells and none. Freed with csv_scale_free. */
struct csv_scale {
    int64_t divisor;
    uint64_t reciprocal;           /* ceil(2^64 / divisor); 0 for 1 */
    struct csv_fraction *fraction; /* of each remainder, for small divisors; else NULL */
    uint8_t places_least;
};
enum { CSV_SECONDS_PLACES = 1, CSV_SHARE_PLACES = 0 };
void csv_scale_init(struct csv_scale *scale, int64_t divisor, uint8_t places_least);
void csv_scale_free(struct csv_scale *scale);

/* A number of a column as it was put last, its comma in front. From row to row most stay as they
 * are; those are not made into digits again. */
struct csv_cell {
    int64_t number; /* -1: none yet */
    uint8_t length;
    char bytes[CSV_DECIMAL_BYTES + CSV_BLOCK_BYTES - 1]; /* a block may be put from its last byte */
};
/* `count` of them, freed with free(). */
struct csv_cell *csv_cells_new(size_t count);

struct csv {
    char *name; /* file name, for messages */
    int file;   /* -1: closed */
    int error;  /* errno of the first thing that went wrong; 0: all well */
    char *buffer;
    size_t used;
    uint64_t row_count; /* rows ended, the header not counted */
};

/* Makes the file `name` in the open directory `directory` and writes its header row. */
void csv_open(struct csv *csv, int directory, const char *name, const char *header);
/* Writes out what is left, makes it last on the disk and closes the file; gives the memory back.
 * Returns 0, or the errno of the first thing that went wrong since csv_open. */
int csv_close(struct csv *csv);
/* Closes without writing out; for a run that is given up. Nothing happens to a closed one. */
void csv_discard(struct csv *csv);

/* Room for a row of at most `most` bytes (some ten thousand); good until the next csv_row. */
char *csv_row(struct csv *csv, size_t most);
/* Ends the row that was written up to `at`, LF added. */
void csv_row_end(struct csv *csv, char *at);

/* Adds a row made elsewhere, of any length, LF added. */
void csv_long_row(struct csv *csv, const char *bytes, size_t count);

/* These write at `at`, without a comma, and return the place after it. */
char *csv_put_number(char *at, int64_t number);                                /* from 0 on */
char *csv_put_scaled(char *at, const struct csv_scale *scale, int64_t number); /* from 0 on */
static inline char *csv_put_text(char *at, const struct csv_text *text);
/* A comma and the number, which is scaled unless `scale` is NULL. */
static inline char *csv_put_cell(char *at, struct csv_cell *cell, const struct csv_scale *scale,
                                 int64_t number);

/* Makes the digits of a cell. */
void csv_cell_set(struct csv_cell *cell, const struct csv_scale *scale, int64_t number);

/* What a text may take of a row's room. */
static inline size_t csv_text_most(const struct csv_text *text) {
    return text->length + (size_t)CSV_BLOCK_BYTES;
}

/* Blocks of a fixed size cost a load and a store; a copy of the exact length would cost a call. */
static inline char *csv_put_text(char *at, const struct csv_text *text) {
    for (uint32_t done = 0; done < text->length; done += CSV_BLOCK_BYTES)
        memcpy(at + done, text->bytes + done, CSV_BLOCK_BYTES);
    return at + text->length;
}

static inline char *csv_put_cell(char *at, struct csv_cell *cell, const struct csv_scale *scale,
                                 int64_t number) {
    if (cell->number != number)
        csv_cell_set(cell, scale, number);
    memcpy(at, cell->bytes, CSV_BLOCK_BYTES);
    if (cell->length > CSV_BLOCK_BYTES)
        memcpy(at + CSV_BLOCK_BYTES, cell->bytes + CSV_BLOCK_BYTES, CSV_BLOCK_BYTES);
    return at + cell->length;
}
