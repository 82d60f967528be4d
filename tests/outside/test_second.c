/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_second.c - compares with other programs on the same workshops: SimPy
 * (python3-simpy) for every single move, octave-queueing for rates. A program that is not
 * installed is skipped, which is reported. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "tests/outside/ledger.h"
#include "tests/outside/ring.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static bool runs(const char *command) { return system(command) == 0; }

/* ---- move by move ---- */

static const struct ledger_source simpy = {
    "SimPy 2.3.1",
    "K. Müller, T. Vignaux et al., SimPy, a process-based simulation package for Python "
    "(Debian's python3-simpy); the models are tests/outside/second.py, written from docs/rules.md",
    "run by the test"};

enum { LINE_MAX_LENGTH = 256 };

/* How many of both programs' moves are the same from the start on, -1 when one has more. */
static long same_moves(FILE *ours, FILE *theirs) {
    char our[LINE_MAX_LENGTH], their[LINE_MAX_LENGTH];
    for (long count = 0;; count++) {
        bool more = fgets(our, sizeof our, ours) != NULL,
             others = fgets(their, sizeof their, theirs) != NULL;
        if (!more && !others)
            return count;
        if (more != others || strcmp(our, their) != 0)
            return -1 - count;
    }
}

static void compare_moves(const char *directory, const char *name, long moves) {
    const char *program =
        getenv("LOOPWRIGHT") != NULL ? getenv("LOOPWRIGHT") : "build/release/loopwright";
    char command[512];
    snprintf(command, sizeof command,
             "%s run tests/outside/second-%s.yaml --moves --quiet --out %s/%s && tail -n +2 "
             "%s/%s/moves.csv | tr -d '\\r' | cut -d , -f 1-5",
             program, name, directory, name, directory, name);
    FILE *ours = popen(command, "r");
    snprintf(command, sizeof command, "/usr/bin/python3 tests/outside/second.py %s 60000", name);
    FILE *theirs = popen(command, "r");
    if (ours == NULL || theirs == NULL)
        exit(EXIT_FAILURE);
    ledger_exact(&simpy, (double)moves, (double)same_moves(ours, theirs),
                 "%s: moves that are the same", name);
    pclose(ours);
    pclose(theirs);
}

static void move_by_move(void) {
    ledger_group(
        "Move by move in another program",
        "Three workshops in which nothing is left to chance, ten minutes each: every pick and "
        "place, its tick, arm, item, count and order.");
    if (!runs("/usr/bin/python3 -c 'import SimPy' 2>/dev/null")) {
        ledger_skip("python3-simpy is not installed");
        return;
    }
    char directory[] = "/tmp/loopwright-second-XXXXXX", command[64];
    if (mkdtemp(directory) == NULL)
        exit(EXIT_FAILURE);
    compare_moves(directory, "benches", 480);
    compare_moves(directory, "ring", 864);
    compare_moves(directory, "gates", 736);
    snprintf(command, sizeof command, "rm -rf %s", directory);
    runs(command);
}

/* ---- rates ---- */

static const struct ledger_source octave = {
    "octave-queueing",
    "M. Marzolla, The queueing package for GNU Octave (Debian's octave-queueing): exact mean "
    "value analysis, qncsmva",
    "run by the test, tests/outside/second.m"};

enum { RUNS = 20 };

static const struct {
    const char *name;
    struct ring ring;
} network[] = {
    {"1 s, ride 10 s", {{{"{exponential: 1}", 1, 0}, {NULL, 0, 10}}, 3, 200, 5000}},
    {"1 s, ride 10 s", {{{"{exponential: 1}", 1, 0}, {NULL, 0, 10}}, 8, 200, 5000}},
    {"1 s, ride 10 s", {{{"{exponential: 1}", 1, 0}, {NULL, 0, 10}}, 13, 200, 5000}},
    {"1 s and 0.8 s, ride 6 s",
     {{{"{exponential: 1}", 1, 0}, {"{exponential: 0.8}", 1, 0}, {NULL, 0, 6}}, 6, 200, 5000}},
    {"1 s and 0.8 s, ride 6 s",
     {{{"{exponential: 1}", 1, 0}, {"{exponential: 0.8}", 1, 0}, {NULL, 0, 6}}, 10, 200, 5000}},
    {"2 s (two), 1.5 s, 0.7 s, ride 5 s",
     {{{"{exponential: 2}", 2, 0},
       {"{exponential: 1.5}", 1, 0},
       {"{exponential: 0.7}", 1, 0},
       {NULL, 0, 5}},
      7,
      200,
      5000}},
};

static void rates(void) {
    ledger_group("Rates of closed networks by another program",
                 "Jobs go round through exponential servers and a ride over a belt. 20 runs each.");
    FILE *pipe = popen("octave-cli --quiet --norc tests/outside/second.m 2>/dev/null", "r");
    char line[LINE_MAX_LENGTH];
    for (size_t i = 0; i < LENGTH(network); i++) {
        /* Octave's own status means little here: it ends with a complaint though all went well. */
        if (pipe == NULL || fgets(line, sizeof line, pipe) == NULL) {
            ledger_skip("octave-queueing is not installed");
            break;
        }
        char *end;
        long jobs = strtol(line, &end, 10);
        double rate = strtod(end, NULL), value[RING_FOUND][RUNS];
        if (jobs != network[i].ring.jobs)
            exit(EXIT_FAILURE);
        ring_try(&network[i].ring, RUNS, &value[0][0]);
        ledger_sample(&octave, rate, value[RING_RATE], RUNS, 0.005, "%s, N = %ld: jobs a second",
                      network[i].name, jobs);
    }
    if (pipe != NULL)
        pclose(pipe);
}

int main(void) {
    move_by_move();
    rates();
    return ledger_end();
}
