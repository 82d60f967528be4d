/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fault/fault.c - memory that is refused, and disks that fail, at every call of every
 * command. sweep.h says how it is called. */
#include <errno.h>

#include "tests/fault/sweep.h"

#define ONCE(word, of, error)                                                                      \
    { #word "-" #error, of, error, false, FAILURE_ANY }
#define LASTING(word, of, error)                                                                   \
    { #word "-" #error "-lasting", of, error, true, FAILURE_ANY }

static const struct failure failure[] = {
    ONCE(memory, SHIM_MEMORY, ENOMEM),
    LASTING(memory, SHIM_MEMORY, ENOMEM),
    ONCE(thread, SHIM_THREAD, EAGAIN),
    LASTING(thread, SHIM_THREAD, EAGAIN),
    ONCE(open, SHIM_OPEN, EACCES),
    ONCE(open, SHIM_OPEN, ENOSPC),
    LASTING(open, SHIM_OPEN, EMFILE),
    ONCE(read, SHIM_READ, EIO),
    LASTING(read, SHIM_READ, EIO),
    {"read-EINTR", SHIM_READ, EINTR, false, FAILURE_ANY},
    {"read-short", SHIM_READ, SHIM_SHORT, false, FAILURE_PASSES},
    ONCE(write, SHIM_WRITE, EIO),
    ONCE(write, SHIM_WRITE, ENOSPC),
    LASTING(write, SHIM_WRITE, ENOSPC),
    {"write-EINTR", SHIM_WRITE, EINTR, false, FAILURE_ANY},
    {"write-short", SHIM_WRITE, SHIM_SHORT, false, FAILURE_PASSES},
    ONCE(seek, SHIM_SEEK, EIO),
    {"sync-EIO", SHIM_SYNC, EIO, false, FAILURE_TOLD},
    {"sync-EIO-lasting", SHIM_SYNC, EIO, true, FAILURE_TOLD},
    {"sync-ENOSPC", SHIM_SYNC, ENOSPC, false, FAILURE_TOLD},
    {"sync-EINTR", SHIM_SYNC, EINTR, false, FAILURE_ANY},
    ONCE(rename, SHIM_RENAME, EIO),
    LASTING(rename, SHIM_RENAME, ENOSPC),
    ONCE(rename, SHIM_RENAME, EINVAL), /* a disk that cannot exchange names */
    ONCE(unlink, SHIM_UNLINK, EIO),
    LASTING(unlink, SHIM_UNLINK, EACCES),
    ONCE(mkdir, SHIM_MKDIR, ENOSPC),
    LASTING(mkdir, SHIM_MKDIR, EACCES),
    ONCE(close, SHIM_CLOSE, EIO),
    LASTING(close, SHIM_CLOSE, ENOSPC),
    ONCE(close, SHIM_CLOSE, EINTR),
    ONCE(truncate, SHIM_TRUNCATE, EIO),
    ONCE(stat, SHIM_LOOK, EIO),
    LASTING(stat, SHIM_LOOK, EACCES),
    ONCE(list, SHIM_LIST, EIO),
    ONCE(lock, SHIM_LOCK, ENOLCK),
    ONCE(chance, SHIM_CHANCE, EINTR),
    LASTING(chance, SHIM_CHANCE, ENOSYS),
};

int main(int count, char **word) {
    static const struct sweep sweep = {failure, sizeof failure / sizeof *failure, NULL, 0};
    return sweep_main(&sweep, count, word);
}
