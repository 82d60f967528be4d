/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/require.c - says what broke and stops; hands out memory that is never NULL. */
#include "sim/require.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NO_MEMORY_EXIT_STATUS = 4 };

static _Thread_local const struct require_context *thread_context;

void require_context_set(const struct require_context *context) { thread_context = context; }

_Noreturn void require_failed(const char *broken, const char *file, int line) {
    if (thread_context != NULL && *thread_context->tick >= 0)
        fprintf(stderr, "loopwright: tick %lld, %s: ", (long long)*thread_context->tick,
                thread_context->what);
    else
        fprintf(stderr, "loopwright: ");
    fprintf(stderr, "this is a bug: `%s` does not hold (%s:%d)\n", broken, file, line);
    exit(REQUIRE_EXIT_STATUS);
}

/* At once, without what exit() does: other threads may be at work, and streams half written. */
static _Noreturn void stop(void) { _Exit(NO_MEMORY_EXIT_STATUS); }

static _Noreturn void out_of_memory(size_t count, size_t size) {
    fprintf(stderr, "loopwright: out of memory: %zu things of %zu bytes were wanted\n", count,
            size);
    stop();
}

_Noreturn void require_no_memory(const char *who) {
    fprintf(stderr, "loopwright: out of memory: %s had none\n", who);
    stop();
}

void *require_memory(size_t count, size_t size) {
    void *memory = calloc(count > 0 ? count : 1, size > 0 ? size : 1);
    if (memory == NULL)
        out_of_memory(count, size);
    return memory;
}

void *require_more_memory(void *old, size_t count, size_t size) {
    if (size > 0 && count > SIZE_MAX / size)
        out_of_memory(count, size);
    size_t bytes = count * size;
    void *memory = realloc(old, bytes > 0 ? bytes : 1);
    if (memory == NULL)
        out_of_memory(count, size);
    return memory;
}

char *require_text(const char *text) {
    size_t bytes = strlen(text) + 1;
    return memcpy(require_memory(bytes, 1), text, bytes);
}
