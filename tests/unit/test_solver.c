/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_solver.c - how the program ends where GLPK would abort it: what it has no memory
 * for is told from what it should never have been asked. */
#include "sim/solver.h"

#include <glpk.h>

#include "sim/require.h"
#include "tests/common/suite.h"

enum { NO_MEMORY_STATUS = 4 };

START_TEST(what_should_not_be_asked_is_a_bug) {
    solver_begin();
    glp_prob *problem = glp_create_prob();
    glp_add_rows(problem, -1);
}
END_TEST

/* GLPK's own limit, of 1 MB: a machine cannot be asked to have no memory. */
START_TEST(lack_of_memory_is_told_as_such) {
    solver_begin();
    glp_mem_limit(1);
    glp_alloc(2 << 20, 1);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_exit_test(tests, what_should_not_be_asked_is_a_bug, REQUIRE_EXIT_STATUS);
    tcase_add_exit_test(tests, lack_of_memory_is_told_as_such, NO_MEMORY_STATUS);
}

int main(void) { return suite_main("solver", add_tests); }
