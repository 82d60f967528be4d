/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_output.c - a file that the user named is whole or as it was, and no file of
 * anybody else is overwritten. */
#include <check.h>
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tools/base/output.h"

enum { TEXT_BYTES = 512, LONG_BYTES = 200000 };

static char place[TEXT_BYTES];

static void make_place(void) {
    strcpy(place, "/tmp/test_output_XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(place));
    ck_assert_int_eq(chdir(place), 0);
    int quiet = open("/dev/null", O_WRONLY);
    dup2(quiet, STDERR_FILENO);
    close(quiet);
}

static void remove_place(void) {
    DIR *names = opendir(place);
    ck_assert_ptr_nonnull(names);
    for (struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names))
        if (entry->d_name[0] != '.' && unlinkat(dirfd(names), entry->d_name, 0) != 0)
            unlinkat(dirfd(names), entry->d_name, AT_REMOVEDIR);
    closedir(names);
    ck_assert_int_eq(rmdir(place), 0);
}

static int names_here(void) {
    int count = -2;
    DIR *names = opendir(".");
    ck_assert_ptr_nonnull(names);
    while (readdir(names) != NULL)
        count++;
    closedir(names);
    return count;
}

static void put_file(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

/* The bytes of a file, to its end; good until the next call. */
static const char *text_of(const char *path) {
    static char found[TEXT_BYTES];
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "%s is missing", path);
    found[fread(found, 1, sizeof found - 1, file)] = '\0';
    fclose(file);
    return found;
}

static bool begins(const char *path, const char *text) {
    return strncmp(text_of(path), text, strlen(text)) == 0;
}

static bool write_plainly(const char *path, const char *text) {
    return output_write(path, OUTPUT_YAML, false, text);
}

START_TEST(a_new_file_is_whole_and_alone) {
    ck_assert(write_plainly("a.yaml", "title: one\n"));
    ck_assert(
        begins("a.yaml", "title: one\n# Written by loopwright; checksum of all before this "));
    ck_assert_int_eq(names_here(), 1);
}
END_TEST

START_TEST(a_last_line_without_an_end_gets_one) {
    ck_assert(write_plainly("a.yaml", "title: one"));
    ck_assert(begins("a.yaml", "title: one\n# "));
}
END_TEST

/* In each form of comment, and over many buffers. */
START_TEST(what_this_program_wrote_is_replaced) {
    char *text = malloc(LONG_BYTES + 1);
    memset(text, 'a', LONG_BYTES);
    text[LONG_BYTES] = '\0';
    for (int form = 0; form < OUTPUT_FORMS; form++) {
        ck_assert(output_write("a", (enum output_form)form, false, text));
        ck_assert(output_may_write("a", false));
    }
    free(text);
    ck_assert(write_plainly("a", "new\n"));
    ck_assert(begins("a", "new\n"));
    ck_assert_int_eq(names_here(), 1);
}
END_TEST

START_TEST(a_file_of_somebody_else_is_kept) {
    put_file("a.yaml", "title: mine\n");
    ck_assert(!output_may_write("a.yaml", false));
    ck_assert(!write_plainly("a.yaml", "title: one\n"));
    ck_assert_str_eq(text_of("a.yaml"), "title: mine\n");
    ck_assert_int_eq(names_here(), 1);
    ck_assert(output_write("a.yaml", OUTPUT_YAML, true, "title: one\n"));
    ck_assert(begins("a.yaml", "title: one\n"));
}
END_TEST

/* One byte changed, one added, one taken away, anywhere. */
START_TEST(a_file_that_was_changed_is_kept) {
    static const char *const changed[] = {"title: two\n", "title: one\n\n", "title: on\n", ""};
    ck_assert(write_plainly("a.yaml", "title: one\n"));
    char mark[TEXT_BYTES];
    strcpy(mark, text_of("a.yaml") + strlen("title: one\n"));
    for (size_t i = 0; i < sizeof changed / sizeof *changed; i++) {
        char text[2 * TEXT_BYTES];
        snprintf(text, sizeof text, "%s%s", changed[i], mark);
        put_file("a.yaml", text);
        ck_assert_msg(!write_plainly("a.yaml", "title: one\n"), "%s", text);
        ck_assert_str_eq(text_of("a.yaml"), text);
    }
    put_file("a.yaml", mark + 1);
    ck_assert(!write_plainly("a.yaml", "title: one\n"));
}
END_TEST

/* A long work is not begun for a file that cannot be made; asking leaves nothing. */
START_TEST(a_place_is_tried_before_the_work) {
    ck_assert(output_may_write("a.yaml", false));
    ck_assert(!output_may_write("nowhere/a.yaml", false));
    ck_assert(!output_may_write("/proc/a.yaml", false)); /* takes no files, from root neither */
    ck_assert_int_eq(names_here(), 0);
}
END_TEST

START_TEST(an_empty_file_is_filled_and_keeps_its_permissions) {
    struct stat status;
    put_file("a.yaml", "");
    ck_assert_int_eq(chmod("a.yaml", 0640), 0);
    ck_assert(write_plainly("a.yaml", "title: one\n"));
    ck_assert_int_eq(stat("a.yaml", &status), 0);
    ck_assert_int_eq(status.st_mode & 0777, 0640);
}
END_TEST

/* PATH.partial was the name of the new file once. */
START_TEST(a_partial_file_of_somebody_else_is_kept) {
    put_file("a.yaml.partial", "mine\n");
    ck_assert_int_eq(symlink("a.yaml.partial", "b.yaml.partial"), 0);
    ck_assert(write_plainly("a.yaml", "title: one\n"));
    ck_assert(write_plainly("b.yaml", "title: one\n"));
    ck_assert_str_eq(text_of("a.yaml.partial"), "mine\n");
    ck_assert_int_eq(names_here(), 4);
}
END_TEST

START_TEST(a_device_stays_one) {
    struct stat status;
    ck_assert_int_eq(symlink("/dev/null", "sink"), 0);
    ck_assert(output_may_write("sink", false));
    ck_assert(write_plainly("sink", "title: one\n"));
    ck_assert_int_eq(lstat("sink", &status), 0);
    ck_assert(S_ISLNK(status.st_mode));
    ck_assert_int_eq(stat("sink", &status), 0);
    ck_assert(S_ISCHR(status.st_mode));
    ck_assert_int_eq(names_here(), 1);
}
END_TEST

START_TEST(a_full_device_is_an_error) {
    ck_assert_int_eq(symlink("/dev/full", "sink"), 0);
    ck_assert(!write_plainly("sink", "title: one\n"));
}
END_TEST

START_TEST(a_fifo_is_written_into) {
    struct stat status;
    ck_assert_int_eq(mkfifo("pipe", 0600), 0);
    pid_t child = fork();
    if (child == 0)
        _exit(write_plainly("pipe", "title: one\n") ? 0 : 1);
    char found[TEXT_BYTES] = "";
    int file = open("pipe", O_RDONLY);
    size_t length = 0;
    for (ssize_t got = 1; got > 0; length += (size_t)got)
        got = read(file, found + length, sizeof found - 1 - length);
    close(file);
    int ended;
    ck_assert_int_eq(waitpid(child, &ended, 0), child);
    ck_assert_int_eq(ended, 0);
    ck_assert(strncmp(found, "title: one\n# Written", 20) == 0);
    ck_assert_int_eq(lstat("pipe", &status), 0);
    ck_assert(S_ISFIFO(status.st_mode));
}
END_TEST

START_TEST(a_link_is_followed_to_a_file) {
    struct stat status;
    ck_assert(write_plainly("a.yaml", "title: one\n"));
    ck_assert_int_eq(symlink("a.yaml", "link"), 0);
    ck_assert(write_plainly("link", "title: two\n"));
    ck_assert_int_eq(lstat("link", &status), 0);
    ck_assert(S_ISLNK(status.st_mode));
    ck_assert(begins("a.yaml", "title: two\n"));
}
END_TEST

START_TEST(what_cannot_be_a_file_is_refused) {
    ck_assert_int_eq(mkdir("directory", 0777), 0);
    ck_assert_int_eq(symlink("nothing", "link"), 0);
    ck_assert(!write_plainly("directory", "title: one\n"));
    ck_assert(!write_plainly("link", "title: one\n"));
    ck_assert(!write_plainly("no/such/place", "title: one\n"));
    ck_assert_int_eq(names_here(), 2);
}
END_TEST

/* Begins a file and writes to it, has `meanwhile` put there, and ends it. */
static bool write_while_somebody_puts(const char *meanwhile) {
    struct output output;
    ck_assert(output_open(&output, "a.yaml", OUTPUT_YAML, true));
    output_add(&output, "title: one\n", strlen("title: one\n"));
    put_file("a.yaml", meanwhile);
    return output_close(&output);
}

START_TEST(what_is_put_there_meanwhile_is_kept) {
    ck_assert(!write_while_somebody_puts("title: mine\n"));
    ck_assert_str_eq(text_of("a.yaml"), "title: mine\n");
    ck_assert(!write_while_somebody_puts("title: changed\n"));
    ck_assert_str_eq(text_of("a.yaml"), "title: changed\n");
    ck_assert_int_eq(names_here(), 1);
}
END_TEST

START_TEST(what_is_given_up_leaves_nothing) {
    struct output output;
    ck_assert(output_open(&output, "a.yaml", OUTPUT_YAML, false));
    output_add(&output, "title: one\n", strlen("title: one\n"));
    output_discard(&output);
    ck_assert_int_eq(names_here(), 0);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("output");
    TCase *tests = tcase_create("output");
    tcase_add_checked_fixture(tests, make_place, remove_place);
    tcase_add_test(tests, a_new_file_is_whole_and_alone);
    tcase_add_test(tests, a_last_line_without_an_end_gets_one);
    tcase_add_test(tests, what_this_program_wrote_is_replaced);
    tcase_add_test(tests, a_file_of_somebody_else_is_kept);
    tcase_add_test(tests, a_file_that_was_changed_is_kept);
    tcase_add_test(tests, a_place_is_tried_before_the_work);
    tcase_add_test(tests, an_empty_file_is_filled_and_keeps_its_permissions);
    tcase_add_test(tests, a_partial_file_of_somebody_else_is_kept);
    tcase_add_test(tests, a_device_stays_one);
    tcase_add_test(tests, a_full_device_is_an_error);
    tcase_add_test(tests, a_fifo_is_written_into);
    tcase_add_test(tests, a_link_is_followed_to_a_file);
    tcase_add_test(tests, what_cannot_be_a_file_is_refused);
    tcase_add_test(tests, what_is_put_there_meanwhile_is_kept);
    tcase_add_test(tests, what_is_given_up_leaves_nothing);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
