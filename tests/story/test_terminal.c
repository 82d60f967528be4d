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
    dup2(file, STDIN_FILENO);
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

/* What a command itself draws is no text of a file, and comes through. */
START_TEST(lines_that_are_drawn_anew_are_not_escaped) {
    static char seen[SEEN_BYTES];
    errand_run("new a.yaml");
    const char *const design[] = {
        "loopwright",      "design", "a.yaml", "--tune", "arms.gear-feeder.gate.below",
        "--no-tolerances", NULL};
    see(design, seen);
    ck_assert_ptr_nonnull(strstr(seen, " tries so far\033[K"));
    ck_assert_ptr_nonnull(strstr(seen, "\r\033[K"));
    ck_assert_ptr_null(strstr(seen, "\\u"));
}
END_TEST

/* A pipe into which nobody writes: the program is at work on it when the pipe has a reader. Each
 * command that reads a scenario. */
START_TEST(first_signal_ends_reading_from_a_pipe) {
    static const char *const line[] = {
        "run pipe",  "budget pipe", "check pipe", "drain pipe",
        "soak pipe", "design pipe", "paths pipe", "sweep pipe --over chests.bin.capacity=6,9"};
    for (size_t i = 0; i < sizeof line / sizeof *line; i++) {
        ck_assert_int_eq(mkfifo("pipe", 0600), 0);
        pid_t child = errand_start("%s", line[i]);
        int writer = open("pipe", O_WRONLY); /* waits for the program to open it */
        ck_assert_int_eq(kill(child, SIGINT), 0);
        ck_assert_int_eq(errand_wait(child), 128 + SIGINT);
        close(writer);
        ck_assert_int_eq(unlink("pipe"), 0);
    }
}
END_TEST

/* ---- run --watch ---- */

#define WATCHED                                                                                    \
    "items: [comb]\n"                                                                              \
    "loops: [{name: ring, cells: 30, rate: 5}]\n"                                                  \
    "chests: [{name: bin, start: {comb: 200}}, {name: tray}]\n"                                    \
    "arms: [{name: feeder, from: bin, to: ring@2, items: [comb], swing: 1 s},\n"                   \
    "  {name: taker, from: ring@20, to: tray, swing: 2 s}]\n"

/* Runs `word` on a terminal and reads what it draws, as somebody does who sits there; types `key`,
 * if it is not 0, when `sign` has been drawn. Returns the status. */
static int sit_at(const char *const *word, const char *sign, char key, char seen[SEEN_BYTES]) {
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    ck_assert_int_ge(master, 0);
    ck_assert_int_eq(grantpt(master), 0);
    ck_assert_int_eq(unlockpt(master), 0);
    pid_t child = fork();
    if (child == 0)
        run_on(ptsname(master), word);
    size_t length = 0;
    ssize_t got;
    seen[0] = '\0';
    /* Ends with an error when nobody has the terminal open any more; may begin with one, too. */
    while ((got = read(master, seen + length, SEEN_BYTES - 1 - length)) > 0 || length == 0) {
        length += got > 0 ? (size_t)got : 0;
        seen[length] = '\0';
        if (key != 0 && strstr(seen, sign) != NULL) {
            ck_assert_int_eq(write(master, &key, 1), 1);
            key = 0;
        }
    }
    int status;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    close(master);
    return WEXITSTATUS(status);
}

static size_t times_in(const char *text, const char *part) {
    size_t times = 0;
    for (const char *at = text; (at = strstr(at, part)) != NULL; at += strlen(part))
        times++;
    return times;
}

/* Five minutes in a second: some pictures on the second screen, then the summary on the first. */
START_TEST(watched_run_is_drawn_to_its_end) {
    static char seen[SEEN_BYTES];
    errand_write("a.yaml",
                 "run: {for: 8 min}\n" WATCHED "incidents: [{at: 1 min, clear: {lane: ring}}]\n");
    const char *const word[] = {"loopwright", "run", "a.yaml", "--watch", "--pace", "5min", NULL};
    ck_assert_int_eq(sit_at(word, "", 0, seen), 0);
    const char *end = strstr(seen, "\033[?1049l");
    ck_assert_ptr_nonnull(strstr(seen, "\033[?1049h"));
    ck_assert_ptr_nonnull(end);
    ck_assert_ptr_nonnull(strstr(end, "It holds"));
    ck_assert_uint_ge(times_in(seen, "ring/lane, "), 3);
    ck_assert_ptr_nonnull(strstr(seen, "  tray holds "));
    ck_assert_ptr_nonnull(strstr(seen, "! clear ring/lane"));
}
END_TEST

/* What is watched comes to the same as what is not. */
START_TEST(watching_changes_nothing) {
    static char seen[SEEN_BYTES];
    errand_write("a.yaml", "run: {for: 30 min}\n" WATCHED);
    const char *const word[] = {"loopwright", "run",   "a.yaml",  "--watch", "--pace",
                                "2h",         "--out", "watched", "--moves", NULL};
    ck_assert_int_eq(sit_at(word, "", 0, seen), 0);
    ck_assert_int_eq(errand_run("run a.yaml --out unseen --moves"), 0);
    ck_assert_int_eq(system("diff -r watched unseen >differences"), 0);
}
END_TEST

START_TEST(key_q_stops_a_watched_run) {
    static char seen[SEEN_BYTES];
    errand_write("a.yaml", "run: {for: 12 h}\n" WATCHED);
    const char *const word[] = {"loopwright", "run",   "a.yaml",  "--watch", "--pace",
                                "1s",         "--out", "watched", NULL};
    ck_assert_int_eq(sit_at(word, "q stops", 'q', seen), 128 + SIGINT);
    ck_assert_ptr_nonnull(strstr(seen, "\033[?1049l"));
    ck_assert_int_ne(access("watched", F_OK), 0);
}
END_TEST

START_TEST(what_is_no_terminal_is_not_drawn_on) {
    errand_write("a.yaml", "run: {for: 10}\n" WATCHED);
    ck_assert_int_eq(errand_run("run a.yaml --watch"), 2);
    ck_assert(errand_says("err", "`--watch` needs a terminal"));
    ck_assert_int_eq(errand_run("run a.yaml --pace 10min"), 2);
    ck_assert(errand_says("err", "`--pace` is that of `--watch`"));
}
END_TEST

/* 76 characters are shown, some of them of two bytes; of more, 73 and a mark. */
START_TEST(title_that_is_cut_says_so) {
    char fits[4 * 76] = "", line[8 * 76];
    for (int i = 0; i < 38; i++)
        strcat(fits, "a\303\244");
    snprintf(line, sizeof line, "title: %s\nrun: {for: 10}\nitems: [comb]\n", fits);
    errand_write("a.yaml", line);
    errand_run("run a.yaml");
    snprintf(line, sizeof line, "%s\n", fits);
    ck_assert(errand_says("out", line));
    snprintf(line, sizeof line, "title: %sz\nrun: {for: 10}\nitems: [comb]\n", fits);
    errand_write("a.yaml", line);
    errand_run("run a.yaml");
    fits[36 * 3 + 1] = '\0';
    snprintf(line, sizeof line, "%s...\n", fits);
    ck_assert(errand_says("out", line));
}
END_TEST

/* A file on standard output whose reader has seen enough: as if by SIGPIPE, without a word. The
 * page is larger than a pipe holds. */
START_TEST(file_that_nobody_reads_ends_without_a_word) {
    char command[1024];
    errand_write("a.yaml", "run: {for: 10}\nitems: [comb]\n");
    ck_assert_int_eq(errand_run("run a.yaml --quiet --out run"), 0);
    snprintf(command, sizeof command,
             "{ %s report run --out - 2>err; echo $? >status; } | head -c 1 >out",
             errand_program());
    ck_assert_int_eq(system(command), 0);
    ck_assert_int_eq(errand_bytes("err"), 0);
    ck_assert(errand_says("status", "141\n"));
    snprintf(command, sizeof command, "%s report run --out - >/dev/full 2>err; echo $? >status",
             errand_program());
    ck_assert_int_eq(system(command), 0);
    ck_assert_int_gt(errand_bytes("err"), 0);
    ck_assert(errand_says("status", "4\n"));
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_checked_fixture(tests, errand_begin, errand_end);
    tcase_add_test(tests, title_cannot_turn_the_text);
    tcase_add_test(tests, path_cannot_move_the_cursor);
    tcase_add_test(tests, other_characters_are_shown);
    tcase_add_test(tests, lines_that_are_drawn_anew_are_not_escaped);
    tcase_add_test(tests, first_signal_ends_reading_from_a_pipe);
    tcase_add_test(tests, watched_run_is_drawn_to_its_end);
    tcase_add_test(tests, watching_changes_nothing);
    tcase_add_test(tests, key_q_stops_a_watched_run);
    tcase_add_test(tests, what_is_no_terminal_is_not_drawn_on);
    tcase_add_test(tests, title_that_is_cut_says_so);
    tcase_add_test(tests, file_that_nobody_reads_ends_without_a_word);
}

int main(void) { return suite_main("terminal", add_tests); }
