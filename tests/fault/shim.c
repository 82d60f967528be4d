/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fault/shim.c - loaded before the program (LD_PRELOAD): lets one call in it fail. */
#define _GNU_SOURCE /* gregs of a context, SYS_* of calls newer than POSIX */
#include "tests/fault/shim.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <pthread.h>
#include <signal.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <ucontext.h>
#include <unistd.h>

/* NULL until the program begins. */
static struct shim_page *page;

/* Counts a call. True when it is to fail. */
static bool fails(enum shim_kind kind) {
    if (page == NULL)
        return false;
    int64_t number = atomic_fetch_add(&page->count[kind], 1) + 1;
    if (page->kind != (int32_t)kind)
        return false;
    bool chosen = page->lasting ? number >= page->at : number == page->at;
    if (chosen)
        atomic_fetch_add(&page->failed, 1);
    return chosen;
}

/* ---- memory and threads ---- */

/* The C library's own, under the names that it gives to those who put theirs in front. */
void *__libc_malloc(size_t bytes);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t bytes);

static void *no_memory(void) {
    errno = ENOMEM;
    return NULL;
}

void *malloc(size_t bytes) { return fails(SHIM_MEMORY) ? no_memory() : __libc_malloc(bytes); }

void *calloc(size_t count, size_t size) {
    return fails(SHIM_MEMORY) ? no_memory() : __libc_calloc(count, size);
}

void *realloc(void *old, size_t bytes) {
    return fails(SHIM_MEMORY) ? no_memory() : __libc_realloc(old, bytes);
}

typedef int create_thread(pthread_t *thread, const pthread_attr_t *how, void *(*run)(void *),
                          void *self);
static create_thread *next_create;

int pthread_create(pthread_t *thread, const pthread_attr_t *how, void *(*run)(void *), void *self) {
    return fails(SHIM_THREAD) ? page->how : next_create(thread, how, run, self);
}

/* ---- calls to the system ---- */

#ifdef __x86_64__

/* A call that the filter lets through, because it is known by its address. */
long shim_call(long number, const long argument[6]);
extern const char shim_call_end[];
__asm__(".text\n"
        ".globl shim_call, shim_call_end\n"
        ".hidden shim_call, shim_call_end\n"
        "shim_call:\n"
        "    movq %rdi, %rax\n"
        "    movq %rsi, %r11\n"
        "    movq 0(%r11), %rdi\n"
        "    movq 8(%r11), %rsi\n"
        "    movq 16(%r11), %rdx\n"
        "    movq 24(%r11), %r10\n"
        "    movq 32(%r11), %r8\n"
        "    movq 40(%r11), %r9\n"
        "    syscall\n"
        "shim_call_end:\n"
        "    ret\n");

static const struct {
    int number;
    enum shim_kind kind;
} caught[] = {
    {SYS_open, SHIM_OPEN},         {SYS_openat, SHIM_OPEN},        {SYS_creat, SHIM_OPEN},
    {SYS_read, SHIM_READ},         {SYS_pread64, SHIM_READ},       {SYS_readv, SHIM_READ},
    {SYS_write, SHIM_WRITE},       {SYS_pwrite64, SHIM_WRITE},     {SYS_writev, SHIM_WRITE},
    {SYS_lseek, SHIM_SEEK},        {SYS_fsync, SHIM_SYNC},         {SYS_fdatasync, SHIM_SYNC},
    {SYS_rename, SHIM_RENAME},     {SYS_renameat, SHIM_RENAME},    {SYS_renameat2, SHIM_RENAME},
    {SYS_link, SHIM_RENAME},       {SYS_linkat, SHIM_RENAME},      {SYS_unlink, SHIM_UNLINK},
    {SYS_unlinkat, SHIM_UNLINK},   {SYS_rmdir, SHIM_UNLINK},       {SYS_mkdir, SHIM_MKDIR},
    {SYS_mkdirat, SHIM_MKDIR},     {SYS_close, SHIM_CLOSE},        {SYS_ftruncate, SHIM_TRUNCATE},
    {SYS_truncate, SHIM_TRUNCATE}, {SYS_fallocate, SHIM_TRUNCATE}, {SYS_stat, SHIM_LOOK},
    {SYS_fstat, SHIM_LOOK},        {SYS_lstat, SHIM_LOOK},         {SYS_newfstatat, SHIM_LOOK},
    {SYS_statx, SHIM_LOOK},        {SYS_access, SHIM_LOOK},        {SYS_faccessat, SHIM_LOOK},
    {SYS_faccessat2, SHIM_LOOK},   {SYS_readlink, SHIM_LOOK},      {SYS_readlinkat, SHIM_LOOK},
    {SYS_statfs, SHIM_LOOK},       {SYS_fstatfs, SHIM_LOOK},       {SYS_getdents64, SHIM_LIST},
    {SYS_fcntl, SHIM_LOCK},        {SYS_flock, SHIM_LOCK},         {SYS_getrandom, SHIM_CHANCE},
};
enum { CAUGHT = sizeof caught / sizeof *caught };

/* What a call counts as; SHIM_NOTHING where it is to pass uncounted. */
static enum shim_kind kind_of(long number, const long argument[6]) {
    enum shim_kind kind = SHIM_NOTHING;
    for (int i = 0; i < CAUGHT; i++)
        if (caught[i].number == number)
            kind = caught[i].kind;
    bool locks = argument[1] == F_SETLK || argument[1] == F_SETLKW;
    if ((kind == SHIM_WRITE && argument[0] == STDERR_FILENO) || (number == SYS_fcntl && !locks))
        return SHIM_NOTHING;
    return kind;
}

static void send_oneself(int signal) { shim_call(SYS_kill, (const long[6]){getpid(), signal}); }

static _Noreturn void kill_oneself(void) {
    for (;;)
        send_oneself(SIGKILL);
}

/* Reads or writes half of what was asked for, but one byte at least. */
static long do_half(long number, const long argument[6]) {
    long half[6] = {argument[0], argument[1], (argument[2] + 1) / 2, argument[3]};
    bool has_length = number != SYS_readv && number != SYS_writev;
    return shim_call(number, has_length ? half : argument);
}

/* What a call that is chosen to fail gives, as the kernel would: a negative errno. */
static long fail(long number, const long argument[6]) {
    if (page->how == SHIM_KILL)
        kill_oneself();
    if (page->how == SHIM_STOP) {
        send_oneself(SIGTERM);
        return shim_call(number, argument);
    }
    if (page->how == SHIM_SHORT || page->how == SHIM_TORN) {
        long done = do_half(number, argument);
        if (page->how == SHIM_TORN)
            kill_oneself();
        return done;
    }
    if (number == SYS_close)
        shim_call(number, argument);
    return -page->how;
}

static long do_call(long number, const long argument[6]) {
    enum shim_kind kind = kind_of(number, argument);
    if (kind == SHIM_NOTHING)
        return shim_call(number, argument);
    bool failed = fails(kind);
    if (kind != SHIM_CHANCE)
        failed |= fails(SHIM_FILE);
    return failed ? fail(number, argument) : shim_call(number, argument);
}

/* In place of a call that was caught: makes it, or not, and hands its result to the caller. */
static void stand_in(int signal, siginfo_t *what, void *where) {
    (void)signal;
    greg_t *place = ((ucontext_t *)where)->uc_mcontext.gregs;
    const long argument[6] = {place[REG_RDI], place[REG_RSI], place[REG_RDX],
                              place[REG_R10], place[REG_R8],  place[REG_R9]};
    place[REG_RAX] = do_call(what->si_syscall, argument);
}

/* ---- the filter ---- */

#define FIELD(name) ((unsigned)offsetof(struct seccomp_data, name))
#define LOAD(offset) BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offset)
#define SKIP_UNLESS(value, skipped) BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, value, 0, skipped)
#define RETURN(value) BPF_STMT(BPF_RET | BPF_K, value)

/* Raises SIGSYS for each call of the table, unless it comes from shim_call. */
static bool set_filter(void) {
    uintptr_t own = (uintptr_t)shim_call_end;
    struct sock_filter step[5 + 1 + 2 * CAUGHT + 1] = {
        LOAD(FIELD(instruction_pointer)),
        SKIP_UNLESS((uint32_t)own, 3),
        LOAD(FIELD(instruction_pointer) + 4),
        SKIP_UNLESS((uint32_t)(own >> 32), 1),
        RETURN(SECCOMP_RET_ALLOW),
        LOAD(FIELD(nr)),
    };
    unsigned short count = 6;
    for (int i = 0; i < CAUGHT; i++) {
        step[count++] = (struct sock_filter)SKIP_UNLESS((uint32_t)caught[i].number, 1);
        step[count++] = (struct sock_filter)RETURN(SECCOMP_RET_TRAP);
    }
    step[count++] = (struct sock_filter)RETURN(SECCOMP_RET_ALLOW);
    struct sock_fprog filter = {count, step};
    return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
           prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &filter) == 0;
}

static bool catch_calls(void) {
    struct sigaction action = {.sa_sigaction = stand_in, .sa_flags = SA_SIGINFO | SA_NODEFER};
    return sigaction(SIGSYS, &action, NULL) == 0 && set_filter();
}

#else

/* The registers of a call are known here for x86-64 alone. */
static bool catch_calls(void) { return false; }
#endif

/* ---- the beginning ---- */

/* Runs before main. Where something is not to be had, `loaded` stays 0 and the driver says so. */
__attribute__((constructor)) static void begin(void) {
    void *shared = mmap(NULL, sizeof *page, PROT_READ | PROT_WRITE, MAP_SHARED, SHIM_PAGE_FILE, 0);
    if (shared == MAP_FAILED)
        return;
    close(SHIM_PAGE_FILE);
    *(void **)&next_create = dlsym(RTLD_NEXT, "pthread_create");
    if (!catch_calls())
        return;
    page = shared;
    page->loaded = 1;
}
