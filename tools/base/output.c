/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/output.c - looks at what stands at a path before it writes there, and again right
 * before it is replaced. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "tools/base/output.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tools/base/file.h"
#include "tools/base/interrupt.h"
#include "tools/base/standard_output.h"
#include "tools/base/status.h"

enum { BUFFER_BYTES = 1 << 16, DIGITS = 16, MARK_BYTES_MAX = 128 };

static bool refuse(const char *path, const char *reason) {
    fprintf(stderr, "loopwright: %s: %s\n", path, reason);
    return false;
}

/* ---- the mark at the end of a file ---- */

static const char mark_words[] = "Written by loopwright; checksum of all before this line: ";

static const struct comment {
    const char *begin, *end;
} comment[OUTPUT_FORMS] = {[OUTPUT_YAML] = {"# ", "\n"},
                           [OUTPUT_DOT] = {"// ", "\n"},
                           [OUTPUT_HTML] = {"<!-- ", " -->\n"},
                           [OUTPUT_VCD] = {"$comment ", " $end\n"}};

/* Writes the mark and returns its length. */
static size_t put_mark(char mark[MARK_BYTES_MAX], enum output_form form, uint64_t checksum) {
    int length = snprintf(mark, MARK_BYTES_MAX, "%s%s%0*" PRIx64 "%s", comment[form].begin,
                          mark_words, DIGITS, checksum, comment[form].end);
    require(length > 0 && length < MARK_BYTES_MAX);
    return (size_t)length;
}

/* The checksum of the first `length` bytes of a file. False: they can't be read. */
static bool checksum_of(int file, off_t length, uint64_t *checksum) {
    char *buffer = require_memory(BUFFER_BYTES, 1);
    off_t at = 0;
    *checksum = 0;
    while (at < length) {
        size_t part = length - at < BUFFER_BYTES ? (size_t)(length - at) : BUFFER_BYTES;
        if (!file_read_at(file, buffer, part, at))
            break;
        at += (off_t)part;
        *checksum = sealed_checksum(*checksum, buffer, part);
    }
    free(buffer);
    return at == length;
}

bool output_is_mark(const char *line, enum output_form form) {
    size_t begin = strlen(comment[form].begin);
    return strncmp(line, comment[form].begin, begin) == 0 &&
           strncmp(line + begin, mark_words, strlen(mark_words)) == 0;
}

/* True when the file ends with the mark of this form and of the bytes before it. */
static bool has_mark(int file, off_t size, enum output_form form) {
    char wanted[MARK_BYTES_MAX], found[MARK_BYTES_MAX];
    size_t length = put_mark(wanted, form, 0), digits_at = strlen(comment[form].begin);
    off_t begin = size - (off_t)length;
    digits_at += strlen(mark_words);
    if (begin < 0 || !file_read_at(file, found, length, begin) ||
        memcmp(found, wanted, digits_at) != 0)
        return false;
    uint64_t checksum;
    if (!checksum_of(file, begin, &checksum))
        return false;
    put_mark(wanted, form, checksum);
    return memcmp(found, wanted, length) == 0;
}

/* The same for the mark of any form; closes the file, which may be -1. */
static bool has_any_mark(int file, off_t size) {
    bool marked = false;
    for (int form = 0; form < OUTPUT_FORMS && file >= 0 && !marked; form++)
        marked = has_mark(file, size, (enum output_form)form);
    if (file >= 0)
        close(file);
    return marked;
}

/* True when nothing of anybody else is lost with the file: it is empty, or has the mark of any
 * form. */
static bool is_ours(const char *path, off_t size) {
    return size == 0 || has_any_mark(open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC), size);
}

bool output_wrote(int directory, const char *name) {
    struct stat status;
    if (fstatat(directory, name, &status, AT_SYMLINK_NOFOLLOW) != 0 || !S_ISREG(status.st_mode))
        return false;
    int file = openat(directory, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    return has_any_mark(file, status.st_size);
}

/* ---- what stands at the path ---- */

static bool is_same(const struct stat *one, const struct stat *other) {
    return one->st_dev == other->st_dev && one->st_ino == other->st_ino;
}

static bool is_unchanged(const struct stat *then, const struct stat *now) {
    return is_same(then, now) && then->st_size == now->st_size &&
           then->st_mtim.tv_sec == now->st_mtim.tv_sec &&
           then->st_mtim.tv_nsec == now->st_mtim.tv_nsec;
}

bool output_is_standard(const char *path) {
    struct stat named, standard;
    return strcmp(path, "-") == 0 ||
           (stat(path, &named) == 0 && fstat(STDOUT_FILENO, &standard) == 0 &&
            is_same(&named, &standard));
}

static bool refuse_existing(const char *path) {
    fprintf(stderr,
            "loopwright: %s: exists and is not as this program wrote it, so it is not replaced\n"
            "    help: give another name, or add --force to replace it\n",
            path);
    return false;
}

/* What exists at a path, links followed. */
enum standing { STANDING_NOTHING, STANDING_FILE, STANDING_DEVICE, STANDING_REFUSED };

/* Looks at it; *status is set for a file. STANDING_REFUSED: reported. */
static enum standing look(const char *path, bool force, struct stat *status) {
    if (stat(path, status) != 0) {
        bool absent = errno == ENOENT && lstat(path, status) != 0 && errno == ENOENT;
        if (absent)
            return STANDING_NOTHING;
        refuse(path, errno == 0 || errno == ENOENT ? "is a link to nothing" : strerror(errno));
        return STANDING_REFUSED;
    }
    if (S_ISDIR(status->st_mode)) {
        refuse(path, strerror(EISDIR));
        return STANDING_REFUSED;
    }
    if (!S_ISREG(status->st_mode))
        return STANDING_DEVICE;
    if (force || is_ours(path, status->st_size))
        return STANDING_FILE;
    refuse_existing(path);
    return STANDING_REFUSED;
}

/* ---- writing ---- */

/* Opening a fifo waits for its reader, and a signal ends that at once. */
static bool open_device(struct output *output) {
    interrupt_leave();
    output->file = open(output->path, O_WRONLY | O_NOCTTY | O_CLOEXEC);
    int error = errno;
    interrupt_watch();
    return output->file >= 0 || refuse(output->path, strerror(error));
}

static bool refuse_place(const char *path, int error) {
    refuse(path, strerror(error));
    fprintf(stderr, "    help: %s, or give another name\n",
            error == ENOENT ? "make its directory first" : "see that its directory may be written");
    return false;
}

/* Begins the new file beside the place of the old one, whose permissions it gets. */
static bool open_partial(struct output *output) {
    output->target = output->replaces ? realpath(output->path, NULL) : require_text(output->path);
    if (output->target == NULL)
        return refuse(output->path, strerror(errno));
    output->file = sealed_partial_open(output->target, &output->partial);
    if (output->file < 0)
        return refuse_place(output->path, errno);
    if (output->replaces && fchmod(output->file, output->earlier.st_mode & 0777) != 0)
        output->error = errno;
    return true;
}

static bool open_place(struct output *output, bool force) {
    if (output_is_standard(output->path))
        return true;
    switch (look(output->path, force, &output->earlier)) {
    case STANDING_REFUSED: return false;
    case STANDING_DEVICE: return open_device(output);
    case STANDING_FILE: output->replaces = true; break;
    case STANDING_NOTHING: break;
    }
    return open_partial(output);
}

bool output_open(struct output *output, const char *path, enum output_form form, bool force) {
    *output = (struct output){.path = path, .form = form, .file = -1, .last = '\n'};
    if (!open_place(output, force)) {
        output_discard(output);
        return false;
    }
    output->buffer = require_memory(BUFFER_BYTES, 1);
    return true;
}

static int write_bytes(const struct output *output) {
    if (output->file >= 0)
        return file_write(output->file, output->buffer, output->used);
    return fwrite(output->buffer, 1, output->used, stdout) == output->used ? 0 : errno;
}

static void flush(struct output *output) {
    output->checksum = sealed_checksum(output->checksum, output->buffer, output->used);
    if (output->error == 0)
        output->error = write_bytes(output);
    output->used = 0;
}

void output_add(struct output *output, const char *bytes, size_t count) {
    for (size_t done = 0; done < count;) {
        if (output->used == BUFFER_BYTES)
            flush(output);
        size_t room = BUFFER_BYTES - output->used;
        size_t part = count - done < room ? count - done : room;
        memcpy(output->buffer + output->used, bytes + done, part);
        output->used += part;
        done += part;
    }
    if (count > 0)
        output->last = bytes[count - 1];
}

bool output_failed(const struct output *output) { return output->error != 0; }

static void add_mark(struct output *output) {
    char mark[MARK_BYTES_MAX];
    if (output->last != '\n')
        output_add(output, "\n", 1);
    flush(output);
    output_add(output, mark, put_mark(mark, output->form, output->checksum));
    flush(output);
}

/* ---- the last step ---- */

/* The file must still be the one that was looked at. */
static int move_over_file(const struct output *output) {
    struct stat now;
    if (lstat(output->target, &now) != 0 || !is_unchanged(&output->earlier, &now))
        return EEXIST;
    return rename(output->partial, output->target) == 0 ? 0 : errno;
}

static bool is_unread(const char *path) {
    return output_is_standard(path) && standard_output_is_unread();
}

int output_failure(const char *path) {
    return is_unread(path) ? STATUS_SIGNAL + SIGPIPE : STATUS_FILE;
}

static bool refuse_write(const struct output *output, int error) {
    if (is_unread(output->path))
        return false;
    if (error == EEXIST)
        return refuse(output->path, "was made or changed by somebody else in the meantime, so it "
                                    "is not replaced");
    fprintf(stderr, "loopwright: %s: cannot be written: %s\n", output->path, strerror(error));
    return false;
}

/* Closes the file; a device or a fifo has nothing to be synced. */
static int close_file(struct output *output) {
    int error = output->target != NULL ? file_close(output->file) : 0;
    if (output->target == NULL && close(output->file) != 0)
        error = errno;
    output->file = -1;
    return error;
}

static bool put_in_place(struct output *output) {
    int error = output->replaces ? move_over_file(output)
                                 : file_move_to_free_name(output->partial, output->target);
    if (error != 0)
        return refuse_write(output, error);
    if (sealed_sync_directory(output->target))
        return true;
    fprintf(stderr, "loopwright: %s: is written, but its name may not last: %s\n", output->path,
            strerror(errno));
    return false;
}

bool output_close(struct output *output) {
    add_mark(output);
    int error = output->error;
    if (output->file >= 0) {
        int close_error = close_file(output);
        error = error != 0 ? error : close_error;
    }
    bool written =
        error == 0 ? output->target == NULL || put_in_place(output) : refuse_write(output, error);
    output_discard(output);
    return written;
}

void output_discard(struct output *output) {
    if (output->file >= 0)
        close(output->file);
    if (output->partial != NULL && unlink(output->partial) != 0 && errno != ENOENT)
        refuse(output->partial, strerror(errno));
    free(output->partial);
    free(output->target);
    free(output->buffer);
    *output = (struct output){.file = -1};
}

/* Makes the new file as output_open would, and takes it away again: only so it is sure that the
 * directory is there and takes files. */
static bool takes_new_file(struct output *output) {
    bool taken = open_partial(output);
    output_discard(output);
    return taken;
}

bool output_may_write(const char *path, bool force) {
    struct output output = {.path = path, .file = -1};
    if (output_is_standard(path))
        return true;
    switch (look(path, force, &output.earlier)) {
    case STANDING_REFUSED: return false;
    case STANDING_DEVICE: return true;
    case STANDING_FILE: output.replaces = true; break;
    case STANDING_NOTHING: break;
    }
    return takes_new_file(&output);
}

bool output_write(const char *path, enum output_form form, bool force, const char *text) {
    struct output output;
    if (!output_open(&output, path, form, force))
        return false;
    output_add(&output, text, strlen(text));
    return output_close(&output);
}
