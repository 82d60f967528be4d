/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_sealed_file.c - sealed files with every kind of damage that a wrong byte or a
 * failing disk can do. */
#define _DEFAULT_SOURCE /* syscall(), P_tmpdir */
#include "sim/sealed_file.h"

#include <check.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "sim/random.h"
#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

/* ---- a directory of the test's own ---- */

static char directory[64], path[96];

static void make_directory(void) {
    snprintf(directory, sizeof directory, P_tmpdir "/test_seal.XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(directory));
    snprintf(path, sizeof path, "%s/one.capsule", directory);
}

/* Removes what writers that were killed left beside the file, and returns how much that was. */
static int clear_leftovers(void) {
    char name[sizeof directory + 2 * NAME_MAX];
    int count = 0;
    DIR *names = opendir(directory);
    ck_assert_ptr_nonnull(names);
    for (const struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        if (strstr(entry->d_name, ".partial") == NULL)
            continue;
        snprintf(name, sizeof name, "%s/%s", directory, entry->d_name);
        ck_assert_int_eq(unlink(name), 0);
        count++;
    }
    closedir(names);
    return count;
}

static void remove_directory(void) {
    unlink(path);
    ck_assert_int_eq(rmdir(directory), 0); /* nothing else may be left in it */
}

/* In place: a file cut to nothing and written anew is flushed to the disk by some file systems. */
static void write_plainly(const void *data, size_t length) {
    int file = open(path, O_WRONLY | O_CREAT, 0600);
    ck_assert_int_ge(file, 0);
    ck_assert_int_eq(write(file, data, length), (ssize_t)length);
    ck_assert_int_eq(ftruncate(file, (off_t)length), 0);
    ck_assert_int_eq(close(file), 0);
}

static size_t read_plainly(unsigned char *data, size_t room) {
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    size_t length = fread(data, 1, room, file);
    fclose(file);
    return length;
}

/* ---- asking and being refused ---- */

/* PATH has to be refused with one error that names it and holds `word`; nothing is handed out. */
static void assert_refused_as(const char *kind, uint64_t version, const char *word) {
    struct faults faults = {0};
    void *data = &faults;
    size_t length = 77;
    ck_assert(!sealed_read(path, kind, version, &data, &length, &faults));
    ck_assert(data == &faults && length == 77);
    ck_assert_uint_eq(faults.error_count, 1);
    ck_assert_str_eq(faults.fault[0].source, path);
    ck_assert_msg(strstr(faults.fault[0].what, word) != NULL, "\"%s\" does not say \"%s\"",
                  faults.fault[0].what, word);
    faults_free(&faults);
}

static void assert_refused(const char *word) { assert_refused_as("capsule", 3, word); }

static void assert_reads(const void *wanted, size_t wanted_length) {
    struct faults faults = {0};
    void *data = NULL;
    size_t length = 0;
    ck_assert(sealed_read(path, "capsule", 3, &data, &length, &faults));
    ck_assert_uint_eq(faults.count, 0);
    ck_assert_uint_eq(length, wanted_length);
    ck_assert_mem_eq(data, wanted, wanted_length);
    free(data);
}

static void write_sealed(const void *data, size_t length) {
    struct faults faults = {0};
    ck_assert(sealed_write(path, "capsule", 3, data, length, &faults));
    ck_assert_uint_eq(faults.count, 0);
    ck_assert_int_eq(clear_leftovers(), 0);
}

/* False when refused, with one error about PATH that holds `word`. */
static void assert_write_fails(const void *data, size_t length, const char *word) {
    struct faults faults = {0};
    ck_assert(!sealed_write(path, "capsule", 3, data, length, &faults));
    ck_assert_uint_eq(faults.error_count, 1);
    ck_assert_str_eq(faults.fault[0].source, path);
    ck_assert_msg(strstr(faults.fault[0].what, word) != NULL, "\"%s\" does not say \"%s\"",
                  faults.fault[0].what, word);
    faults_free(&faults);
}

/* ---- the format ---- */

START_TEST(checksum_is_crc_64_xz) {
    /* The check value of CRC-64/XZ; the .xz file format, version 1.0.4, section 6. */
    ck_assert_uint_eq(sealed_checksum(0, "123456789", 9), UINT64_C(0x995dc9bbdf1939fa));
    ck_assert_uint_eq(sealed_checksum(sealed_checksum(0, "1234", 4), "56789", 5),
                      UINT64_C(0x995dc9bbdf1939fa));
    ck_assert_uint_eq(sealed_checksum(0, "", 0), 0);
}
END_TEST

/* What this program wrote once, it has to read for ever. The checksum was computed by a bit-by-bit
 * program of four lines in another language. */
static const unsigned char old_file[] = {
    'L',  'W',  's',  'e',  'a',  'l',  '1', '\n', 'c', 'a', 'p', 's', 'u', 'l', 'e', 0,    3,
    0,    0,    0,    0,    0,    0,    0,   9,    0,   0,   0,   0,   0,   0,   0,   0xa5, 0x81,
    0x0d, 0x33, 0x4f, 0xf6, 0x3e, 0xc8, '1', '2',  '3', '4', '5', '6', '7', '8', '9'};

START_TEST(format_is_the_one_described) {
    write_plainly(old_file, sizeof old_file);
    assert_reads("123456789", 9);
    write_sealed("123456789", 9);
    unsigned char found[sizeof old_file + 1];
    ck_assert_uint_eq(read_plainly(found, sizeof found), sizeof old_file);
    ck_assert_mem_eq(found, old_file, sizeof old_file);
}
END_TEST

START_TEST(any_length_comes_back) {
    static unsigned char data[300000];
    struct random_stream chance;
    random_start(&chance, 1, "seal", "bytes");
    for (size_t i = 0; i < sizeof data; i++)
        data[i] = (unsigned char)random_below(&chance, 256);
    static const size_t length[] = {0, 1, 7, 8, 9, 4095, 4096, 4097, 65536, 300000};
    for (size_t i = 0; i < LENGTH(length); i++) {
        write_sealed(data, length[i]);
        assert_reads(data, length[i]);
    }
    write_sealed(NULL, 0);
    assert_reads("", 0);
}
END_TEST

START_TEST(file_has_the_usual_rights) {
    umask(022);
    write_sealed("x", 1);
    struct stat status;
    ck_assert_int_eq(stat(path, &status), 0);
    ck_assert_uint_eq(status.st_mode & 0777, 0644);
}
END_TEST

/* ---- harm ---- */

enum { PAYLOAD = 61, WHOLE = SEALED_HEADER_BYTES + PAYLOAD };

static void make_victim(unsigned char *whole) {
    unsigned char payload[PAYLOAD];
    for (int i = 0; i < PAYLOAD; i++)
        payload[i] = (unsigned char)(i * 37);
    write_sealed(payload, sizeof payload);
    ck_assert_uint_eq(read_plainly(whole, WHOLE), WHOLE);
}

START_TEST(every_changed_byte_is_refused) {
    unsigned char whole[WHOLE];
    make_victim(whole);
    for (size_t at = 0; at < WHOLE; at++)
        for (unsigned change = 1; change < 256; change++) {
            unsigned char byte = whole[at];
            whole[at] = (unsigned char)(byte ^ change);
            write_plainly(whole, WHOLE);
            assert_refused("");
            whole[at] = byte;
        }
    write_plainly(whole, WHOLE);
    assert_reads(whole + SEALED_HEADER_BYTES, PAYLOAD);
}
END_TEST

START_TEST(every_swap_of_two_bytes_is_refused) {
    unsigned char whole[WHOLE];
    make_victim(whole);
    for (size_t a = 0; a < WHOLE; a++)
        for (size_t b = a + 1; b < WHOLE; b++) {
            unsigned char byte = whole[a];
            if (byte == whole[b])
                continue;
            whole[a] = whole[b];
            whole[b] = byte;
            write_plainly(whole, WHOLE);
            assert_refused("");
            whole[b] = whole[a];
            whole[a] = byte;
        }
}
END_TEST

START_TEST(every_truncation_is_refused) {
    unsigned char whole[WHOLE];
    make_victim(whole);
    for (size_t length = 0; length < WHOLE; length++) {
        write_plainly(whole, length);
        assert_refused(length == 0 ? "not a capsule" : "cut short");
    }
}
END_TEST

START_TEST(added_bytes_are_refused) {
    unsigned char twice[2 * WHOLE];
    make_victim(twice);
    memcpy(twice + WHOLE, twice, WHOLE);
    for (size_t added = 1; added <= WHOLE; added++) {
        write_plainly(twice, WHOLE + added);
        assert_refused("too many");
    }
}
END_TEST

START_TEST(a_length_beyond_all_memory_is_refused) {
    unsigned char whole[WHOLE];
    make_victim(whole);
    memset(whole + 24, 0xff, 8);
    write_plainly(whole, WHOLE);
    assert_refused("cut short");
}
END_TEST

START_TEST(damage_says_that_it_is_damage) {
    unsigned char whole[WHOLE];
    make_victim(whole);
    static const struct {
        size_t at;
        const char *word;
    } row[] = {{0, "not a capsule"}, {7, "not a capsule"},    {8, "checksum"},
               {16, "checksum"},     {24, "bytes"},           {32, "checksum"},
               {39, "checksum"},     {WHOLE - 1, "checksum"}, {SEALED_HEADER_BYTES, "checksum"}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        whole[row[i].at] ^= 1;
        write_plainly(whole, WHOLE);
        assert_refused(row[i].word);
        whole[row[i].at] ^= 1;
    }
}
END_TEST

START_TEST(other_kinds_and_versions_are_refused) {
    write_sealed("abc", 3);
    assert_reads("abc", 3);
    assert_refused_as("capsule", 4, "format 3, and this program reads format 4");
    assert_refused_as("capsule", 2, "format 3");
    assert_refused_as("capsule", 3 + (UINT64_C(1) << 32), "format 3");
    assert_refused_as("shard", 3, "not a shard but another file");
    assert_refused_as("capsul", 3, "not a capsul but");
    assert_refused_as("capsules", 3, "not a capsules but");
}
END_TEST

START_TEST(what_is_no_file_of_ours_is_refused) {
    static const char text[] = "title: Music-box movements on one loop\nrun: {for: 1 h}\n";
    write_plainly(text, sizeof text - 1);
    assert_refused("not a capsule");
    unlink(path);
    assert_refused("cannot be read: No such file");
    ck_assert_int_eq(mkfifo(path, 0600), 0);
    assert_refused("not a file");
    unlink(path);
    ck_assert_int_eq(mkdir(path, 0700), 0);
    assert_refused("not a file");
    ck_assert_int_eq(rmdir(path), 0);
}
END_TEST

START_TEST(no_descriptor_is_left_open) {
    unsigned char whole[WHOLE];
    int before = open("/dev/null", O_RDONLY);
    close(before);
    make_victim(whole);
    assert_reads(whole + SEALED_HEADER_BYTES, PAYLOAD);
    write_plainly(whole, WHOLE - 1);
    assert_refused("cut short");
    unlink(path);
    assert_refused("cannot be read");
    ck_assert_int_eq(mkdir(path, 0700), 0);
    assert_write_fails("x", 1, "cannot be written");
    ck_assert_int_eq(rmdir(path), 0);
    int after = open("/dev/null", O_RDONLY);
    close(after);
    ck_assert_int_eq(after, before);
}
END_TEST

/* ---- disks ---- */

/* Writes from a process that may not make files of more than `room` bytes (one apart, because the
 * test's own messages are files too): 0 written, 1 refused with the right words, 2 other words. */
static int write_within(rlim_t room, const void *data, size_t length, const char *note) {
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        struct faults faults = {0};
        signal(SIGXFSZ, SIG_IGN);
        setrlimit(RLIMIT_FSIZE, &(struct rlimit){room, room});
        if (sealed_write(path, "capsule", 3, data, length, &faults))
            _exit(0);
        _exit(strcmp(faults.fault[0].what, "cannot be written: File too large") == 0 &&
                      strcmp(faults.fault[0].note, note) == 0
                  ? 1
                  : 2);
    }
    int status;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status));
    return WEXITSTATUS(status);
}

START_TEST(full_disk_keeps_the_old_file) {
    static unsigned char data[200];
    enum { FULL = SEALED_HEADER_BYTES + sizeof data };
    write_sealed("old", 3);
    for (rlim_t room = 0; room < FULL; room++) {
        ck_assert_int_eq(write_within(room, data, sizeof data, "it takes 240 bytes"), 1);
        ck_assert_int_eq(clear_leftovers(), 0);
        assert_reads("old", 3);
    }
    ck_assert_int_eq(write_within(FULL, data, sizeof data, ""), 0);
    assert_reads(data, sizeof data);
}
END_TEST

START_TEST(no_place_to_write_is_a_fault) {
    char good[sizeof path];
    memcpy(good, path, sizeof path);
    snprintf(path, sizeof path, "%s/none/one.capsule", directory);
    assert_write_fails("x", 1, "cannot be written: No such file or directory");
    snprintf(path, sizeof path, "/dev/null/one.capsule");
    assert_write_fails("x", 1, "cannot be written: Not a directory");
    memcpy(path, good, sizeof path);
    ck_assert_int_eq(mkdir(path, 0700), 0); /* the file is written, the renaming fails */
    assert_write_fails("x", 1, "cannot be written: Is a directory");
    ck_assert_int_eq(clear_leftovers(), 0);
    ck_assert_int_eq(rmdir(path), 0);
}
END_TEST

/* A superuser may write anywhere: the test becomes somebody else for a while. */
START_TEST(unwritable_directory_is_a_fault) {
    write_sealed("old", 3);
    ck_assert_int_eq(chmod(directory, 0555), 0);
    uid_t user = geteuid();
    if (user == 0)
        ck_assert_int_eq(seteuid(65534), 0);
    assert_write_fails("new", 3, "cannot be written: Permission denied");
    assert_reads("old", 3);
    if (user == 0)
        ck_assert_int_eq(seteuid(user), 0);
    ck_assert_int_eq(chmod(directory, 0755), 0);
}
END_TEST

START_TEST(path_without_a_directory_is_in_this_one) {
    char home[256];
    ck_assert_ptr_nonnull(getcwd(home, sizeof home));
    ck_assert_int_eq(chdir(directory), 0);
    struct faults faults = {0};
    ck_assert(sealed_write("one.capsule", "capsule", 3, "here", 4, &faults));
    ck_assert_int_eq(chdir(home), 0);
    assert_reads("here", 4);
}
END_TEST

START_TEST(replaced_file_holds_just_its_bytes) {
    struct faults faults = {0};
    unsigned char found[16];
    ck_assert(sealed_replace_file(path, "run,seed\n", 9, &faults));
    ck_assert_uint_eq(read_plainly(found, sizeof found), 9);
    ck_assert_mem_eq(found, "run,seed\n", 9);
    ck_assert(sealed_replace_file(path, "", 0, &faults));
    ck_assert_uint_eq(read_plainly(found, sizeof found), 0);
    ck_assert_int_eq(clear_leftovers(), 0);
    ck_assert_uint_eq(faults.count, 0);
}
END_TEST

/* A name that can be foreseen could be somebody's file, or a link to one. */
START_TEST(nobodys_file_beside_it_is_touched) {
    char beside[sizeof path + sizeof ".partial"], other[sizeof path + sizeof ".other"];
    snprintf(beside, sizeof beside, "%s.partial", path);
    snprintf(other, sizeof other, "%s.other", path);
    FILE *file = fopen(other, "w");
    ck_assert_ptr_nonnull(file);
    fputs("mine", file);
    fclose(file);
    ck_assert_int_eq(symlink(other, beside), 0);
    struct faults faults = {0};
    ck_assert(sealed_write(path, "capsule", 3, "new", 3, &faults));
    assert_reads("new", 3);
    struct stat status;
    ck_assert_int_eq(stat(other, &status), 0);
    ck_assert_int_eq(status.st_size, 4);
    ck_assert_int_eq(unlink(beside), 0);
    ck_assert_int_eq(unlink(other), 0);
}
END_TEST

/* ---- every call to the system ---- */

/* The calls that seal.c makes are seen here on their way to the system: each adds its letter to the
 * trace, and one of them, or all from it on, can be made to fail, or to do only half. */
enum { NOBODY = -1, HALF = -2 };
static struct spy {
    int victim, error;
    bool lasting, on;
    int calls;
    char trace[64];
} spy;

static void spy_on(int victim, int error, bool lasting) {
    spy = (struct spy){.victim = victim, .error = error, .lasting = lasting, .on = true};
}

/* True when this call is to fail; errno is set. */
static bool spy_call(char letter) {
    if (!spy.on)
        return false;
    int call = spy.calls++;
    spy.trace[call % ((int)sizeof spy.trace - 1)] = letter;
    bool hit = call == spy.victim || (spy.lasting && call > spy.victim);
    if (hit)
        errno = spy.error;
    return hit;
}

static char file_letter(int file, char of_file, char of_directory) {
    struct stat status;
    return fstat(file, &status) == 0 && S_ISDIR(status.st_mode) ? of_directory : of_file;
}

ssize_t write(int file, const void *data, size_t length) {
    if (!spy_call('w'))
        return syscall(SYS_write, file, data, length);
    return spy.error == HALF ? syscall(SYS_write, file, data, (length + 1) / 2) : -1;
}

ssize_t read(int file, void *data, size_t length) {
    if (!spy_call('R'))
        return syscall(SYS_read, file, data, length);
    return spy.error == HALF ? syscall(SYS_read, file, data, (length + 1) / 2) : -1;
}

int fsync(int file) {
    return spy_call(file_letter(file, 'f', 'd')) ? -1 : (int)syscall(SYS_fsync, file);
}

/* The descriptor is gone even where closing fails: close(2). */
int close(int file) {
    bool fails = spy_call(file_letter(file, 'c', 'k'));
    int error = errno;
    int closed = (int)syscall(SYS_close, file);
    if (fails)
        errno = error;
    return fails ? -1 : closed;
}

int rename(const char *from, const char *to) {
    return spy_call('r') ? -1 : (int)syscall(SYS_renameat, AT_FDCWD, from, AT_FDCWD, to);
}

/* Header, bytes, sync, close, rename, sync of the directory, close. */
static const char right_order[] = "wwfcrdk";

START_TEST(calls_are_made_in_the_safe_order) {
    struct faults faults = {0};
    spy_on(NOBODY, 0, false);
    bool written = sealed_write(path, "capsule", 3, "new", 3, &faults);
    spy.on = false;
    ck_assert(written);
    ck_assert_str_eq(spy.trace, right_order);
}
END_TEST

/* An interrupted call is made again, and an error in closing a directory harms nobody; every other
 * failure is a fault. */
static bool is_harmless(char letter, int error) {
    return error == HALF || letter == 'k' || (error == EINTR && letter != 'r');
}

static void write_with_failure(int victim, int error, bool lasting) {
    write_sealed("old", 3);
    struct faults faults = {0};
    spy_on(victim, error, lasting);
    bool written = sealed_write(path, "capsule", 3, "newer", 5, &faults);
    spy.on = false;
    char letter = right_order[victim];
    bool harmless = is_harmless(letter, error);
    ck_assert_msg(written == harmless, "call %c, error %d", letter, error);
    ck_assert_uint_eq(faults.error_count, harmless ? 0 : 1);
    ck_assert_int_eq(clear_leftovers(), 0);
    bool renamed = harmless || letter == 'd';
    assert_reads(renamed ? "newer" : "old", renamed ? 5 : 3);
    faults_free(&faults);
}

START_TEST(every_failing_call_leaves_a_whole_file) {
    for (int victim = 0; victim < (int)strlen(right_order); victim++) {
        if (right_order[victim] == 'w')
            write_with_failure(victim, HALF, false);
        write_with_failure(victim, EINTR, false);
        for (int lasting = 0; lasting < 2; lasting++) {
            write_with_failure(victim, EIO, lasting);
            write_with_failure(victim, ENOSPC, lasting);
        }
    }
}
END_TEST

/* Where a disk, a quota or what a process may write is full, it is said how much room it takes; not
 * where something else fails. What is full may show at the write or not before the sync. */
START_TEST(a_full_disk_is_told_from_other_errors) {
    static const struct {
        int error;
        const char *note;
    } row[] = {{ENOSPC, "it takes 45 bytes"},
               {EDQUOT, "it takes 45 bytes"},
               {EFBIG, "it takes 45 bytes"},
               {EIO, NULL},
               {EROFS, NULL}};
    for (int victim = 0; right_order[victim] != 'c'; victim++) {
        struct faults faults = {0};
        spy_on(victim, row[_i].error, false);
        bool written = sealed_write(path, "capsule", 3, "newer", 5, &faults);
        spy.on = false;
        ck_assert(!written);
        ck_assert_pstr_eq(faults.fault[0].note, row[_i].note);
        faults_free(&faults);
    }
}
END_TEST

static void assert_reads_spied(int victim, int error) {
    spy_on(victim, error, false);
    assert_reads("123456789", 9);
    spy.on = false;
}

static void assert_refused_spied(int victim, int error) {
    spy_on(victim, error, false);
    assert_refused("cannot be read: Input/output error");
    spy.on = false;
}

START_TEST(every_failing_read_is_refused) {
    write_sealed("123456789", 9);
    assert_reads_spied(NOBODY, 0);
    ck_assert_str_eq(spy.trace, "RRc"); /* header, bytes, close */
    for (int victim = 0; victim < 2; victim++) {
        assert_reads_spied(victim, HALF);
        assert_reads_spied(victim, EINTR);
        assert_refused_spied(victim, EIO);
    }
}
END_TEST

/* ---- kill -9 ---- */

/* Round n: a count of n and some thousands of bytes that follow from it, so that a mixture of two
 * rounds would show even where no checksum did. */
static size_t make_round(unsigned char *data, uint64_t round) {
    size_t length = 8 + (size_t)(round * 7919 % 50000);
    memcpy(data, &round, 8);
    for (size_t i = 8; i < length; i++)
        data[i] = (unsigned char)(round + i);
    return length;
}

/* Writes a byte to the pipe before each round. */
static _Noreturn void write_rounds(uint64_t first, int pipe_end) {
    static unsigned char data[50008];
    struct faults faults = {0};
    for (uint64_t round = first;; round++)
        if (write(pipe_end, "x", 1) != 1 ||
            !sealed_write(path, "capsule", 3, data, make_round(data, round), &faults))
            _exit(1);
}

/* Starts a writer, waits until it is in the first or the second round, and some moments, and kills
 * it. */
static void write_and_kill(uint64_t first, struct random_stream *chance) {
    int ends[2], status;
    char byte;
    ck_assert_int_eq(pipe(ends), 0);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0)
        write_rounds(first, ends[1]);
    close(ends[1]);
    for (uint32_t rounds = 1 + random_below(chance, 2); rounds > 0; rounds--)
        ck_assert_int_eq(read(ends[0], &byte, 1), 1);
    nanosleep(&(struct timespec){0, (long)random_below(chance, 3000000)}, NULL);
    ck_assert_int_eq(kill(child, SIGKILL), 0);
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFSIGNALED(status));
    close(ends[0]);
}

/* The round that the file holds, whole. */
static uint64_t read_round(void) {
    static unsigned char wanted[50008];
    struct faults faults = {0};
    void *data = NULL;
    size_t length = 0;
    uint64_t round;
    ck_assert_msg(sealed_read(path, "capsule", 3, &data, &length, &faults), "%s",
                  faults.count > 0 ? faults.fault[0].what : "");
    memcpy(&round, data, 8);
    ck_assert_uint_eq(length, make_round(wanted, round));
    ck_assert_mem_eq(data, wanted, length);
    free(data);
    return round;
}

START_TEST(kill_leaves_the_old_file_or_the_new_one) {
    enum { KILLS = 200, MET = 20 };
    static unsigned char data[50008];
    struct random_stream chance;
    random_start(&chance, 1, "seal", "kills");
    write_sealed(data, make_round(data, 1));
    int interrupted = 0;
    uint64_t last = 1;
    /* Until enough kills have met a writer at work, and enough writers have come to an end. */
    for (int kills = 0; kills < KILLS || interrupted < MET || last < MET; kills++) {
        write_and_kill(last + 1, &chance);
        interrupted += clear_leftovers();
        uint64_t round = read_round();
        ck_assert_uint_ge(round, last);
        last = round;
    }
}
END_TEST

static Suite *sealed_suite(void) {
    Suite *suite = suite_begin("seal");
    TCase *files = tcase_create("files");
    tcase_add_checked_fixture(files, make_directory, remove_directory);
    tcase_add_test(files, checksum_is_crc_64_xz);
    tcase_add_test(files, format_is_the_one_described);
    tcase_add_test(files, any_length_comes_back);
    tcase_add_test(files, file_has_the_usual_rights);
    tcase_add_test(files, every_changed_byte_is_refused);
    tcase_add_test(files, every_swap_of_two_bytes_is_refused);
    tcase_add_test(files, every_truncation_is_refused);
    tcase_add_test(files, added_bytes_are_refused);
    tcase_add_test(files, a_length_beyond_all_memory_is_refused);
    tcase_add_test(files, damage_says_that_it_is_damage);
    tcase_add_test(files, other_kinds_and_versions_are_refused);
    tcase_add_test(files, what_is_no_file_of_ours_is_refused);
    tcase_add_test(files, no_descriptor_is_left_open);
    tcase_add_test(files, full_disk_keeps_the_old_file);
    tcase_add_test(files, no_place_to_write_is_a_fault);
    tcase_add_test(files, unwritable_directory_is_a_fault);
    tcase_add_test(files, path_without_a_directory_is_in_this_one);
    tcase_add_test(files, replaced_file_holds_just_its_bytes);
    tcase_add_test(files, nobodys_file_beside_it_is_touched);
    tcase_add_test(files, calls_are_made_in_the_safe_order);
    tcase_add_test(files, every_failing_call_leaves_a_whole_file);
    tcase_add_loop_test(files, a_full_disk_is_told_from_other_errors, 0, 5);
    tcase_add_test(files, every_failing_read_is_refused);
    tcase_add_test(files, kill_leaves_the_old_file_or_the_new_one);
    suite_add_tcase(suite, files);
    return suite;
}

int main(void) { return suite_end(sealed_suite()); }
