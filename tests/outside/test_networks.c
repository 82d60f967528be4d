/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_networks.c - closed queueing networks, in which a fixed number of jobs goes
 * round. */
#include <stdio.h>

#include "tests/outside/ledger.h"
#include "tests/outside/ring.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

enum { RUNS = 20 };

/* ---- a belt and a station ---- */

static const struct ledger_source scherr = {
    "Scherr 1967",
    "A. L. Scherr, An Analysis of Time-Shared Computer Systems, Cambridge 1967 (one exponential "
    "server and a delay of any distribution); as Palm's machine interference, Industritidningen "
    "Norden 75 (1947)",
    "recalled; worked out by octave-queueing 1.2.7 (qncsmva) and by birth and death"};
static const struct ledger_source mva = {"Reiser & Lavenberg 1980",
                                         "M. Reiser, S. S. Lavenberg, Mean-value analysis of "
                                         "closed multichain queuing networks, Journal of the ACM "
                                         "27 (1980) 313-322",
                                         "recalled; worked out by octave-queueing 1.2.7 (qncsmva)"};

static void belt_and_station(void) {
    ledger_group(
        "Carriers that ride round to a station",
        "N jobs ride on a loop (100 cells a second) for 10 s, are taken off into a chest, "
        "served one by one for an exponential time of mean 1 s, and put on again. The ride is "
        "shorter by half a cell, 0.05 % of it. 20 runs.");
    static const struct {
        int64_t jobs;
        double rate, waiting;
    } row[] = {{5, 0.4360478231, 0.63952177},
               {10, 0.7854176569, 2.1458234},
               {11, 0.8367676668, 2.6323233},
               {15, 0.9635030545, 5.3649695},
               {20, 0.9981309501, 10.01869}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct ring ring = {{{"{exponential: 1}", 1, 0}, {NULL, 0, 10}}, row[i].jobs, 200, 5000};
        double value[RING_FOUND][RUNS];
        ring_try(&ring, RUNS, &value[0][0]);
        ledger_sample(&scherr, row[i].rate, value[RING_RATE], RUNS, 0.004,
                      "N = %lld: jobs a second", (long long)row[i].jobs);
        ledger_sample(&scherr, row[i].waiting, value[RING_NUMBER], RUNS, 0.06,
                      "N = %lld: waiting and served", (long long)row[i].jobs);
    }
    static const struct {
        int64_t jobs;
        double rate;
    } two[] = {{4, 0.4678726572}, {8, 0.7783163347}, {12, 0.9219280691}};
    for (size_t i = 0; i < LENGTH(two); i++) {
        struct ring ring = {
            {{"{exponential: 1}", 1, 0}, {NULL, 0, 3}, {"{exponential: 0.8}", 1, 0}, {NULL, 0, 3}},
            two[i].jobs,
            200,
            5000};
        double value[RING_FOUND][RUNS];
        ring_try(&ring, RUNS, &value[0][0]);
        ledger_sample(&mva, two[i].rate, value[RING_RATE], RUNS, 0.005,
                      "stations of 1 s and 0.8 s, two rides of 3 s, N = %lld: jobs a second",
                      (long long)two[i].jobs);
    }
}

/* ---- examples of the books ---- */

static const struct ledger_source jain = {
    "Jain 1991", "R. Jain, The Art of Computer Systems Performance Analysis, New York 1991, p. 577",
    "read in the test block of octave-queueing 1.2.7, worked out by it again"};
static const struct ledger_source bolch = {
    "Bolch et al. 1998",
    "G. Bolch, S. Greiner, H. de Meer, K. S. Trivedi, Queueing Networks and Markov Chains, New "
    "York 1998, examples 8.1, 8.3 and 8.4, p. 318-333",
    "read in the test block of octave-queueing 1.2.7, worked out by it again"};
static const struct ledger_source lazowska = {
    "Lazowska et al. 1984",
    "E. D. Lazowska, J. Zahorjan, G. S. Graham, K. C. Sevcik, Quantitative System Performance, "
    "Englewood Cliffs 1984, p. 117 (the book prints 0.1510 by an approximation; this is the "
    "exact value)",
    "data read in the test block of octave-queueing 1.2.7, worked out by it"};

static const struct {
    const struct ledger_source *source;
    const char *name;
    struct ring ring;
    double rate, rate_error, number[RING_NODES_MAX], number_error;
} example[] = {
    {&jain,
     "p. 577, N = 20",
     {{{"{exponential: 3}", 1, 0},
       {"{exponential: 2}", 1, 0},
       {"{exponential: 1}", 1, 0},
       {NULL, 0, 4}},
      20,
      500,
      20000},
     0.33324651,
     0.002,
     {16.176651, 1.9906233, 0.4997395},
     0.2},
    {&bolch,
     "8.1",
     {{{"{exponential: 1.25}", 2, 0},
       {"{exponential: 1.111666667}", 3, 0},
       {"{exponential: 0.5}", 1, 0}},
      3,
      50,
      5000},
     0.94441898,
     0.006,
     {1.2898103, 1.0498791, 0.6603106},
     0.02},
    {&bolch,
     "8.3",
     {{{"{exponential: 0.02}", 1, 0},
       {"{exponential: 0.08}", 1, 0},
       {"{exponential: 0.08}", 1, 0},
       {"{exponential: 0.06}", 1, 0}},
      6,
      20,
      1000},
     9.9198363,
     0.06,
     {0.24361526, 2.2610378, 2.2610378, 1.2343092},
     0.06},
    {&bolch,
     "8.4",
     {{{"{exponential: 0.5}", 2, 0},
       {"{exponential: 0.3}", 1, 0},
       {"{exponential: 0.4}", 1, 0},
       {NULL, 0, 1}},
      3,
      20,
      3000},
     1.2174606,
     0.006,
     {0.62367949, 0.47287223, 0.68598764},
     0.02},
    {&lazowska,
     "p. 117",
     {{{"{exponential: 0.605}", 1, 0},
       {"{exponential: 2.1}", 1, 0},
       {"{exponential: 1.35}", 1, 0},
       {NULL, 0, 15}},
      3,
      100,
      10000},
     0.1515164923,
     0.001,
     {0},
     0},
};

static void book_examples(void) {
    ledger_group(
        "Closed networks of the books",
        "Exponential servers one after another, each with the time that a job spends there in "
        "all (visits times service): rates and numbers depend on these products alone (F. Baskett "
        "et al., Journal of the ACM 22 (1975) 248-260). A delay is a ride over a belt. 20 runs.");
    for (size_t i = 0; i < LENGTH(example); i++) {
        double value[RING_FOUND][RUNS];
        ring_try(&example[i].ring, RUNS, &value[0][0]);
        ledger_sample(example[i].source, example[i].rate, value[RING_RATE], RUNS,
                      example[i].rate_error, "%s: jobs a second", example[i].name);
        for (int k = 0; k < RING_NODES_MAX && example[i].number[k] > 0; k++)
            ledger_sample(example[i].source, example[i].number[k], value[RING_NUMBER + k], RUNS,
                          example[i].number_error, "%s: mean number at node %d", example[i].name,
                          k + 1);
    }
}

/* ---- the penny fabs ---- */

static const struct ledger_source factory = {
    "Hopp & Spearman",
    "W. J. Hopp, M. L. Spearman, Factory Physics, ch. 7, Basic Factory Dynamics (Penny Fab One: "
    "four machines of 2 h; Penny Fab Two: 1, 2, 6, 2 machines of 2, 5, 10, 3 h)",
    "laws and data read in a summary and in lecture slides; values by hand, by octave-queueing "
    "1.2.7 (qncsmva) and by an independent simulation"};

static const struct ring_node penny_one[] = {
    {"2 h", 1, 0}, {"2 h", 1, 0}, {"2 h", 1, 0}, {"2 h", 1, 0}};
static const struct ring_node penny_two[] = {
    {"2 h", 1, 0}, {"5 h", 2, 0}, {"10 h", 6, 0}, {"3 h", 2, 0}};

/* Pennies an hour, over a whole number of cycles that begin in the steady state. */
static double pennies(const struct ring_node node[4], int64_t jobs) {
    struct ring ring = {{node[0], node[1], node[2], node[3]}, jobs, 0, 0};
    struct scenario *scenario = ring_open(&ring);
    struct world *world = world_new(scenario);
    const int64_t hour = INT64_C(3600) * RING_TICKS;
    world_advance(world, 1200 * hour);
    int64_t before = ring_batches(world, &ring);
    world_advance(world, 13200 * hour);
    double rate = (double)(ring_batches(world, &ring) - before) / 12000;
    world_free(world);
    scenario_free(scenario);
    return rate;
}

static void penny_fabs(void) {
    ledger_group("Penny fabs",
                 "w pennies go round through four machine groups with chests between. With "
                 "fixed times the rate over 12 000 hours, in pennies an hour, is exact; with "
                 "exponential times of the same mean (seconds in place of hours) 20 runs.");
    for (int64_t w = 1; w <= 12; w++) {
        double best = w < 4 ? (double)w / 8 : 0.5;
        ledger_exact(&factory, best, pennies(penny_one, w), "Penny Fab One, best case, w = %lld",
                     (long long)w);
    }
    static const struct {
        int64_t w;
        double rate;
    } two[] = {{1, 0.05}, {4, 0.2}, {7, 0.35}, {8, 0.4}, {9, 0.4}, {10, 0.4}, {12, 0.4}};
    for (size_t i = 0; i < LENGTH(two); i++)
        ledger_exact(&factory, two[i].rate, pennies(penny_two, two[i].w),
                     "Penny Fab Two, best case, w = %lld", (long long)two[i].w);
    static const int64_t worst[] = {1, 2, 3, 4, 6, 8, 12};
    for (size_t i = 0; i < LENGTH(worst); i++) {
        int64_t w = worst[i];
        struct ring ring = {{{"{exponential: 2}", 1, 0},
                             {"{exponential: 2}", 1, 0},
                             {"{exponential: 2}", 1, 0},
                             {"{exponential: 2}", 1, 0}},
                            w,
                            100,
                            10000};
        double value[RING_FOUND][RUNS];
        ring_try(&ring, RUNS, &value[0][0]);
        ledger_sample(&factory, (double)w * 0.5 / (4 + (double)w - 1), value[RING_RATE], RUNS,
                      0.002, "Penny Fab One, practical worst case, w = %lld", (long long)w);
    }
    static const struct {
        int64_t w;
        double rate;
    } exponential[] = {{2, 0.0990099010},
                       {4, 0.1881832144},
                       {8, 0.3102192580},
                       {12, 0.3632269646},
                       {20, 0.3935678201}};
    for (size_t i = 0; i < LENGTH(exponential); i++) {
        struct ring ring = {{{"{exponential: 2}", 1, 0},
                             {"{exponential: 5}", 2, 0},
                             {"{exponential: 10}", 6, 0},
                             {"{exponential: 3}", 2, 0}},
                            exponential[i].w,
                            200,
                            8000};
        double value[RING_FOUND][RUNS];
        ring_try(&ring, RUNS, &value[0][0]);
        ledger_sample(&factory, exponential[i].rate, value[RING_RATE], RUNS, 0.002,
                      "Penny Fab Two, exponential times, w = %lld", (long long)exponential[i].w);
    }
}

/* ---- operators and machines ---- */

static const struct ledger_source palm = {
    "Palm 1947",
    "C. Palm, Arbetskraftens fördelning vid betjäning av automatmaskiner, Industritidningen "
    "Norden 75 (1947) 75-80, 90-94, 119-123",
    "recalled; worked out by octave-queueing 1.2.7 (qncsmva) and by birth and death"};
static const struct ledger_source ashcroft = {
    "Ashcroft 1950",
    "H. Ashcroft, The productivity of several machines under the care of one operator, Journal "
    "of the Royal Statistical Society B 12 (1950) 145-151",
    "recalled; worked out by an embedded Markov chain, three rows also by an independent "
    "simulation"};

static void operators(void) {
    ledger_group(
        "Operators with machines",
        "M machines run for an exponential time of mean 1/λ each and then wait for one of c "
        "operators, whose repair takes 1 s in the mean. 20 runs.");
    static const struct {
        const struct ledger_source *source;
        const char *name, *run, *repair;
        uint32_t machines, operators;
        double rate;
    } row[] = {
        {&palm, "M = 5, c = 1, λ = 0.1", "{exponential: 10}", "{exponential: 1}", 5, 1,
         0.4360478231},
        {&palm, "M = 10, c = 2, λ = 0.1", "{exponential: 10}", "{exponential: 1}", 10, 2,
         0.8961362181},
        {&palm, "M = 4, c = 1, λ = 0.25", "{exponential: 4}", "{exponential: 1}", 4, 1,
         0.6893203883},
        {&palm, "M = 8, c = 1, λ = 0.2", "{exponential: 5}", "{exponential: 1}", 8, 1,
         0.9299521478},
        {&palm, "M = 20, c = 3, λ = 0.125", "{exponential: 8}", "{exponential: 1}", 20, 3,
         2.139982774},
        {&ashcroft, "M = 2, repair always 1 s, λ = 0.1", "{exponential: 10}", "1 s", 2, 1,
         0.18102211},
        {&ashcroft, "M = 5, repair always 1 s, λ = 0.1", "{exponential: 10}", "1 s", 5, 1,
         0.44397911},
        {&ashcroft, "M = 10, repair always 1 s, λ = 0.1", "{exponential: 10}", "1 s", 10, 1,
         0.82100333},
        {&ashcroft, "M = 4, repair always 1 s, λ = 0.25", "{exponential: 4}", "1 s", 4, 1,
         0.72304134},
        {&ashcroft, "M = 8, repair always 1 s, λ = 0.2", "{exponential: 5}", "1 s", 8, 1,
         0.96993969},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct ring ring = {
            {{row[i].run, row[i].machines, 0}, {row[i].repair, row[i].operators, 0}},
            row[i].machines,
            100,
            5000};
        double value[RING_FOUND][RUNS];
        ring_try(&ring, RUNS, &value[0][0]);
        ledger_sample(row[i].source, row[i].rate, value[RING_RATE], RUNS, 0.006,
                      "%s: repairs a second", row[i].name);
    }
}

int main(void) {
    operators();
    belt_and_station();
    book_examples();
    penny_fabs();
    return ledger_end();
}
