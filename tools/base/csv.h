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

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

enum {
    CSV_BLOCK_BYTES = 16,                                   /* texts are copied in such blocks */
    CSV_NUMBER_BYTES = 24,                                  /* room for a number */
    CSV_DECIMAL_BYTES = CSV_NUMBER_BYTES + CSV_BLOCK_BYTES, /* room for a decimal */
    CSV_CELL_BYTES = 46 /* a comma, a decimal, a block: with the rest of a cell a line of memory */
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

/* ".25" in one block, its length in the last byte. */
struct csv_fraction {
    char bytes[CSV_BLOCK_BYTES - 1];
    uint8_t length;
};

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
 * are, and are not made into digits again; of the others most differ by so little that it is enough
 * to turn the last digit of the whole part, as a counter does, and to show another fraction. */
struct csv_cell {
    int64_t number;    /* -1: none yet */
    int64_t whole;     /* the whole part of it, as a multiple of the divisor of its scale */
    uint8_t whole_end; /* bytes up to the end of the whole part */
    uint8_t length;
    char bytes[CSV_CELL_BYTES];
};
/* `count` of them, freed with free(). */
struct csv_cell *csv_cells_new(size_t count);

struct csv {
    char *name; /* file name, for messages */
    int file;   /* -1: closed */
    int error;  /* errno of the first thing that went wrong; 0: all well */
    char *buffer;
    size_t used, capacity;
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
static inline char *csv_row(struct csv *csv, size_t most);
/* Ends the row that was written up to `at`, LF added. */
static inline void csv_row_end(struct csv *csv, char *at);
/* Makes room for a row by writing out what there is. */
void csv_flush(struct csv *csv, size_t most);

/* Adds a row made elsewhere, of any length, LF added. */
void csv_long_row(struct csv *csv, const char *bytes, size_t count);

/* These write at `at`, without a comma, and return the place after it. */
char *csv_put_number(char *at, int64_t number);                                /* from 0 on */
char *csv_put_scaled(char *at, const struct csv_scale *scale, int64_t number); /* from 0 on */
static inline char *csv_put_text(char *at, const struct csv_text *text);
/* A comma and the number, from 0 on: as it is, or scaled. A cell always has the same scale. */
static inline char *csv_put_count(char *at, struct csv_cell *cell, int64_t number);
static inline char *csv_put_cell(char *at, struct csv_cell *cell, const struct csv_scale *scale,
                                 int64_t number);

/* Make all digits of a cell anew. */
void csv_count_make(struct csv_cell *cell, int64_t number);
void csv_cell_make(struct csv_cell *cell, const struct csv_scale *scale);

static inline char *csv_row(struct csv *csv, size_t most) {
    if (csv->capacity - csv->used <= most)
        csv_flush(csv, most);
    return csv->buffer + csv->used;
}

static inline void csv_row_end(struct csv *csv, char *at) {
    *at++ = '\n';
    csv->used = (size_t)(at - csv->buffer);
    csv->row_count++;
}

/* What a text may take of a row's room. */
static inline size_t csv_text_most(const struct csv_text *text) {
    return text->length + (size_t)CSV_BLOCK_BYTES;
}

/* Blocks of a fixed size cost a load and a store; a copy of the exact length would cost a call.
 * Most texts are one block. */
static inline char *csv_put_text(char *at, const struct csv_text *text) {
    memcpy(at, text->bytes, CSV_BLOCK_BYTES);
    for (uint32_t done = CSV_BLOCK_BYTES; done < text->length; done += CSV_BLOCK_BYTES)
        memcpy(at + done, text->bytes + done, CSV_BLOCK_BYTES);
    return at + text->length;
}

/* ---- cells ---- */

/* False: a carry would follow, or there is no digit yet but the comma. */
static inline bool csv_turn_last_digit(struct csv_cell *cell) {
    char *last = &cell->bytes[cell->whole_end - 1];
    if (*last < '0' || *last >= '9')
        return false;
    ++*last;
    return true;
}

/* True when the number has the whole part that is shown, or the one after it, which is shown then.
 */
static inline bool csv_turn_to(struct csv_cell *cell, int64_t divisor) {
    int64_t remainder = cell->number - cell->whole;
    if ((uint64_t)remainder < (uint64_t)divisor)
        return true;
    if ((uint64_t)(remainder - divisor) >= (uint64_t)divisor || !csv_turn_last_digit(cell))
        return false;
    cell->whole += divisor;
    return true;
}

static inline void csv_show_fraction(struct csv_cell *cell, const struct csv_fraction *fraction) {
    memcpy(cell->bytes + cell->whole_end, fraction, sizeof *fraction);
    cell->length = (uint8_t)(cell->whole_end + fraction->length);
}

static inline void csv_count_set(struct csv_cell *cell, int64_t number) {
    if (number != cell->number + 1 || !csv_turn_last_digit(cell))
        csv_count_make(cell, number);
    cell->number = number;
}

static inline void csv_cell_set(struct csv_cell *cell, const struct csv_scale *scale,
                                int64_t number) {
    cell->number = number;
    if (scale->fraction != NULL && csv_turn_to(cell, scale->divisor))
        csv_show_fraction(cell, &scale->fraction[number - cell->whole]);
    else
        csv_cell_make(cell, scale);
}

static inline char *csv_put_bytes_of(char *at, const struct csv_cell *cell) {
    memcpy(at, cell->bytes, CSV_BLOCK_BYTES);
    if (cell->length > CSV_BLOCK_BYTES)
        memcpy(at + CSV_BLOCK_BYTES, cell->bytes + CSV_BLOCK_BYTES, CSV_BLOCK_BYTES);
    return at + cell->length;
}

static inline char *csv_put_count(char *at, struct csv_cell *cell, int64_t number) {
    if (cell->number != number)
        csv_count_set(cell, number);
    return csv_put_bytes_of(at, cell);
}

static inline char *csv_put_cell(char *at, struct csv_cell *cell, const struct csv_scale *scale,
                                 int64_t number) {
    if (cell->number != number)
        csv_cell_set(cell, scale, number);
    return csv_put_bytes_of(at, cell);
}
