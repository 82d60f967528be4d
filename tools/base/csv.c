/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/csv.c - numbers by hand, large writes, and an error that is never lost. */
#include "tools/base/csv.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "sim/require.h"
#include "tools/base/file.h"

enum {
    PLACES = 9, /* after the decimal point */
    TABLE_ENTRIES_MAX = 16384
};

static const int64_t billion = 1000000000;

static struct csv_text text_owned(const char *bytes, size_t length) {
    size_t blocks = length / CSV_BLOCK_BYTES + 1;
    char *padded = require_memory(blocks, CSV_BLOCK_BYTES);
    memcpy(padded, bytes, length);
    return (struct csv_text){padded, (uint32_t)length};
}

struct csv_text csv_text_of(const char *format, ...) {
    require(format != NULL);
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    require(length >= 0);
    char *bytes = require_memory((size_t)length + 1, 1);
    vsnprintf(bytes, (size_t)length + 1, format, again);
    va_end(again);
    struct csv_text text = text_owned(bytes, (size_t)length);
    free(bytes);
    return text;
}

struct csv_text csv_text_field(const char *field) {
    if (strpbrk(field, ",\"\r\n") == NULL)
        return text_owned(field, strlen(field));
    char *quoted = require_memory(2 * strlen(field) + 2, 1);
    size_t length = 0;
    quoted[length++] = '"';
    for (const char *at = field; *at != '\0'; at++) {
        if (*at == '"')
            quoted[length++] = '"';
        quoted[length++] = *at;
    }
    quoted[length++] = '"';
    struct csv_text text = text_owned(quoted, length);
    free(quoted);
    return text;
}

void csv_text_free(struct csv_text *text) {
    free(text->bytes);
    *text = (struct csv_text){0};
}

/* The nearest count of billionths to remainder / divisor; below a billion, because a divisor is far
 * smaller than two billion. */
static struct csv_fraction fraction_of(int64_t remainder, int64_t divisor, uint8_t places_least) {
    struct csv_fraction fraction = {{'.', '0'}, places_least > 0 ? 2 : 0};
    int64_t billionths = (2 * remainder * billion + divisor) / (2 * divisor);
    if (billionths == 0)
        return fraction;
    uint8_t places = PLACES;
    for (; billionths % 10 == 0; billionths /= 10)
        places--;
    fraction.length = (uint8_t)(places + 1);
    for (; places > 0; billionths /= 10)
        fraction.bytes[places--] = (char)('0' + billionths % 10);
    return fraction;
}

void csv_scale_init(struct csv_scale *scale, int64_t divisor, uint8_t places_least) {
    require(divisor > 0 && divisor <= billion && places_least <= 1);
    *scale = (struct csv_scale){.divisor = divisor, .places_least = places_least};
    scale->reciprocal = UINT64_MAX / (2 * (uint64_t)divisor) + 1;
    if (divisor > TABLE_ENTRIES_MAX)
        return;
    scale->fraction = require_memory((size_t)divisor, sizeof *scale->fraction);
    for (int64_t remainder = 0; remainder < divisor; remainder++)
        scale->fraction[remainder] = fraction_of(remainder, divisor, places_least);
}

void csv_scale_free(struct csv_scale *scale) {
    free(scale->fraction);
    *scale = (struct csv_scale){0};
}

static void write_out(struct csv *csv, size_t length) {
    if (csv->error == 0)
        csv->error = file_write(csv->file, csv->buffer, length);
    csv->used -= length;
    memmove(csv->buffer, csv->buffer + length, csv->used);
}

void csv_open(struct csv *csv, int directory, const char *name, const char *header) {
    *csv =
        (struct csv){.name = require_text(name),
                     .buffer = require_more_memory(NULL, CSV_WRITE_BYTES + CSV_ROOM_MOST + 1, 1)};
    csv->file = openat(directory, name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (csv->file < 0)
        csv->error = errno;
    size_t length = strlen(header);
    char *at = csv_row(csv, length + 1);
    memcpy(at, header, length);
    csv_row_end(csv, at + length);
}

int csv_close(struct csv *csv) {
    write_out(csv, csv->used);
    if (csv->file >= 0) {
        int error = file_close(csv->file);
        csv->error = csv->error != 0 ? csv->error : error;
        csv->file = -1;
    }
    int error = csv->error;
    csv_discard(csv);
    return error;
}

void csv_discard(struct csv *csv) {
    if (csv->buffer != NULL && csv->file >= 0)
        close(csv->file);
    free(csv->buffer);
    free(csv->name);
    /* Full, so that a row asks for room, and is refused. */
    *csv = (struct csv){.file = -1, .used = CSV_WRITE_BYTES};
}

void csv_make_room(struct csv *csv, size_t most) {
    require(csv->buffer != NULL && most <= CSV_ROOM_MOST);
    if (csv->used >= CSV_WRITE_BYTES)
        write_out(csv, CSV_WRITE_BYTES);
}

void csv_long_row(struct csv *csv, const char *bytes, size_t count) {
    for (size_t done = 0; done < count;) {
        size_t part = count - done < CSV_ROOM_MOST ? count - done : CSV_ROOM_MOST;
        char *at = csv_row(csv, part);
        memcpy(at, bytes + done, part);
        csv->used += part;
        done += part;
    }
    csv_row_end(csv, csv_row(csv, 1));
}

static const char pairs[] =
    "00010203040506070809101112131415161718192021222324252627282930313233343536373839"
    "40414243444546474849505152535455565758596061626364656667686970717273747576777879"
    "8081828384858687888990919293949596979899";

static char *put_pair(char *at, uint32_t number) {
    memcpy(at, pairs + (size_t)2 * number, 2);
    return at + 2;
}

/* Up to 99, without a zero in front. */
static char *put_shortest(char *at, uint32_t number) {
    if (number >= 10)
        return put_pair(at, number);
    *at = (char)('0' + number);
    return at + 1;
}

/* Two digits each time; most numbers of a table are small. */
char *csv_put_number(char *at, int64_t number) {
    if (number < 100)
        return put_shortest(at, (uint32_t)number);
    if (number < 10000) {
        at = put_shortest(at, (uint32_t)number / 100);
        return put_pair(at, (uint32_t)number % 100);
    }
    uint32_t low = (uint32_t)(number % 10000);
    at = csv_put_number(at, number / 10000);
    return put_pair(put_pair(at, low / 100), low % 100);
}

static char *put_fraction(char *at, const struct csv_fraction *fraction) {
    memcpy(at, fraction, sizeof *fraction);
    return at + fraction->length;
}

/* By the reciprocal, without a division: exact below 2^62 / divisor, as 32 bits are (D. Lemire,
 * O. Kaser, N. Kurz, "Faster remainder by direct computation", Software: Practice and Experience 49
 * (2019) 953-970). */
static uint64_t whole_part(const struct csv_scale *scale, uint64_t number) {
    return number > UINT32_MAX ? number / (uint64_t)scale->divisor
                               : csv_part_of(scale, (int64_t)number);
}

char *csv_put_scaled(char *at, const struct csv_scale *scale, int64_t number) {
    int64_t whole = (int64_t)whole_part(scale, (uint64_t)number);
    int64_t remainder = number - whole * scale->divisor;
    at = csv_put_number(at, whole);
    if (scale->fraction != NULL)
        return put_fraction(at, &scale->fraction[remainder]);
    struct csv_fraction fraction = fraction_of(remainder, scale->divisor, scale->places_least);
    return put_fraction(at, &fraction);
}

/* ---- numbers with a comma ---- */

/* ",1234" from ",12", which was made before it. */
static struct csv_whole whole_of(const struct csv_whole *whole, uint32_t number) {
    struct csv_whole made = {.bytes = ",", .length = 1};
    if (number >= 100)
        made = whole[number / 100];
    char *end = made.bytes + made.length;
    end = number >= 100 ? put_pair(end, number % 100) : put_shortest(end, number);
    made.length = (uint8_t)(end - made.bytes);
    return made;
}

struct csv_wholes csv_wholes_new(int64_t count) {
    uint32_t made = count < CSV_WHOLES_MOST ? (uint32_t)count : CSV_WHOLES_MOST;
    require(count > 0);
    struct csv_whole *text =
        require_more_memory(NULL, (size_t)CSV_BRIEF_FRACTIONS + made, sizeof *text);
    struct csv_whole *whole = text + CSV_BRIEF_FRACTIONS;
    for (uint32_t number = 0; number < made; number++)
        whole[number] = whole_of(whole, number);
    return (struct csv_wholes){text, whole, made};
}

void csv_wholes_free(struct csv_wholes *wholes) {
    free(wholes->text);
    *wholes = (struct csv_wholes){0};
}

void csv_scale_shorten(struct csv_scale *scale, const struct csv_wholes *wholes) {
    scale->short_end = scale->fraction != NULL ? wholes->count : 0;
}

/* The shortest text of a fraction; false: it is too long. */
static bool shorten(struct csv_whole *to, const struct csv_fraction *fraction) {
    if (fraction->length > sizeof to->bytes)
        return false;
    memcpy(to->bytes, fraction->bytes, sizeof to->bytes);
    to->length = fraction->length;
    return true;
}

bool csv_brief_init(struct csv_brief *brief, const struct csv_scale *scale,
                    struct csv_wholes *wholes) {
    uint64_t divisor = (uint64_t)scale->divisor;
    if (scale->short_end == 0 || divisor == 1 || divisor > CSV_BRIEF_FRACTIONS)
        return false;
    for (uint64_t i = 0; i < divisor; i++)
        if (!shorten(&wholes->text[i * CSV_BRIEF_FRACTIONS / divisor], &scale->fraction[i]))
            return false;
    *brief = (struct csv_brief){.text = wholes->text,
                                .end = wholes->count,
                                .reciprocal = UINT64_MAX / divisor + 1,
                                .scale = scale};
    return true;
}

char *csv_put_large_count(char *at, int64_t number) {
    *at = ',';
    return csv_put_number(at + 1, number);
}

char *csv_put_large_decimal(char *at, const struct csv_scale *scale, int64_t number) {
    *at = ',';
    return csv_put_scaled(at + 1, scale, number);
}
