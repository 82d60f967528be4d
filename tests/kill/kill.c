/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/kill/kill.c - a kill, or a signal to stop, at every file operation of every command, and
 * another kill or a disk that is full while the command goes on after it. tests/fault/sweep.h says
 * how it is called, trial.h what is held. */
#include <errno.h>

#include "tests/fault/sweep.h"

static const struct failure failure[] = {
    {"kill", SHIM_FILE, SHIM_KILL, false, FAILURE_ANY},
    {"torn-write", SHIM_WRITE, SHIM_TORN, false, FAILURE_ANY},
    {"stop", SHIM_FILE, SHIM_STOP, false, FAILURE_ANY},
};
static const struct failure then[] = {
    {"kill", SHIM_FILE, SHIM_KILL, false, FAILURE_ANY},
    {"write-ENOSPC-lasting", SHIM_WRITE, ENOSPC, true, FAILURE_ANY},
};

int main(int count, char **word) {
    static const struct sweep sweep = {failure, sizeof failure / sizeof *failure, then,
                                       sizeof then / sizeof *then};
    return sweep_main(&sweep, count, word);
}
