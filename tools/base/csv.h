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
    CSV_NUMBER_BYTES = 24,                                  /* room for a comma and a number */
    CSV_DECIMAL_BYTES = CSV_NUMBER_BYTES + CSV_BLOCK_BYTES, /* room for a comma and a decimal */
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
    uint64_t reciprocal;           /* ceil(2^64 / (2 divisor)) */
    uint64_t short_end;            /* whole parts below are put the short way: csv_scale_shorten */
    struct csv_fraction *fraction; /* of each remainder, for small divisors; else NULL */
    uint8_t places_least;
};
enum { CSV_SECONDS_PLACES = 1, CSV_SHARE_PLACES = 0 };
__extension__ typedef unsigned __int128 csv_product;
void csv_scale_init(struct csv_scale *scale, int64_t divisor, uint8_t places_least);
void csv_scale_free(struct csv_scale *scale);

/* ",1234", its length in the last byte. */
struct csv_whole {
    char bytes[7];
    uint8_t length;
};
_Static_assert(sizeof(struct csv_whole) == sizeof(uint64_t), "it is put as one word");

/* The numbers below `count`, made once. */
struct csv_wholes {
    struct csv_whole *text; /* of a csv_brief, and then the numbers */
    const struct csv_whole *number;
    uint64_t count;
};
enum { CSV_WHOLES_MOST = 1 << 16 };
/* The numbers below `count`, of which there is one at least, as far as there may be so many. */
struct csv_wholes csv_wholes_new(int64_t count);
void csv_wholes_free(struct csv_wholes *wholes);
/* From now on csv_put_decimal takes whole parts from `wholes`, and from no others. */
void csv_scale_shorten(struct csv_scale *scale, const struct csv_wholes *wholes);

/* Whole numbers and a scale with which many are put, all of whose fractions are short, as those of
 * a hundred ticks a second are: what is put with most is found in one table. */
struct csv_brief {
    const struct csv_whole *text; /* CSV_BRIEF_FRACTIONS of fractions, by their share of that, then
                                     `end` numbers */
    uint64_t end;                 /* numbers and whole parts below are put the short way */
    uint64_t reciprocal;          /* ceil(2^64 / divisor) */
    const struct csv_scale *scale;
};
enum { CSV_BRIEF_BITS = 12, CSV_BRIEF_FRACTIONS = 1 << CSV_BRIEF_BITS };
/* Makes a brief scale of one that has been shortened by `wholes`; both must outlive it, and wholes
 * serve one brief scale. False: some fraction is too long, or the divisor is 1 or more than
 * CSV_BRIEF_FRACTIONS, and there is none. */
bool csv_brief_init(struct csv_brief *brief, const struct csv_scale *scale,
                    struct csv_wholes *wholes);

/* The end of a row, its LF too, made once: ",12,24,0.4\n", its length in the last byte. */
struct csv_ending {
    char bytes[2 * CSV_BLOCK_BYTES - 1];
    uint8_t length;
};

struct csv {
    char *name; /* file name, for messages */
    int file;   /* -1: closed */
    int error;  /* errno of the first thing that went wrong; 0: all well */
    char *buffer;
    size_t used;
};
/* So many bytes are written at once, at multiples of that: a system that keeps files in pieces of
 * memory as large as what is written to them, where it lies so, makes fewer of them. More are kept
 * until then, as long as the rows for which there was room. */
enum { CSV_WRITE_BYTES = 1 << 18, CSV_ROOM_MOST = 1 << 16 };

/* Makes the file `name` in the open directory `directory` and writes its header row. */
void csv_open(struct csv *csv, int directory, const char *name, const char *header);
/* Writes out what is left, makes it last on the disk and closes the file; gives the memory back.
 * Returns 0, or the errno of the first thing that went wrong since csv_open. */
int csv_close(struct csv *csv);
/* Closes without writing out; for a run that is given up. Nothing happens to a closed one. */
void csv_discard(struct csv *csv);

/* Room for a row, or several, of at most `most` bytes up to CSV_ROOM_MOST; good until the next
 * csv_row. */
static inline char *csv_row(struct csv *csv, size_t most);
/* Ends the row that was written up to `at`, LF added. */
static inline void csv_row_end(struct csv *csv, char *at);
/* Ends rows for which there was room at once, and which were written up to `at`, each with its LF.
 */
static inline void csv_rows_end(struct csv *csv, const char *at);
/* For csv_row: writes out CSV_WRITE_BYTES where there are as many. */
void csv_make_room(struct csv *csv, size_t most);

/* Adds a row made elsewhere, of any length, LF added. */
void csv_long_row(struct csv *csv, const char *bytes, size_t count);

/* These write at `at`, without a comma, and return the place after it. */
char *csv_put_number(char *at, int64_t number);                                /* from 0 on */
char *csv_put_scaled(char *at, const struct csv_scale *scale, int64_t number); /* from 0 on */
static inline char *csv_put_text(char *at, const struct csv_text *text);

/* Puts an ending that was made by hand, of at most so many bytes as there are. */
static inline char *csv_put_ending(char *at, const struct csv_ending *ending);

/* Put a comma and a number from 0 on, as it is or scaled. No step depends on what was put before,
 * neither on its value nor on bytes that were just written, so that a processor works on several
 * numbers at once. */
static inline char *csv_put_count(char *at, const struct csv_wholes *wholes, int64_t number);
static inline char *csv_put_decimal(char *at, const struct csv_wholes *wholes,
                                    const struct csv_scale *scale, int64_t number);
static inline char *csv_put_brief_count(char *at, const struct csv_brief *brief, int64_t number);
static inline char *csv_put_brief(char *at, const struct csv_brief *brief, int64_t number);
/* The same for those that are not among `wholes`, or whose scale has no table of fractions. */
char *csv_put_large_count(char *at, int64_t number);
char *csv_put_large_decimal(char *at, const struct csv_scale *scale, int64_t number);

static inline char *csv_row(struct csv *csv, size_t most) {
    if (csv->used >= CSV_WRITE_BYTES || most > CSV_ROOM_MOST)
        csv_make_room(csv, most);
    return csv->buffer + csv->used;
}

static inline void csv_row_end(struct csv *csv, char *at) {
    *at++ = '\n';
    csv->used = (size_t)(at - csv->buffer);
}

static inline void csv_rows_end(struct csv *csv, const char *at) {
    csv->used = (size_t)(at - csv->buffer);
}

/* What a text may take of a row's room. */
static inline size_t csv_text_most(const struct csv_text *text) {
    return text->length + (size_t)CSV_BLOCK_BYTES;
}

/* number / divisor by the reciprocal of twice the divisor, which a divisor of 1 has too. */
static inline uint64_t csv_part_of(const struct csv_scale *scale, int64_t number) {
    return (uint64_t)((csv_product)(2 * (uint64_t)number) * scale->reciprocal >> 64);
}

/* Blocks of a fixed size cost a load and a store; a copy of the exact length would cost a call.
 * Most texts are one block. */
static inline char *csv_put_text(char *at, const struct csv_text *text) {
    memcpy(at, text->bytes, CSV_BLOCK_BYTES);
    for (uint32_t done = CSV_BLOCK_BYTES; done < text->length; done += CSV_BLOCK_BYTES)
        memcpy(at + done, text->bytes + done, CSV_BLOCK_BYTES);
    return at + text->length;
}

static inline char *csv_put_ending(char *at, const struct csv_ending *ending) {
    memcpy(at, ending, sizeof *ending);
    return at + ending->length;
}

/* As one word: of two loads the second would take a step to find its place. */
static inline char *csv_put_whole(char *at, const struct csv_whole *whole) {
    uint64_t word;
    memcpy(&word, whole, sizeof word);
    memcpy(at, &word, sizeof word);
#if __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
    return at + (word & 0xff);
#else
    return at + (word >> 56);
#endif
}

static inline char *csv_put_count(char *at, const struct csv_wholes *wholes, int64_t number) {
    if (__builtin_expect((uint64_t)number >= wholes->count, 0))
        return csv_put_large_count(at, number);
    return csv_put_whole(at, &wholes->number[number]);
}

/* The division rounds up where a number is too large for it (csv.c), and so never below a count
 * that the number is not below; below the most that there can be, it is exact. */
static inline char *csv_put_decimal(char *at, const struct csv_wholes *wholes,
                                    const struct csv_scale *scale, int64_t number) {
    uint64_t part = csv_part_of(scale, number);
    if (__builtin_expect(part >= scale->short_end, 0))
        return csv_put_large_decimal(at, scale, number);
    const struct csv_fraction *fraction =
        &scale->fraction[(uint64_t)number - part * (uint64_t)scale->divisor];
    at = csv_put_whole(at, &wholes->number[part]);
    memcpy(at, fraction, sizeof *fraction);
    return at + fraction->length;
}

/* What the product has beyond the whole part is the fraction, times 2^64: its uppermost bits tell
 * which one it is, since two differ by one of them at least, and the reciprocal is too large by far
 * less. */
static inline char *csv_put_brief(char *at, const struct csv_brief *brief, int64_t number) {
    uint64_t of = (uint64_t)number, fraction = of * brief->reciprocal;
    uint64_t part = (uint64_t)((csv_product)of * brief->reciprocal >> 64);
    if (__builtin_expect(part >= brief->end, 0))
        return csv_put_large_decimal(at, brief->scale, number);
    at = csv_put_whole(at, &brief->text[part + CSV_BRIEF_FRACTIONS]);
    return csv_put_whole(at, &brief->text[fraction >> (64 - CSV_BRIEF_BITS)]);
}

static inline char *csv_put_brief_count(char *at, const struct csv_brief *brief, int64_t number) {
    if (__builtin_expect((uint64_t)number >= brief->end, 0))
        return csv_put_large_count(at, number);
    return csv_put_whole(at, &brief->text[(uint64_t)number + CSV_BRIEF_FRACTIONS]);
}
