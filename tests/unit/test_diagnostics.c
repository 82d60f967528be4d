/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_diagnostics.c - faults as they are printed: place, line, mark, note, help, and
 * how many more there are. */
#include "tools/base/diagnostics.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "tests/common/suite.h"

/* What is printed for a scenario; the caller frees it. */
__attribute__((noinline)) /* inlined, gcc 12 takes the text for its own pointer and warns */
static char *
complaint_about(const char *text, const char *override) {
    char *printed = NULL;
    size_t size = 0;
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(text, strlen(text), "ring.yaml", &override, override != NULL, &faults);
    FILE *out = open_memstream(&printed, &size);
    diagnostics_print(out, &faults);
    fclose(out);
    scenario_free(scenario);
    faults_free(&faults);
    return printed;
}

static void check_complaint(const char *text, const char *override, const char *wanted) {
    char *printed = complaint_about(text, override);
    ck_assert_str_eq(printed, wanted);
    free(printed);
}

START_TEST(an_error_shows_its_line_with_a_mark) {
    check_complaint("items: [comb]\nloops:\n"
                    "  - {name: ring, celz: 120, cells: 120, rate: 8}\n",
                    NULL,
                    "ring.yaml:3:18: error: unknown key `celz` in a loop\n"
                    "     3 |   - {name: ring, celz: 120, cells: 120, rate: 8}\n"
                    "                          ^^^^\n"
                    "  note: keys of a loop: name, cells, rate, lanes, breaks\n");
    check_complaint("itens: [comb]\n", NULL,
                    "ring.yaml:1:1: error: unknown key `itens` in a scenario\n"
                    "     1 | itens: [comb]\n"
                    "         ^^^^^\n"
                    "  note: keys of a scenario: title, clock, run, watch, items, loops, lines, "
                    "chests, stations, arms, supplies, demands, incidents, expect, may\n"
                    "  help: did you mean `items`?\n");
}
END_TEST

START_TEST(an_override_is_its_own_place) {
    check_complaint("items: [comb]\n", "run.seed=-5",
                    "--set run.seed=-5: error: `seed` is out of range: -5\n"
                    "    run.seed=-5\n"
                    "             ^^\n"
                    "  note: allowed: 0 to 9,007,199,254,740,991\n");
}
END_TEST

/* Columns count characters, not bytes, and a tab before the mark stays a tab. */
START_TEST(marks_stand_under_their_characters) {
    check_complaint("title: 'Spieluhr\303\266'\nrun: {\tfor: \303\244h}\n", NULL,
                    "ring.yaml:2:13: error: `for` wants a duration, not the text `\303\244h`\n"
                    "     2 | run: {\tfor: \303\244h}\n"
                    "               \t     ^^\n"
                    "  note: a duration is a number of seconds, a number with ms, s, min, h "
                    "or d, or a clock time H:MM:SS\n");
}
END_TEST

START_TEST(control_characters_never_reach_the_terminal) {
    char *printed = complaint_about("items: [\033[2J]\n", NULL);
    ck_assert_ptr_null(strchr(printed, '\033'));
    free(printed);
    printed = complaint_about("items: [\"\\e[2J\"]\n", NULL); /* by YAML's own escape */
    ck_assert_ptr_null(strchr(printed, '\033'));
    free(printed);
    printed = complaint_about("items: [\302\233]\n", NULL); /* CSI as one code point */
    ck_assert_ptr_null(strchr(printed, '\233'));
    free(printed);
}
END_TEST

START_TEST(a_long_line_is_shown_in_part) {
    char text[2000] = "items: [";
    for (int i = 0; i < 150; i++)
        sprintf(text + strlen(text), "comb-%d, ", i);
    strcat(text, "9th]\n");
    char *printed = complaint_about(text, NULL);
    char *last = strstr(printed, "9th]\n"), *mark = strrchr(printed, '^');
    ck_assert_ptr_nonnull(last);
    ck_assert_ptr_nonnull(mark);
    char *line = last, *mark_line = mark;
    while (line[-1] != '\n')
        line--;
    while (mark_line[-1] != '\n')
        mark_line--;
    ck_assert_int_eq(mark - mark_line, last - line + 2); /* under the last letter of 9th */
    ck_assert_int_lt(last - line, 200);
    free(printed);
}
END_TEST

START_TEST(twenty_are_shown_and_the_rest_counted) {
    char text[8000] = "items: [comb]\nchests:\n";
    for (int i = 0; i < 33; i++)
        sprintf(text + strlen(text), "- {name: c%d, capacity: -1}\n", i);
    char *printed = complaint_about(text, NULL);
    int shown = 0;
    for (const char *at = printed; (at = strstr(at, "error: ")) != NULL; at++)
        shown++;
    ck_assert_int_eq(shown, 20);
    ck_assert_ptr_nonnull(strstr(printed, "ring.yaml:22:"));
    ck_assert_ptr_null(strstr(printed, "ring.yaml:23:"));
    ck_assert_str_eq(printed + strlen(printed) - 19, "and 13 more errors\n");
    free(printed);
}
END_TEST

START_TEST(warnings_are_called_so) {
    check_complaint("run: {for: 1, warm_up: 2}\n", NULL,
                    "ring.yaml:1:24: warning: `warm_up` is not shorter than the run: nothing is "
                    "left to sum up\n"
                    "     1 | run: {for: 1, warm_up: 2}\n"
                    "                                ^\n");
}
END_TEST

START_TEST(a_fault_without_a_place_is_one_line) {
    struct faults faults = {0};
    char *printed = NULL;
    size_t size = 0;
    ck_assert_int_eq(read_duration("soon", 100, &faults), NOT_GIVEN);
    FILE *out = open_memstream(&printed, &size);
    diagnostics_print(out, &faults);
    fclose(out);
    ck_assert_str_eq(printed, "error: `soon` is not a duration\n"
                              "  note: a duration is a number of seconds, a number with ms, s, "
                              "min, h or d, or a clock time H:MM:SS\n");
    free(printed);
    faults_free(&faults);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("complaint");
    TCase *tests = tcase_create("complaint");
    tcase_add_test(tests, an_error_shows_its_line_with_a_mark);
    tcase_add_test(tests, an_override_is_its_own_place);
    tcase_add_test(tests, marks_stand_under_their_characters);
    tcase_add_test(tests, control_characters_never_reach_the_terminal);
    tcase_add_test(tests, a_long_line_is_shown_in_part);
    tcase_add_test(tests, twenty_are_shown_and_the_rest_counted);
    tcase_add_test(tests, warnings_are_called_so);
    tcase_add_test(tests, a_fault_without_a_place_is_one_line);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
