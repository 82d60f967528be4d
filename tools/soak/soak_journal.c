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

static const char magic[8] = {'L', 'W', 's', 'o', 'a', 'k', '2', '\n'};
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

static void check_result(const struct soak_result *result, const struct soak_measures *measures) {
    uint32_t width = result->series_width;
    require(result->value != NULL && result->series != NULL);
    require(width == 0 || width == 1 || width == measures->count);
    require(result->window_count <= SOAK_WINDOWS_MAX);
    require(result->jams == 0 || result->first_jam_tick != NOT_GIVEN);
    require(result->first_jam_tick >= NOT_GIVEN && result->first_jam_tick <= result->ticks);
    require(result->jammed_ticks >= 0 && result->jammed_ticks <= result->ticks);
    require(result->starved_ticks >= 0);
}

void soak_journal_audit(const struct soak_journal *book) {
    check_jammed(book);
    for (uint64_t unit = 0; unit < soak_plan_units(book->plan); unit++) {
        const struct soak_result *result = &book->result[unit];
        if (result->done)
            check_result(result, &book->measures[unit % book->plan->variant_count]);
        else
            require(result->value == NULL && result->series == NULL);
    }
}

/* ---- pieces ---- */

static void add_piece(struct bytes *bytes, const void *data, size_t length) {
    size_t begin = bytes->length;
    bytes_add_block(bytes, data, length);
    uint64_t checksum = sealed_checksum(0, bytes->data + begin, bytes->length - begin);
    bytes_add(bytes, checksum, NUMBER_BYTES);
}

static void add_result(struct bytes *bytes, const struct soak_journal *book, uint64_t unit) {
    struct bytes packed = {0};
    const struct soak_measures *measures = &book->measures[unit % book->plan->variant_count];
    soak_result_pack(&book->result[unit], measures, unit, &packed);
    add_piece(bytes, packed.data, packed.length);
    bytes_free(&packed);
}

static void add_head(struct bytes *bytes, const struct soak_journal *book) {
    for (size_t i = 0; i < sizeof magic; i++)
        bytes_add(bytes, (unsigned char)magic[i], 1);
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

/* The next piece, with its length in *length; NULL: there is no whole one. */
static const void *next_piece(struct bytes_reader *reader, size_t *length) {
    size_t begin = reader->at;
    const void *piece = bytes_take_block(reader, length);
    uint64_t checksum = sealed_checksum(0, reader->data + begin, reader->at - begin);
    return bytes_take(reader, NUMBER_BYTES) == checksum && !reader->failed ? piece : NULL;
}

/* Takes a result from a piece; false when it does not belong to this plan. */
static bool take_piece(struct soak_journal *book, const void *piece, size_t length) {
    uint64_t unit = soak_result_unit(piece, length);
    struct soak_result result = {0};
    if (unit >= soak_plan_units(book->plan) ||
        !soak_result_unpack(&result, &book->measures[unit % book->plan->variant_count], piece,
                            length))
        return false;
    if (book->result[unit].done)
        soak_result_free(&result);
    else
        take(book, unit, &result);
    return true;
}

static enum soak_reading take_pieces(struct soak_journal *book, struct bytes_reader *reader,
                                     int64_t *good) {
    for (;;) {
        size_t length;
        *good = (int64_t)reader->at;
        const void *piece = next_piece(reader, &length);
        if (piece == NULL)
            return SOAK_PARTIAL;
        if (length == 0)
            return SOAK_WHOLE;
        if (!take_piece(book, piece, length))
            return SOAK_PARTIAL;
    }
}

static enum soak_reading take_bytes(struct soak_journal *book, const struct bytes *bytes,
                                    int64_t *good) {
    size_t length;
    if (bytes->length < sizeof magic)
        return SOAK_ABSENT;
    if (memcmp(bytes->data, magic, sizeof magic) != 0)
        return SOAK_FOREIGN;
    struct bytes_reader reader = bytes_reader_of(bytes->data, bytes->length);
    reader.at = sizeof magic;
    const void *piece = next_piece(&reader, &length);
    if (piece == NULL)
        return SOAK_ABSENT;
    if (length != strlen(book->plan->text) || memcmp(piece, book->plan->text, length) != 0)
        return SOAK_FOREIGN;
    return take_pieces(book, &reader, good);
}

/* All bytes of a file. Returns 0 or an errno. */
static int read_bytes(int file, struct bytes *bytes) {
    struct stat status;
    if (fstat(file, &status) != 0)
        return errno;
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

enum soak_reading soak_journal_read(struct soak_journal *book, int directory, const char *name,
                                    int64_t *length) {
    *length = 0;
    int file = openat(directory, name, O_RDONLY | O_CLOEXEC);
    if (file < 0)
        return errno == ENOENT ? SOAK_ABSENT : SOAK_UNREADABLE;
    struct bytes bytes = {0};
    int error = read_bytes(file, &bytes);
    close(file);
    enum soak_reading reading = SOAK_UNREADABLE;
    if (error == 0)
        reading = take_bytes(book, &bytes, length);
    bytes_free(&bytes);
    errno = error;
    return reading;
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
    return book->file < 0 || fdatasync(book->file) == 0 ? 0 : errno;
}
