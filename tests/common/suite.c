/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/common/suite.h"

#include <stdbool.h>
#include <stdlib.h>

#include "tests/common/processor.h"

/* The slowest test takes a minute with sanitizers. Check's own limit is of time on the wall. */
enum { PROCESSOR_SECONDS_MAX = 1200 };
#define WALL_SECONDS_MAX "7200"

Suite *suite_begin(const char *name) {
    processor_limit(PROCESSOR_SECONDS_MAX);
    setenv("CK_DEFAULT_TIMEOUT", WALL_SECONDS_MAX, 1);
    return suite_create(name);
}

int suite_end(Suite *suite) {
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    bool holds = srunner_ntests_run(runner) > 0 && srunner_ntests_failed(runner) == 0;
    srunner_free(runner);
    return holds ? EXIT_SUCCESS : EXIT_FAILURE;
}

int suite_main(const char *name, void (*add_tests)(TCase *tests)) {
    Suite *suite = suite_begin(name);
    TCase *tests = tcase_create(name);
    add_tests(tests);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
