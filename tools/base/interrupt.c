/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/interrupt.c - the one thing a signal handler may touch: a flag. */
#include "tools/base/interrupt.h"

#include <signal.h>
#include <stddef.h>
#include <unistd.h>

enum { STOPPED_BY_SIGNAL = 128 };

/* State of the process, as signals are. */
static volatile sig_atomic_t noted;

static void note(int signal_number) {
    if (noted != 0)
        _exit(STOPPED_BY_SIGNAL + signal_number);
    noted = signal_number;
}

static void handle_stops(void (*handler)(int)) {
    struct sigaction stop = {.sa_handler = handler, .sa_flags = SA_RESTART};
    sigemptyset(&stop.sa_mask);
    sigaction(SIGINT, &stop, NULL);
    sigaction(SIGTERM, &stop, NULL);
    sigaction(SIGHUP, &stop, NULL);
}

void interrupt_leave(void) { handle_stops(SIG_DFL); }

void interrupt_watch(void) {
    struct sigaction ignore = {.sa_handler = SIG_IGN};
    handle_stops(note);
    sigaction(SIGPIPE, &ignore, NULL);
    sigaction(SIGXFSZ, &ignore, NULL);
}

int interrupt_signal(void) { return noted; }
