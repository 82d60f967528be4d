/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/suite.c */
#include "tests/unit/suite.h"

#include <stdlib.h>

int suite_status(Suite *suite) {
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
