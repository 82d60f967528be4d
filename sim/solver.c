/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/solver.c - GLPK, made ready. */
#include "sim/solver.h"

#include <glpk.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "sim/require.h"

/* What GLPK printed last but one in this thread: before it gives up, it prints the reason, and then
 * the place in its source. */
static _Thread_local char reason[200], last[sizeof reason];

/* Keeps a line that GLPK prints; returns 1, so that it is not printed. */
static int keep(void *nothing, const char *line) {
    (void)nothing;
    memcpy(reason, last, sizeof reason);
    snprintf(last, sizeof last, "%.*s", (int)strcspn(line, "\n"), line);
    return 1;
}

/* GLPK calls this before it would abort the program: it has no memory, or it was used in a way that
 * it does not allow, which is our mistake. Only its words tell one from the other. */
static void give_up(void *nothing) {
    (void)nothing;
    if (strstr(reason, "memory") != NULL)
        require_no_memory("GLPK");
    require_failed(reason, __FILE__, __LINE__);
}

/* GLPK begins by itself with the first call, but aborts where it has no memory for that. */
void solver_begin(void) {
    enum { BEGUN_BEFORE = 1 };
    if (glp_init_env() > BEGUN_BEFORE)
        require_no_memory("GLPK");
    glp_term_out(GLP_OFF);
    glp_term_hook(keep, NULL);
    glp_error_hook(give_up, NULL);
}
