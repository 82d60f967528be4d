/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/kill/kill.c - a kill at every file operation of every command, and one more while the
 * command goes on after it. tests/fault/sweep.h says how it is called, trial.h what is held. */
#include "tests/fault/sweep.h"

static const struct failure failure[] = {
    {"kill", SHIM_FILE, SHIM_KILL, false, false},
    {"torn-write", SHIM_WRITE, SHIM_TORN, false, false},
};

int main(int count, char **word) {
    static const struct sweep sweep = {failure, sizeof failure / sizeof *failure, true};
    return sweep_main(&sweep, count, word);
}
