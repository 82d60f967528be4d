/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_require.c - a broken promise ends the program with words and a status, and so
 * does a lack of memory; in a process of its own each. */
#include "sim/require.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/common/suite.h"

enum { TEXT_BYTES = 400 };

/* The status with which `work` ends a process of its own, and what it says on standard error. */
static int status_of(void (*work)(void), char text[TEXT_BYTES]) {
    int ends[2], status = 0;
    size_t length = 0;
    ssize_t more;
    ck_assert_int_eq(pipe(ends), 0);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        dup2(ends[1], STDERR_FILENO);
        work();
        _Exit(EXIT_SUCCESS);
    }
    close(ends[1]);
    while ((more = read(ends[0], text + length, TEXT_BYTES - 1 - length)) > 0)
        length += (size_t)more;
    text[length] = '\0';
    close(ends[0]);
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void ends_with(void (*work)(void), int status, const char *words) {
    char text[TEXT_BYTES];
    ck_assert_int_eq(status_of(work, text), status);
    ck_assert_msg(strstr(text, words) != NULL, "%s", text);
}

static void break_promise(void) { require(1 + 1 == 3); }

static void break_promise_in_a_tick(void) {
    int64_t tick = 41;
    const struct require_context context = {.tick = &tick, .what = "in a tick"};
    require_context_set(&context);
    tick++;
    require(1 + 1 == 3);
}

static void break_promise_outside_a_run(void) {
    const int64_t tick = -1;
    const struct require_context context = {.tick = &tick, .what = ""};
    require_context_set(&context);
    require(1 + 1 == 3);
}

START_TEST(broken_promise_says_what_and_where) {
    ends_with(break_promise, 5, "loopwright: this is a bug: `1 + 1 == 3` does not hold (tests/");
    ends_with(break_promise, 5, "test_require.c:");
    ends_with(break_promise_in_a_tick, 5, "loopwright: tick 42, in a tick: this is a bug: `1 + 1");
    ends_with(break_promise_outside_a_run, 5, "loopwright: this is a bug: `1 + 1 == 3`");
}
END_TEST

static void want_for_a_library(void) { require_no_memory("GSL"); }

/* What asks for memory itself is tried in tests/fault, call by call. */
START_TEST(lack_of_memory_says_who_wanted_it) {
    ends_with(want_for_a_library, 4, "loopwright: out of memory: GSL had none\n");
}
END_TEST

START_TEST(memory_is_zeroed_and_kept) {
    char *bytes = require_memory(100, 1);
    for (int i = 0; i < 100; i++)
        ck_assert_int_eq(bytes[i], 0);
    strcpy(bytes, "kept");
    bytes = require_more_memory(bytes, 5000, 2);
    ck_assert_str_eq(bytes, "kept");
    char *text = require_text(bytes);
    ck_assert_ptr_ne(text, bytes);
    ck_assert_str_eq(text, "kept");
    free(text);
    free(bytes);
    bytes = require_memory(0, 0);
    ck_assert_ptr_nonnull(bytes);
    free(bytes);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, broken_promise_says_what_and_where);
    tcase_add_test(tests, lack_of_memory_says_who_wanted_it);
    tcase_add_test(tests, memory_is_zeroed_and_kept);
}

int main(void) { return suite_main("require", add_tests); }
