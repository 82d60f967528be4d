/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_journal.c - appends results to the journal and reads them back; an incomplete
 * end, as a kill may leave it, is cut off. */
#include "tools/soak/soak_journal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tools/base/file.h"

static const char magic[8] = {'L', 'W', 's', 'o', 'a', 'k', '3', '\n'};
enum { NUMBER_BYTES = 8 };

void soak_journal_init(struct soak_journal *book, const struct soak_plan *plan) {
    *book = (struct soak_journal){.plan = plan, .file = -1};
    book->result = require_memory(soak_plan_units(plan), sizeof *book->result);
    book->jammed = require_memory(plan->keep + 1, sizeof *book->jammed);
    for (uint32_t i = 0; i < plan->variant_count; i++)
        soak_measures_init(&book->measures[i], plan->scenario[i]);
}

void soak_journal_free(struct soak_journal *book) {
    for (uint64_t i = 0; i < soak_plan_units(book->plan); i++)
        soak_result_free(&book->result[i]);
    for (uint32_t i = 0; i < book->plan->variant_count; i++)
        soak_measures_free(&book->measures[i]);
    free(book->result);
    free(book->jammed);
    if (book->file >= 0)
        close(book->file);
    *book = (struct soak_journal){.file = -1};
}

/* ---- the runs of which capsules are kept ---- */

static void note_jammed(struct soak_journal *book, uint64_t run) {
    uint64_t at = book->jammed_count;
    while (at > 0 && book->jammed[at - 1] > run) {
        book->jammed[at] = book->jammed[at - 1];
        at--;
    }
    book->jammed[at] = run;
    if (book->jammed_count < book->plan->keep)
        book->jammed_count++;
}

bool soak_journal_keeps(const struct soak_journal *book, uint64_t run) {
    for (uint64_t i = 0; i < book->jammed_count; i++)
        if (book->jammed[i] == run)
            return true;
    return false;
}

static void take(struct soak_journal *book, uint64_t unit, const struct soak_result *result) {
    soak_result_free(&book->result[unit]);
    book->result[unit] = *result;
    if (unit % book->plan->variant_count == 0 && result->jams > 0)
        note_jammed(book, unit / book->plan->variant_count);
}

static bool result_fits(const struct soak_journal *book, uint64_t unit,
                        const struct soak_result *result) {
    uint64_t variants = book->plan->variant_count;
    const struct soak_measures *measures = &book->measures[unit % variants];
    uint32_t width = soak_measures_series_width(measures, book->plan->run_count, unit / variants);
    return soak_result_fits(result, measures, width);
}

uint64_t soak_journal_done(const struct soak_journal *book) {
    uint64_t done = 0;
    for (uint64_t unit = 0; unit < soak_plan_units(book->plan); unit++)
        done += book->result[unit].done;
    return done;
}

/* ---- the audit ---- */

static bool has_jam(const struct soak_journal *book, uint64_t run) {
    const struct soak_result *result = &book->result[run * book->plan->variant_count];
    return result->done && result->jams > 0;
}

static void check_jammed(const struct soak_journal *book) {
    uint64_t found = 0;
    for (uint64_t run = 0; run < book->plan->run_count && found < book->plan->keep; run++)
        if (has_jam(book, run)) {
            require(found < book->jammed_count && book->jammed[found] == run);
            found++;
        }
    require(found == book->jammed_count);
}

void soak_journal_audit(const struct soak_journal *book) {
    check_jammed(book);
    for (uint64_t unit = 0; unit < soak_plan_units(book->plan); unit++) {
        const struct soak_result *result = &book->result[unit];
        if (result->done)
            require(result_fits(book, unit, result));
        else
            require(result->value == NULL && result->series == NULL);
    }
}

/* ---- pieces ---- */

static void add_number(struct bytes *bytes, uint64_t number) {
    bytes_add(bytes, number, NUMBER_BYTES);
}

static void add_piece(struct bytes *bytes, const void *data, size_t length) {
    add_number(bytes, length);
    add_number(bytes, ~(uint64_t)length);
    bytes_append(bytes, data, length);
    add_number(bytes, sealed_checksum(0, data, length));
}

static void add_result(struct bytes *bytes, const struct soak_journal *book, uint64_t unit) {
    struct bytes packed = {0};
    const struct soak_measures *measures = &book->measures[unit % book->plan->variant_count];
    soak_result_pack(&book->result[unit], measures, unit, &packed);
    add_piece(bytes, packed.data, packed.length);
    bytes_free(&packed);
}

static void add_head(struct bytes *bytes, const struct soak_journal *book) {
    bytes_append(bytes, magic, sizeof magic);
    add_piece(bytes, book->plan->text, strlen(book->plan->text));
}

struct bytes soak_journal_bytes(const struct soak_journal *book, uint64_t shard) {
    struct bytes bytes = {0};
    add_head(&bytes, book);
    for (uint64_t unit = 0; unit < soak_plan_units(book->plan); unit++)
        if (soak_plan_has(book->plan, shard, unit / book->plan->variant_count))
            add_result(&bytes, book, unit);
    add_piece(&bytes, "", 0);
    return bytes;
}

/* ---- reading ---- */

enum piece { PIECE_WHOLE, PIECE_CUT, PIECE_DAMAGED };

static size_t bytes_left(const struct bytes_reader *reader) { return reader->length - reader->at; }

/* The length of the next piece, which is known to be what was written. */
static enum piece take_length(struct bytes_reader *reader, size_t *length) {
    if (bytes_left(reader) < (size_t)2 * NUMBER_BYTES)
        return PIECE_CUT;
    uint64_t number = bytes_take(reader, NUMBER_BYTES);
    *length = (size_t)number;
    return bytes_take(reader, NUMBER_BYTES) == ~number ? PIECE_WHOLE : PIECE_DAMAGED;
}

/* The next piece, in place. */
static enum piece next_piece(struct bytes_reader *reader, const void **data, size_t *length) {
    enum piece piece = take_length(reader, length);
    if (piece != PIECE_WHOLE)
        return piece;
    if (bytes_left(reader) < NUMBER_BYTES || bytes_left(reader) - NUMBER_BYTES < *length)
        return PIECE_CUT;
    *data = reader->data + reader->at;
    reader->at += *length;
    uint64_t checksum = sealed_checksum(0, *data, *length);
    return bytes_take(reader, NUMBER_BYTES) == checksum ? PIECE_WHOLE : PIECE_DAMAGED;
}

/* Takes a result from a piece; false when it is none that a run of this shard can come to. One that
 * is there already, from another file of the same plan, is the same. */
static bool take_piece(struct soak_journal *book, uint64_t shard, const void *data, size_t length) {
    uint64_t unit = soak_result_unit(data, length), variants = book->plan->variant_count;
    struct soak_result result = {0};
    if (unit >= soak_plan_units(book->plan) || !soak_plan_has(book->plan, shard, unit / variants) ||
        !soak_result_unpack(&result, &book->measures[unit % variants], data, length))
        return false;
    bool fits = result_fits(book, unit, &result);
    if (fits && !book->result[unit].done)
        take(book, unit, &result);
    else
        soak_result_free(&result);
    return fits;
}

static bool has_all(const struct soak_journal *book, uint64_t shard) {
    for (uint64_t unit = 0; unit < soak_plan_units(book->plan); unit++)
        if (soak_plan_has(book->plan, shard, unit / book->plan->variant_count) &&
            !book->result[unit].done)
            return false;
    return true;
}

static enum soak_reading take_pieces(struct soak_journal *book, uint64_t shard,
                                     struct bytes_reader *reader, int64_t *good) {
    for (;;) {
        const void *data;
        size_t length;
        *good = (int64_t)reader->at;
        enum piece piece = next_piece(reader, &data, &length);
        if (piece == PIECE_CUT)
            return SOAK_PARTIAL;
        if (piece == PIECE_WHOLE && length == 0)
            return bytes_at_end(reader) && has_all(book, shard) ? SOAK_WHOLE : SOAK_DAMAGED;
        if (piece == PIECE_DAMAGED || !take_piece(book, shard, data, length))
            return SOAK_DAMAGED;
    }
}

/* The text of the plan, after the first bytes. SOAK_PARTIAL: it is there. */
static enum soak_reading take_head(struct bytes_reader *reader, const void **data, size_t *length) {
    size_t there = reader->length < sizeof magic ? reader->length : sizeof magic;
    if (memcmp(reader->data, magic, there) != 0)
        return SOAK_FOREIGN;
    if (there < sizeof magic)
        return SOAK_ABSENT;
    reader->at = sizeof magic;
    enum piece piece = next_piece(reader, data, length);
    return piece == PIECE_WHOLE ? SOAK_PARTIAL : piece == PIECE_CUT ? SOAK_ABSENT : SOAK_DAMAGED;
}

static enum soak_reading take_bytes(struct soak_journal *book, uint64_t shard,
                                    const struct bytes *bytes, int64_t *good) {
    size_t length;
    const void *data;
    struct bytes_reader reader = bytes_reader_of(bytes->data, bytes->length);
    enum soak_reading reading = take_head(&reader, &data, &length);
    if (reading != SOAK_PARTIAL)
        return reading;
    if (length != strlen(book->plan->text) || memcmp(data, book->plan->text, length) != 0)
        return SOAK_FOREIGN;
    return take_pieces(book, shard, &reader, good);
}

/* All bytes of a file. Returns 0 or an errno. */
static int read_bytes(int file, struct bytes *bytes) {
    struct stat status;
    if (fstat(file, &status) != 0)
        return errno;
    if (!S_ISREG(status.st_mode))
        return EINVAL;
    bytes->data = require_memory((size_t)status.st_size, 1);
    while (bytes->length < (size_t)status.st_size) {
        ssize_t got =
            read(file, bytes->data + bytes->length, (size_t)status.st_size - bytes->length);
        if (got < 0 && errno != EINTR)
            return errno;
        if (got == 0)
            break;
        bytes->length += got > 0 ? (size_t)got : 0;
    }
    return 0;
}

/* All bytes of a file in an open directory. Returns 0 or an errno. */
static int read_file(int directory, const char *name, struct bytes *bytes) {
    int file = openat(directory, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (file < 0)
        return errno;
    int error = read_bytes(file, bytes);
    close(file);
    return error;
}

enum soak_reading soak_journal_read(struct soak_journal *book, uint64_t shard, int directory,
                                    const char *name, int64_t *length) {
    struct bytes bytes = {0};
    *length = 0;
    int error = read_file(directory, name, &bytes);
    enum soak_reading reading = error == ENOENT ? SOAK_ABSENT : SOAK_UNREADABLE;
    if (error == 0)
        reading = take_bytes(book, shard, &bytes, length);
    bytes_free(&bytes);
    errno = error;
    return reading;
}

bool soak_journal_read_plan(struct soak_plan *plan, int directory, const char *name) {
    struct bytes bytes = {0};
    struct faults faults = {0};
    bool read = false;
    if (read_file(directory, name, &bytes) == 0) {
        struct bytes_reader reader = bytes_reader_of(bytes.data, bytes.length);
        const void *text;
        size_t length;
        read = take_head(&reader, &text, &length) == SOAK_PARTIAL &&
               soak_plan_read(plan, text, length, name, &faults);
    }
    faults_free(&faults);
    bytes_free(&bytes);
    return read;
}

/* ---- writing ---- */

static int append(struct soak_journal *book, const struct bytes *bytes) {
    return book->file < 0 ? 0 : file_write(book->file, (const char *)bytes->data, bytes->length);
}

int soak_journal_keep(struct soak_journal *book, int directory, const char *name, int64_t length) {
    book->file = openat(directory, name, O_WRONLY | O_CREAT | O_CLOEXEC, 0666);
    if (book->file < 0 || ftruncate(book->file, length) != 0 ||
        lseek(book->file, length, SEEK_SET) != length)
        return errno;
    if (length > 0)
        return 0;
    struct bytes bytes = {0};
    add_head(&bytes, book);
    int error = append(book, &bytes);
    bytes_free(&bytes);
    return error;
}

int soak_journal_add(struct soak_journal *book, uint64_t unit, const struct soak_result *result) {
    struct bytes bytes = {0};
    take(book, unit, result);
    if (book->file >= 0)
        add_result(&bytes, book, unit);
    int error = append(book, &bytes);
    bytes_free(&bytes);
    return error;
}

int soak_journal_sync(struct soak_journal *book) {
    while (book->file >= 0 && fdatasync(book->file) != 0)
        if (errno != EINTR)
            return errno;
    return 0;
}
