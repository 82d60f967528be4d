/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_terminal.c - on a terminal no text of a user's file controls it; into a pipe the
 * bytes go as they are; and the first signal ends a program that waits for its input. The terminal
 * is a real one, a pseudoterminal of the system. */
#define _GNU_SOURCE /* posix_openpt, ptsname */
#include <check.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

enum { SEEN_BYTES = 1 << 16 };

static void run_on(const char *terminal, const char *const *word) {
    int file = open(terminal, O_RDWR);
    dup2(file, STDOUT_FILENO);
    dup2(file, STDERR_FILENO);
    execv(errand_program(), (char *const *)(size_t)word);
    _exit(127);
}

/* What the program prints to a terminal, into seen[]. */
static void see(const char *const *word, char seen[SEEN_BYTES]) {
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    ck_assert_int_ge(master, 0);
    ck_assert_int_eq(grantpt(master), 0);
    ck_assert_int_eq(unlockpt(master), 0);
    int held = open(ptsname(master), O_RDWR | O_NOCTTY); /* what is printed last stays readable */
    pid_t child = fork();
    if (child == 0)
        run_on(ptsname(master), word);
    int status;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_int_ne(WEXITSTATUS(status), 127);
    fcntl(master, F_SETFL, O_NONBLOCK);
    ssize_t length = 0, got;
    while ((got = read(master, seen + length, SEEN_BYTES - 1 - (size_t)length)) > 0)
        length += got;
    seen[length] = '\0';
    close(held);
    close(master);
}

/* U+202E turns the direction of what follows, U+2066 isolates it. */
#define TITLE "lanterns \342\200\256 and \342\201\246 clocks"

START_TEST(title_cannot_turn_the_text) {
    static char seen[SEEN_BYTES];
    errand_write("a.yaml", "title: \"" TITLE "\"\nrun: {for: 10}\nitems: [comb]\n");
    const char *const word[] = {"loopwright", "run", "a.yaml", NULL};
    see(word, seen);
    ck_assert_ptr_nonnull(strstr(seen, "lanterns \\u202e and \\u2066 clocks"));
    ck_assert_ptr_null(strstr(seen, "\342\200\256"));
    errand_run("run a.yaml");
    ck_assert(errand_says("out", TITLE));
}
END_TEST

START_TEST(path_cannot_move_the_cursor) {
    static char seen[SEEN_BYTES];
    const char *const word[] = {"loopwright", "run", "no\033[2Jne\302\233\377.yaml", NULL};
    see(word, seen);
    ck_assert_ptr_nonnull(strstr(seen, "no\\u001b[2Jne\\u009b\\xff.yaml"));
    ck_assert_ptr_null(strchr(seen, '\033'));
}
END_TEST

/* The rest of what is printed comes through as it is: accents, a degree sign, a Greek letter. */
START_TEST(other_characters_are_shown) {
    static char seen[SEEN_BYTES];
    errand_write("a.yaml", "title: \"Spieluhr-W\303\244rme \316\261 20 \302\260\"\nitems: [comb]\n"
                           "run: {for: 10}\n");
    const char *const word[] = {"loopwright", "run", "a.yaml", NULL};
    see(word, seen);
    ck_assert_ptr_nonnull(strstr(seen, "Spieluhr-W\303\244rme \316\261 20 \302\260"));
}
END_TEST

/* A pipe into which nobody writes: the program is at work on it when the pipe has a reader. */
START_TEST(first_signal_ends_reading_from_a_pipe) {
    ck_assert_int_eq(mkfifo("pipe", 0600), 0);
    pid_t child = errand_start("run pipe");
    int writer = open("pipe", O_WRONLY); /* waits for the program to open it */
    ck_assert_int_eq(kill(child, SIGINT), 0);
    ck_assert_int_eq(errand_wait(child), 128 + SIGINT);
    close(writer);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_checked_fixture(tests, errand_begin, errand_end);
    tcase_add_test(tests, title_cannot_turn_the_text);
    tcase_add_test(tests, path_cannot_move_the_cursor);
    tcase_add_test(tests, other_characters_are_shown);
    tcase_add_test(tests, first_signal_ends_reading_from_a_pipe);
}

int main(void) { return suite_main("terminal", add_tests); }
