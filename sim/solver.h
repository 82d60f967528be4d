/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/solver.h - GLPK, the solver of linear programs, made ready. */
#pragma once

/* Makes GLPK ready in this thread: it prints nothing, where it has no memory the program ends as
 * require_no_memory says, and where it refuses what is asked of it as require_failed. To be called
 * before anything else of GLPK; a second time does no harm. What it keeps for the thread is freed
 * by glp_free_env. */
void solver_begin(void);
