/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_queues.c - queues with one and with many servers. An arm whose swing is the
 * time of service takes from a chest into which a supply delivers; what lies in the chest waits. */
#include <stdio.h>

#include "tests/outside/ledger.h"
#include "tests/outside/shop.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

enum { TICKS = 100000, RUNS = 20, SERVERS_MAX = 20 };

/* ---- one chest, some arms ---- */

struct queue {
    const char *arrivals, *service; /* as a scenario writes them, in mean services */
    double interval;                /* mean of arrivals */
    uint32_t servers;
    int64_t places; /* in all, those served counted; NOT_GIVEN: no bound */
    int64_t length; /* of a run after its warm-up, in mean services */
};

static struct scenario *open_queue(const struct queue *queue) {
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "job", 1);
    if (queue->places == NOT_GIVEN)
        shop_part(&shop, SHOP_CHESTS, "name: queue");
    else
        shop_part(&shop, SHOP_CHESTS, "name: queue, capacity: %lld",
                  (long long)queue->places - queue->servers);
    shop_part(&shop, SHOP_CHESTS, "name: done");
    for (uint32_t i = 0; i < queue->servers; i++)
        shop_part(&shop, SHOP_ARMS, "name: server-%u, from: queue, to: done, swing: %s", i,
                  queue->service);
    shop_part(&shop, SHOP_SUPPLIES,
              "name: source, chest: queue, item: job, every: %s, when_full: lose", queue->arrivals);
    return shop_open(&shop);
}

enum { DISTRIBUTION = 6 };
enum { WAITING, ALL_BUSY, PRESENT, PRESENT_0, PRESENT_END = PRESENT_0 + DISTRIBUTION };
enum { LOOKED = PRESENT_END, ENTERED = PRESENT_END, FOUND };

static void look_at_queue(const struct world *world, const void *of, double *seen) {
    const struct queue *queue = of;
    int64_t waiting = world_chest_count(world, 0, 0);
    uint32_t busy = 0;
    for (uint32_t i = 0; i < queue->servers; i++)
        busy += world_arm_state(world, i) != ARM_REACHING;
    int64_t present = waiting + busy;
    seen[WAITING] += (double)waiting;
    seen[ALL_BUSY] += busy == queue->servers;
    seen[PRESENT] += (double)present;
    if (present < DISTRIBUTION)
        seen[PRESENT_0 + present]++;
}

static void run_queue(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)scenario;
    const struct queue *queue = of;
    int64_t from = queue->length / 20 * TICKS, to = from + queue->length * TICKS;
    world_advance(world, from);
    int64_t before = world_item_totals(world, 0).supplied;
    struct trial_window window = {from, to, 73171}; /* no beat with any interval */
    trial_average(world, window, look_at_queue, queue, LOOKED, found);
    found[ENTERED] =
        (double)(world_item_totals(world, 0).supplied - before) / (double)queue->length;
}

static void try_queue(const struct queue *queue, double value[FOUND][RUNS]) {
    struct scenario *scenario = open_queue(queue);
    trial_repeat(scenario, run_queue, queue, FOUND, RUNS, &value[0][0]);
    scenario_free(scenario);
}

/* Little: mean wait = mean number waiting, by the rate of arrivals, which is known. */
static void check_wait(const struct ledger_source *source, const char *name, struct queue queue,
                       double wait, double error_most) {
    double value[FOUND][RUNS];
    try_queue(&queue, value);
    for (int r = 0; r < RUNS; r++)
        value[WAITING][r] *= queue.interval;
    ledger_sample(source, wait, value[WAITING], RUNS, error_most, "%s: mean wait", name);
}

static const struct ledger_source pollaczek = {
    "Pollaczek-Khinchine",
    "F. Pollaczek, Mathematische Zeitschrift 32 (1930) 64-100; A. Khinchine, Mat. Sbornik 39 "
    "(1932) 73-84: mean wait ρ(1 + cv²)/(2(1 - ρ)) mean services",
    "recalled; worked out by octave-queueing 1.2.7 (qsmm1, qsmg1)"};
static const struct ledger_source kendall = {
    "Kendall 1953",
    "D. G. Kendall, Stochastic processes occurring in the theory of queues and their analysis by "
    "the method of the imbedded Markov chain, Annals of Mathematical Statistics 24 (1953) "
    "338-354: mean wait σ/(1 - σ), σ the root of σ = A*(1 - σ)",
    "recalled; root found by scipy 1.10.1, D/M/1 also by an independent simulation"};
static const struct ledger_source crommelin = {
    "Crommelin 1932",
    "C. D. Crommelin, Delay probability formulae when the holding times are constant, Post "
    "Office Electrical Engineers' Journal 25 (1932) 41-50",
    "recalled; series summed by program"};

static const struct {
    const struct ledger_source *source;
    const char *name;
    struct queue queue;
    double wait, error_most;
} single_server[] = {
    {&pollaczek,
     "M/M/1, ρ = 0.5",
     {"{exponential: 2}", "{exponential: 1}", 2, 1, -1, 5000},
     1,
     0.03},
    {&pollaczek,
     "M/M/1, ρ = 0.8",
     {"{exponential: 1.25}", "{exponential: 1}", 1.25, 1, -1, 20000},
     4,
     0.12},
    {&pollaczek,
     "M/M/1, ρ = 0.9",
     {"{exponential: 1.111111111}", "{exponential: 1}", 1.111111111, 1, -1, 40000},
     9,
     0.5},
    {&pollaczek, "M/D/1, ρ = 0.5", {"{exponential: 2}", "1 s", 2, 1, -1, 5000}, 0.5, 0.01},
    {&pollaczek, "M/D/1, ρ = 0.8", {"{exponential: 1.25}", "1 s", 1.25, 1, -1, 20000}, 2, 0.05},
    {&pollaczek,
     "M/D/1, ρ = 0.9",
     {"{exponential: 1.111111111}", "1 s", 1.111111111, 1, -1, 40000},
     4.5,
     0.2},
    {&pollaczek,
     "M/E4/1, ρ = 0.8",
     {"{exponential: 1.25}", "{gamma: [1, 0.5]}", 1.25, 1, -1, 10000},
     2.5,
     0.1},
    {&pollaczek,
     "M/E2/1, ρ = 0.5",
     {"{exponential: 2}", "{gamma: [1, 0.707106781186547524]}", 2, 1, -1, 5000},
     0.75,
     0.02},
    {&pollaczek,
     "M/U(0,2)/1, ρ = 0.8",
     {"{exponential: 1.25}", "{uniform: [0, 2]}", 1.25, 1, -1, 10000},
     2.6666666667,
     0.1},
    {&pollaczek,
     "M/G/1, gamma, cv² = 4, ρ = 0.5",
     {"{exponential: 2}", "{gamma: [1, 2]}", 2, 1, -1, 20000},
     2.5,
     0.1},
    {&pollaczek,
     "M/G/1, lognormal, cv² = 1, ρ = 0.5",
     {"{exponential: 2}", "{lognormal: [1, 1]}", 2, 1, -1, 10000},
     1,
     0.05},
    {&kendall, "D/M/1, ρ = 0.5", {"2 s", "{exponential: 1}", 2, 1, -1, 5000}, 0.2550009749, 0.01},
    {&kendall,
     "D/M/1, ρ = 0.8",
     {"1.25 s", "{exponential: 1}", 1.25, 1, -1, 10000},
     1.6927308399,
     0.05},
    {&kendall,
     "E2/M/1, ρ = 0.5",
     {"{gamma: [2, 0.707106781186547524]}", "{exponential: 1}", 2, 1, -1, 5000},
     0.6180339887,
     0.02},
    {&pollaczek, "D/D/1, ρ = 0.9", {"1.111111111 s", "1 s", 1.111111111, 1, -1, 100}, 0, 0},
};

static void single_servers(void) {
    ledger_group(
        "One server",
        "A supply, a chest, an arm; the arm's swing is the service (mean 1 s, 100 000 ticks), "
        "so that halves of swings and times between deliveries both count. 20 runs after a "
        "warm-up of a twentieth; number waiting every 0.73171 s, by Little's law as a wait.");
    for (size_t i = 0; i < LENGTH(single_server); i++)
        check_wait(single_server[i].source, single_server[i].name, single_server[i].queue,
                   single_server[i].wait, single_server[i].error_most);

    static const double share[DISTRIBUTION] = {0.2,          0.2451081857, 0.1894117506,
                                               0.1275795834, 0.0832755924, 0.0541276496};
    struct queue queue = {"{exponential: 1.25}", "1 s", 1.25, 1, NOT_GIVEN, 20000};
    double value[FOUND][RUNS];
    try_queue(&queue, value);
    for (int k = 0; k < DISTRIBUTION; k++)
        ledger_sample(&crommelin, share[k], value[PRESENT_0 + k], RUNS, 0.002,
                      "M/D/1, ρ = 0.8: share of time with %d present", k);
}

/* ---- bounded, and many servers ---- */

static const struct ledger_source birth_death = {
    "Morse 1958",
    "P. M. Morse, Queues, Inventories and Maintenance, New York 1958, ch. 2-3 (birth and death "
    "equations of a bounded queue)",
    "recalled; worked out by octave-queueing 1.2.7 (qsmm1k, qsmmmk) and by a second formula"};
static const struct ledger_source erlang = {
    "Erlang 1917",
    "A. K. Erlang, Solution of some problems in the theory of probabilities of significance in "
    "automatic telephone exchanges, Post Office Electrical Engineers' Journal 10 (1917) 189-197",
    "recalled; worked out by octave-queueing 1.2.7 (erlangc, erlangb) and by recursion"};

static void bounded_queues(void) {
    ledger_group("A bounded queue",
                 "As before, but the chest has a capacity and the supply loses what does not "
                 "fit. K counts the one in service. Lost: 1 - entered/offered.");
    static const struct {
        const char *name;
        struct queue queue;
        double lost, present;
    } row[] = {
        {"M/M/1/5, λ = 0.5",
         {"{exponential: 2}", "{exponential: 1}", 2, 1, 5, 10000},
         0.01587301587,
         0.9047619048},
        {"M/M/1/5, λ = 0.8",
         {"{exponential: 1.25}", "{exponential: 1}", 1.25, 1, 5, 10000},
         0.08881949866,
         1.868332032},
        {"M/M/1/10, λ = 1",
         {"{exponential: 1}", "{exponential: 1}", 1, 1, 10, 20000},
         0.0909090909,
         5},
        {"M/M/1/5, λ = 1.2",
         {"{exponential: 0.833333333}", "{exponential: 1}", 0.833333333, 1, 5, 10000},
         0.2505881216,
         3.021172376},
        {"M/M/1/3, λ = 2",
         {"{exponential: 0.5}", "{exponential: 1}", 0.5, 1, 3, 5000},
         0.5333333333,
         2.2666666667},
        {"M/M/3/5, λ = 2",
         {"{exponential: 0.5}", "{exponential: 1}", 0.5, 3, 5, 5000},
         0.07582938389,
         2.113744076},
        {"M/M/3/6, λ = 3",
         {"{exponential: 0.333333333}", "{exponential: 1}", 0.333333333, 3, 6, 5000},
         0.1698113208,
         3.509433962},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        double value[FOUND][RUNS];
        try_queue(&row[i].queue, value);
        for (int r = 0; r < RUNS; r++)
            value[ENTERED][r] = 1 - value[ENTERED][r] * row[i].queue.interval;
        ledger_sample(&birth_death, row[i].lost, value[ENTERED], RUNS, 0.006, "%s: share lost",
                      row[i].name);
        ledger_sample(&birth_death, row[i].present, value[PRESENT], RUNS, 0.06, "%s: mean number",
                      row[i].name);
    }
}

static void many_servers(void) {
    ledger_group("Many servers at one chest",
                 "As before, with c arms at the chest. A delivery has to wait when all are "
                 "busy; by PASTA (R. W. Wolff, Operations Research 30 (1982) 223-231) its "
                 "chance is the share of time in which they are.");
    static const struct {
        double load;
        struct queue queue;
        double busy, wait, error_most;
    } row[] = {
        {1.5,
         {"{exponential: 0.666666667}", "{exponential: 1}", 0.666666667, 2, -1, 10000},
         0.642857142857,
         1.285714286,
         0.03},
        {2,
         {"{exponential: 0.5}", "{exponential: 1}", 0.5, 3, -1, 10000},
         0.444444444444,
         0.4444444444,
         0.02},
        {2.5,
         {"{exponential: 0.4}", "{exponential: 1}", 0.4, 3, -1, 10000},
         0.702247191011,
         1.404494382,
         0.05},
        {4,
         {"{exponential: 0.25}", "{exponential: 1}", 0.25, 5, -1, 5000},
         0.554112554113,
         0.5541125541,
         0.03},
        {8,
         {"{exponential: 0.125}", "{exponential: 1}", 0.125, 10, -1, 3000},
         0.409180150796,
         0.2045900754,
         0.02},
        {18,
         {"{exponential: 0.055555556}", "{exponential: 1}", 0.055555556, 20, -1, 2000},
         0.550769004816,
         0.2753845024,
         0.02},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        double value[FOUND][RUNS];
        try_queue(&row[i].queue, value);
        for (int r = 0; r < RUNS; r++)
            value[WAITING][r] *= row[i].queue.interval;
        ledger_sample(&erlang, row[i].busy, value[ALL_BUSY], RUNS, 0.01,
                      "M/M/%u, load %g: share that waits", row[i].queue.servers, row[i].load);
        ledger_sample(&erlang, row[i].wait, value[WAITING], RUNS, row[i].error_most,
                      "M/M/%u, load %g: mean wait", row[i].queue.servers, row[i].load);
    }
}

int main(void) {
    single_servers();
    bounded_queues();
    many_servers();
    return ledger_end();
}
