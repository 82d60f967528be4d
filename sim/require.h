/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/require.h - what is wrong with us: a broken promise stops the program at once, in every
 * build.
 *
 * `require` states a contract or an invariant. When it does not hold, the place, the tick and the
 * event at work are printed to standard error and the program ends with status 5. What can be wrong
 * with the world outside (a file, a scenario, a disk) is a fault (sim/fault.h) and never comes
 * here. */
#pragma once

#include <stddef.h>
#include <stdint.h>

/* Status with which the program ends when one of its own promises is broken. */
enum { REQUIRE_EXIT_STATUS = 5 };

/* What a thread is doing, printed when a requirement fails. Kept by the owner of the event loop. */
struct require_context {
    const int64_t *tick; /* the tick being executed, which may go on; -1: outside a run */
    const char *what;    /* kind of event, "" outside a run; points to static text */
};

/* Says what this thread is at; `context` must outlive the work. NULL: nothing to tell. */
void require_context_set(const struct require_context *context);

/* Prints what broke and where, then ends the program with REQUIRE_EXIT_STATUS. */
_Noreturn void require_failed(const char *broken, const char *file, int line);

#define require(condition) ((condition) ? (void)0 : require_failed(#condition, __FILE__, __LINE__))

/* Zeroed memory for `count` things of `size` bytes, never NULL (count 0 gives one byte).
 * Freed with free(). Running out of memory ends the program with a message and status 4. */
void *require_memory(size_t count, size_t size);

/* Ends the program as require_memory does where there is no memory, for libraries that take theirs
 * by themselves. `who` names what was at work ("GSL"). */
_Noreturn void require_no_memory(const char *who);

/* As realloc() to `count` things of `size` bytes, contents kept, the rest not set; never NULL. */
void *require_more_memory(void *old, size_t count, size_t size);

/* A copy of `text`, never NULL, freed with free(). */
char *require_text(const char *text);
