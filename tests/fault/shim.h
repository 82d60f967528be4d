/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fault/shim.h - what a driver and the library that it loads into the program agree on: one
 * page of shared memory, in which the driver writes what is to fail, and the library what it
 * counted.
 *
 * Calls to the system are caught where the kernel takes them (a seccomp filter that raises SIGSYS),
 * so that those made inside the C library count as well. Memory and threads are asked for by name,
 * and caught by name. What the dynamic loader does before the program begins is not counted. */
#pragma once

#include <stdatomic.h>
#include <stdint.h>

/* What can fail, by kinds. */
enum shim_kind {
    SHIM_NOTHING,
    SHIM_MEMORY,   /* malloc, calloc, realloc, and all that is made of them */
    SHIM_THREAD,   /* pthread_create */
    SHIM_OPEN,     /* open, openat, creat */
    SHIM_READ,     /* read and its kin */
    SHIM_WRITE,    /* write and its kin, but none to standard error: a message is to arrive */
    SHIM_SEEK,     /* lseek */
    SHIM_SYNC,     /* fsync, fdatasync */
    SHIM_RENAME,   /* rename, renameat, renameat2, link */
    SHIM_UNLINK,   /* unlink, unlinkat, rmdir */
    SHIM_MKDIR,    /* mkdir, mkdirat */
    SHIM_CLOSE,    /* close: the file is closed even where it fails, as Linux does */
    SHIM_TRUNCATE, /* ftruncate, truncate, fallocate */
    SHIM_LOOK,     /* stat, access, readlink, statfs */
    SHIM_LIST,     /* getdents: the names of a directory */
    SHIM_LOCK,     /* fcntl that sets a lock, flock */
    SHIM_CHANCE,   /* getrandom */
    SHIM_FILE,     /* any from SHIM_OPEN to SHIM_LOCK */
    SHIM_KINDS
};

/* How it fails, beside an errno, which is positive. */
enum {
    SHIM_SHORT = -1, /* a read or write of half the bytes, which succeeds */
    SHIM_KILL = -2,  /* SIGKILL in place of the call */
    SHIM_TORN = -3,  /* half the bytes are written, then SIGKILL */
    SHIM_STOP = -4   /* SIGTERM, and then the call as it is */
};

/* The page is the file open under this number in the program; where there is none, all passes. */
enum { SHIM_PAGE_FILE = 97 };

struct shim_page {
    int32_t kind;                      /* of enum shim_kind; SHIM_NOTHING: only count */
    int32_t how;                       /* an errno or one of the above */
    int32_t lasting;                   /* all calls from that one on fail, not that one alone */
    int64_t at;                        /* the number of the call that fails, from 1 */
    _Atomic int32_t loaded;            /* set by the library once it catches calls */
    _Atomic int64_t failed;            /* how many calls failed so far */
    _Atomic int64_t count[SHIM_KINDS]; /* how many there were of each kind */
};
