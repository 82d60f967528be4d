/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/solver.c - GLPK, made ready. */
#include "sim/solver.h"

#include <glpk.h>
#include <stddef.h>

#include "sim/require.h"

/* GLPK calls this before it would abort the program: it has no memory. */
static void give_up(void *nothing) {
    (void)nothing;
    require_no_memory("GLPK");
}

/* GLPK begins by itself with the first call, but aborts where it has no memory for that. */
void solver_begin(void) {
    enum { BEGUN_BEFORE = 1 };
    if (glp_init_env() > BEGUN_BEFORE)
        give_up(NULL);
    glp_term_out(GLP_OFF);
    glp_error_hook(give_up, NULL);
}
