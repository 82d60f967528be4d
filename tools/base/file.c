/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/file.c - after a failed write, close may well report success: every step is looked at.
 */
#define _GNU_SOURCE /* renameat2 */
#include "tools/base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

int file_write(int file, const char *bytes, size_t count) {
    while (count > 0) {
        ssize_t written = write(file, bytes, count);
        if (written < 0 && errno != EINTR)
            return errno;
        if (written < 0)
            continue;
        bytes += written;
        count -= (size_t)written;
    }
    return 0;
}

int file_write_at(int file, const void *bytes, size_t count, int64_t offset) {
    size_t done = 0;
    while (done < count) {
        ssize_t written =
            pwrite(file, (const char *)bytes + done, count - done, (off_t)(offset + (int64_t)done));
        if (written < 0 && errno != EINTR)
            return errno;
        done += written > 0 ? (size_t)written : 0;
    }
    return 0;
}

bool file_read_at(int file, void *bytes, size_t count, int64_t offset) {
    size_t done = 0;
    while (done < count) {
        ssize_t got =
            pread(file, (char *)bytes + done, count - done, (off_t)(offset + (int64_t)done));
        if (got == 0 || (got < 0 && errno != EINTR))
            return false;
        done += got > 0 ? (size_t)got : 0;
    }
    return true;
}

int file_close(int file) {
    int error = 0;
    while (fsync(file) != 0 && error == 0)
        error = errno != EINTR ? errno : 0;
    if (close(file) != 0 && error == 0)
        error = errno;
    return error;
}

int file_make(int directory, const char *name, const char *bytes, size_t count) {
    int file = openat(directory, name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file < 0)
        return errno;
    int error = file_write(file, bytes, count);
    int close_error = file_close(file);
    return error != 0 ? error : close_error;
}

int file_move_to_free_name(const char *from, const char *to) {
    if (renameat2(AT_FDCWD, from, AT_FDCWD, to, RENAME_NOREPLACE) == 0)
        return 0;
    if (errno != EINVAL && errno != ENOSYS)
        return errno;
    return link(from, to) == 0 ? 0 : errno;
}

FILE *file_open_regular(const char *path) {
    struct stat status;
    int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (file < 0)
        return NULL;
    if (fstat(file, &status) == 0 && S_ISREG(status.st_mode))
        return fdopen(file, "rb");
    close(file);
    errno = EINVAL;
    return NULL;
}
