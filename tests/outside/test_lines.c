/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_lines.c - stations one after another with little room between: blocking and
 * starving, failures, and what stops for good. */
#include <stdio.h>

#include "tests/outside/ledger.h"
#include "tests/outside/network.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

enum { RUNS = 20 };

/* ---- blocking after service ---- */

enum { TICKS = 100000, STATIONS_MAX = 6 };

struct line {
    uint32_t stations;
    uint32_t buffer; /* places in the chest between two stations, 0: no chest */
    const char *time[STATIONS_MAX];
    int64_t length; /* seconds */
};

/* The first station needs no material; the last one's chest has no bound. Servers of network.h hold
 * one job; without a chest between, a server fetches the job from the one before it. */
static struct scenario *open_line(const struct line *line) {
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "job", 1);
    shop_item(&shop, "token", 1);
    shop_part(&shop, SHOP_CHESTS, "name: done");
    for (uint32_t i = line->stations - 1; i > 0; i--) {
        char name[32], from[32], to[32];
        snprintf(name, sizeof name, "server-%u", i);
        snprintf(from, sizeof from, line->buffer > 0 ? "chest-%u" : "server-%u", i - 1);
        snprintf(to, sizeof to, i + 1 == line->stations ? "done" : "chest-%u", i);
        bool fetched = line->buffer == 0 && i + 1 < line->stations;
        network_add(&shop, &(struct network_server){.name = name,
                                                    .from = from,
                                                    .to = fetched ? NULL : to,
                                                    .time = line->time[i]});
        if (line->buffer > 0)
            shop_part(&shop, SHOP_CHESTS, "name: chest-%u, capacity: %u", i - 1, line->buffer);
    }
    shop_part(&shop, SHOP_STATIONS, "name: server-0, makes: {job: 1}, room: 1, time: %s",
              line->time[0]);
    if (line->buffer > 0)
        shop_part(&shop, SHOP_ARMS,
                  "name: out-0, from: server-0, to: chest-0, items: [job], swing: 0");
    return shop_open(&shop);
}

static void run_line(struct world *world, const struct scenario *scenario, const void *of,
                     double *found) {
    const struct line *line = of;
    uint32_t done = shop_chest(scenario, "done");
    int64_t from = 100 * TICKS, to = from + line->length * TICKS;
    world_advance(world, from);
    int64_t before = world_chest_count(world, done, 0);
    world_advance(world, to);
    found[0] = (double)(world_chest_count(world, done, 0) - before) / (double)line->length;
}

static void check_line(const struct ledger_source *source, const char *name,
                       const struct line *line, double rate) {
    double value[RUNS];
    struct scenario *scenario = open_line(line);
    trial_repeat(scenario, run_line, line, 1, RUNS, value);
    scenario_free(scenario);
    ledger_sample(source, rate, value, RUNS, 0.005, "%s: jobs a second", name);
}

static const struct ledger_source hillier = {
    "Hillier & Boling 1967",
    "F. S. Hillier, R. W. Boling, Finite queues in series with exponential or Erlang service "
    "times, Operations Research 15 (1967) 286-303",
    "recalled; worked out by a Markov chain (scipy 1.10.1) and by an independent simulation"};
static const struct ledger_source two_places = {
    "renewal of pairs",
    "two stations without room between start together, so the rate is 1/E max(S1, S2)",
    "by hand; E2, E5 and U(0,2) also by an independent simulation"};

static void blocking_lines(void) {
    ledger_group(
        "Stations in a row, little room between",
        "The first station needs no material, the chest behind the last has no bound; a station "
        "with a finished job that finds no room keeps it and stands (blocking after service). "
        "20 runs.");
    static const char e[] = "{exponential: 1}";
    static const struct {
        uint32_t stations, buffer;
        double rate;
    } equal[] = {{2, 0, 0.6666666667}, {2, 1, 0.75},          {2, 2, 0.8},
                 {2, 3, 0.8333333333}, {2, 10, 0.9230769231}, {3, 0, 0.5641025641},
                 {3, 1, 0.6704661583}, {3, 3, 0.7767115325},  {4, 0, 0.5147754893},
                 {4, 2, 0.7007129023}, {5, 1, 0.6075832861},  {6, 0, 0.4667132630}};
    for (size_t i = 0; i < LENGTH(equal); i++) {
        char name[128];
        struct line line = {equal[i].stations, equal[i].buffer, {e, e, e, e, e, e}, 5000};
        snprintf(name, sizeof name, "%u exponential stations, %u places between", line.stations,
                 line.buffer);
        check_line(&hillier, name, &line, equal[i].rate);
    }
    static const struct {
        uint32_t buffer;
        double rate;
    } unequal[] = {{0, 0.7252747253}, {1, 0.8137108793}, {3, 0.8992942541}, {5, 0.9393905776}};
    for (size_t i = 0; i < LENGTH(unequal); i++) {
        char name[128];
        struct line line = {2, unequal[i].buffer, {"{exponential: 0.833333333}", e}, 5000};
        snprintf(name, sizeof name, "rates 1.2 and 1, %u places between", line.buffer);
        check_line(&hillier, name, &line, unequal[i].rate);
    }
    static const struct {
        const char *name, *time;
        double rate;
    } paired[] = {{"E2", "{gamma: [1, 0.707106781186547524]}", 0.7272727273},
                  {"E3", "{gamma: [1, 0.577350269189625765]}", 0.7619047619},
                  {"E5", "{gamma: [1, 0.447213595499957939]}", 0.8025078370},
                  {"U(0,2)", "{uniform: [0, 2]}", 0.75},
                  {"U(0.5,1.5)", "{uniform: [0.5, 1.5]}", 0.8571428571},
                  {"always 1 s", "1 s", 1}};
    for (size_t i = 0; i < LENGTH(paired); i++) {
        char name[128];
        struct line line = {2, 0, {paired[i].time, paired[i].time}, 2000};
        snprintf(name, sizeof name, "two stations %s, no place between", paired[i].name);
        check_line(&two_places, name, &line, paired[i].rate);
    }
}

/* ---- failures ---- */

static const struct ledger_source buzacott = {
    "Buzacott 1967",
    "J. A. Buzacott, Automatic transfer lines with buffer stocks, International Journal of "
    "Production Research 5 (1967) 183-200, with the conventions of S. B. Gershwin, Manufacturing "
    "Systems Engineering, Englewood Cliffs 1994, ch. 3",
    "recalled; worked out by a Markov chain (numpy 1.24.2), five rows also by a product form"};

struct failing {
    double r1, p1, r2, p2; /* repair and failure in a cycle */
    int64_t room;          /* between, the second machine's job counted */
    double rate, level, empty, full;
    int64_t cycles;
};

static void add_machine(struct shop *shop, int which, double failure, double repair,
                        const char *keys, const char *to) {
    shop_part(shop, SHOP_CHESTS, "name: broken-%d", which);
    shop_part(
        shop, SHOP_STATIONS,
        "name: machine-%d, makes: {job: 1, fault: {count: 1, chance: %g}}, time: 1 s, room: 1, %s",
        which, failure, keys);
    shop_part(shop, SHOP_ARMS,
              "name: fail-%d, from: machine-%d, to: broken-%d, items: [fault], swing: 0", which,
              which, which);
    shop_part(shop, SHOP_ARMS,
              "name: out-%d, from: machine-%d, to: %s, items: [job], swing: 0, gate: {chest: "
              "broken-%d, below: 1}",
              which, which, to, which);
    shop_part(
        shop, SHOP_DEMANDS,
        "name: repair-%d, chest: broken-%d, item: fault, every: {geometric: %g}, when_short: lose",
        which, which, repair);
}

/* A tick is a cycle. A machine that fails keeps its job: the fault that its batch makes goes into a
 * chest and shuts its way out until a repair, tried in each cycle, takes it. The first one starts
 * while fewer than `room` jobs are in the chest, in the second one's stock, or in work there. */
static struct scenario *open_failing(const struct failing *failing) {
    struct shop shop = {.ticks_per_second = 1};
    shop_item(&shop, "job", 1);
    shop_item(&shop, "fault", 1);
    shop_part(&shop, SHOP_CHESTS, "name: between");
    shop_part(&shop, SHOP_CHESTS, "name: done");
    add_machine(&shop, 2, failing->p2, failing->r2, "takes: {job: 1}, ahead: 1", "done");
    char gate[256];
    snprintf(gate, sizeof gate,
             "gate: {any: [{chest: between, below: %lld}, {all: [{chest: between, below: %lld}, "
             "{station: machine-2, input: job, below: 1}]}]}",
             (long long)failing->room - 2, (long long)failing->room - 1);
    add_machine(&shop, 1, failing->p1, failing->r1, gate, "between");
    shop_part(&shop, SHOP_ARMS, "name: feed, from: between, to: machine-2, items: [job], swing: 0");
    return shop_open(&shop);
}

enum { LEVEL, EMPTY, FULL, FAILING_RATE, FAILING_FOUND };
enum { BETWEEN_CHEST, DONE_CHEST, SECOND_MACHINE = 0 };

static void look_at_failing(const struct world *world, const void *of, double *seen) {
    const struct failing *failing = of;
    int64_t level = world_chest_count(world, BETWEEN_CHEST, 0) +
                    world_input_count(world, SECOND_MACHINE, 0) +
                    world_output_count(world, SECOND_MACHINE, 0) +
                    (world_station_state(world, SECOND_MACHINE) == STATION_WORKING);
    seen[LEVEL] += (double)level;
    seen[EMPTY] += level == 0;
    seen[FULL] += level == failing->room;
}

static void run_failing(struct world *world, const struct scenario *scenario, const void *of,
                        double *found) {
    (void)scenario;
    const struct failing *failing = of;
    enum { WARM_UP = 1000 };
    world_advance(world, WARM_UP);
    int64_t before = world_chest_count(world, DONE_CHEST, 0);
    struct trial_window window = {WARM_UP, WARM_UP + failing->cycles, 1};
    trial_average(world, window, look_at_failing, failing, FAILING_RATE, found);
    found[FAILING_RATE] =
        (double)(world_chest_count(world, DONE_CHEST, 0) - before) / (double)failing->cycles;
}

static void failing_lines(void) {
    ledger_group(
        "Two machines that fail, a chest between",
        "A cycle is a tick. An up machine that has material and room fails with chance p and "
        "else makes one; a down one is repaired with chance r and makes one then. N counts the "
        "second machine's own job. 20 runs after 1000 cycles.");
    static const struct failing row[] = {
        {.1, .01, .1, .01, 4, 0.8409361365, 2, 0.07497025, 0.07497025, 50000},
        {.1, .01, .1, .01, 10, 0.8561749307, 5, 0.05820758, 0.05820758, 50000},
        {.14, .1, .1, .1, 10, 0.4365421289, 5.86118365, 0.12691574, 0.25164206, 50000},
        {.1, .1, .14, .1, 10, 0.4365421289, 4.13881635, 0.25164206, 0.12691574, 50000},
        {.2, .05, .2, .05, 5, 0.7034482759, 2.5, 0.12068966, 0.12068966, 50000},
        {.1, .01, .2, .01, 10, 0.8906146909, 4.22993315, 0.06485457, 0.02032384, 50000},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        char name[128];
        snprintf(name, sizeof name, "r1 p1 r2 p2 N = %g %g %g %g %lld", row[i].r1, row[i].p1,
                 row[i].r2, row[i].p2, (long long)row[i].room);
        double value[FAILING_FOUND][RUNS];
        struct scenario *scenario = open_failing(&row[i]);
        trial_repeat(scenario, run_failing, &row[i], FAILING_FOUND, RUNS, &value[0][0]);
        scenario_free(scenario);
        ledger_sample(&buzacott, row[i].rate, value[FAILING_RATE], RUNS, 0.003, "%s: jobs a cycle",
                      name);
        ledger_sample(&buzacott, row[i].level, value[LEVEL], RUNS, 0.06, "%s: mean level", name);
        ledger_sample(&buzacott, row[i].empty, value[EMPTY], RUNS, 0.003, "%s: empty", name);
        ledger_sample(&buzacott, row[i].full, value[FULL], RUNS, 0.003, "%s: full", name);
    }
}

/* ---- machines that work or not, by the throw of a coin in each cycle ---- */

static const struct ledger_source meerkov = {
    "Li & Meerkov 2009",
    "J. Li, S. M. Meerkov, Production Systems Engineering, New York 2009, ch. 4",
    "formula recalled; confirmed by a Markov chain (numpy 1.24.2)"};

struct coins {
    double p1, p2;
    int64_t room;
    double rate;
};

enum { COIN_CYCLES = 20000 };

static void run_coins(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)scenario;
    (void)of;
    enum { WARM_UP = 100 };
    world_advance(world, WARM_UP);
    int64_t before = world_item_totals(world, 0).met;
    world_advance(world, WARM_UP + COIN_CYCLES);
    found[0] = (double)(world_item_totals(world, 0).met - before) / COIN_CYCLES;
}

static void coin_lines(void) {
    ledger_group(
        "Two machines that work or not by chance, a chest between",
        "The first is a supply, the second a demand, each `geometric` with its chance, each "
        "losing its turn where there is no room or no job. A cycle begins with the demand. 20 "
        "runs of 20 000 cycles.");
    static const struct coins row[] = {{.9, .9, 1, 0.8181818182}, {.9, .9, 2, 0.8571428571},
                                       {.9, .9, 4, 0.8780487805}, {.8, .9, 2, 0.7787021631},
                                       {.9, .8, 2, 0.7787021631}, {.7, .7, 5, 0.6603773585}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = 1};
        shop_item(&shop, "job", 1);
        shop_part(&shop, SHOP_CHESTS, "name: between, capacity: %lld", (long long)row[i].room);
        shop_part(&shop, SHOP_SUPPLIES,
                  "name: first, chest: between, item: job, every: {geometric: %g}, when_full: lose",
                  row[i].p1);
        shop_part(
            &shop, SHOP_DEMANDS,
            "name: second, chest: between, item: job, every: {geometric: %g}, when_short: lose",
            row[i].p2);
        struct scenario *scenario = shop_open(&shop);
        double value[RUNS];
        trial_repeat(scenario, run_coins, NULL, 1, RUNS, value);
        scenario_free(scenario);
        ledger_sample(&meerkov, row[i].rate, value, RUNS, 0.002,
                      "p1 p2 N = %g %g %lld: jobs a cycle", row[i].p1, row[i].p2,
                      (long long)row[i].room);
    }
}

/* ---- rings of stations with bounded room: the last place decides ---- */

static const struct ledger_source akyildiz = {
    "Akyildiz 1988",
    "I. F. Akyildiz, Mean value analysis for blocking queueing networks, IEEE Transactions on "
    "Software Engineering 14 (1988) 418-428 (the model; his values are approximate and are not "
    "used)",
    "worked out by a Markov chain (scipy 1.10.1)"};
static const struct ledger_source kundu = {
    "Kundu & Akyildiz 1989",
    "S. Kundu, I. F. Akyildiz, Deadlock free buffer allocation in closed queueing networks, "
    "Queueing Systems 4 (1989) 47-56: free of deadlock if and only if a ring has more places "
    "than jobs",
    "read in the abstract"};

enum { RING_STATIONS_MAX = 3 };
struct tight {
    const char *time[RING_STATIONS_MAX];
    int64_t places[RING_STATIONS_MAX]; /* of each node, the one in service counted */
    uint32_t stations;
    int64_t jobs;
    double rate;
};

static struct scenario *open_tight(const struct tight *ring) {
    struct shop shop = {.ticks_per_second = TICKS};
    shop_item(&shop, "job", 1);
    shop_item(&shop, "token", 1);
    shop_part(&shop, SHOP_CHESTS, "name: outside, start: {job: %lld}", (long long)ring->jobs);
    for (uint32_t i = 0; i < ring->stations; i++)
        shop_part(&shop, SHOP_CHESTS, "name: queue-%u, capacity: %lld", i,
                  (long long)ring->places[i] - 1);
    for (uint32_t i = ring->stations; i-- > 0;) {
        char name[32], from[32], to[32];
        snprintf(name, sizeof name, "node-%u", i);
        snprintf(from, sizeof from, "queue-%u", i);
        snprintf(to, sizeof to, "queue-%u", (i + 1) % ring->stations);
        network_add(&shop, &(struct network_server){
                               .name = name, .from = from, .to = to, .time = ring->time[i]});
    }
    shop_part(&shop, SHOP_ARMS, "name: load, from: outside, to: queue-0, items: [job], swing: 0");
    return shop_open(&shop);
}

enum { TIGHT_SECONDS = 5000 };

static void run_tight(struct world *world, const struct scenario *scenario, const void *of,
                      double *found) {
    (void)scenario;
    (void)of;
    enum { WARM_UP = 500 };
    world_advance(world, WARM_UP * TICKS);
    int64_t before = world_station_totals(world, 0).batches;
    world_advance(world, (WARM_UP + TIGHT_SECONDS) * TICKS);
    found[0] = (double)(world_station_totals(world, 0).batches - before) / TIGHT_SECONDS;
}

static void tight_rings(void) {
    ledger_group(
        "Rings of stations with bounded room",
        "K jobs go round; a node has room for so many, the one in service counted, and blocks "
        "the one before it. As many jobs as places: all stand for ever, in every one of the 20 "
        "runs; one job fewer: none does.");
    static const char one[] = "{exponential: 1}";
    static const struct tight row[] = {
        {{one, one}, {3, 3}, 2, 1, 0.5},
        {{one, one}, {3, 3}, 2, 3, 0.75},
        {{one, one}, {3, 3}, 2, 4, 0.8},
        {{one, one}, {3, 3}, 2, 5, 0.75},
        {{one, one}, {3, 3}, 2, 6, 0},
        {{one, one, one}, {2, 2, 2}, 3, 2, 0.5},
        {{one, one, one}, {2, 2, 2}, 3, 4, 0.6428571429},
        {{one, one, one}, {2, 2, 2}, 3, 5, 0.6428571429},
        {{one, one, one}, {2, 2, 2}, 3, 6, 0},
        {{"{exponential: 1.5}", "{exponential: 2}", one}, {4, 5, 5}, 3, 4, 0.4219096965},
        {{"{exponential: 1.5}", "{exponential: 2}", one}, {4, 5, 5}, 3, 8, 0.4710814927},
        {{"{exponential: 1.5}", "{exponential: 2}", one}, {4, 5, 5}, 3, 12, 0.4372701503},
        {{"{exponential: 1.5}", "{exponential: 2}", one}, {4, 5, 5}, 3, 13, 0.4069075409},
        {{"{exponential: 1.5}", "{exponential: 2}", one}, {4, 5, 5}, 3, 14, 0},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        double value[RUNS];
        struct scenario *scenario = open_tight(&row[i]);
        trial_repeat(scenario, run_tight, NULL, 1, RUNS, value);
        scenario_free(scenario);
        char name[128];
        snprintf(name, sizeof name, "%u stations, %lld places in the first, K = %lld",
                 row[i].stations, (long long)row[i].places[0], (long long)row[i].jobs);
        if (row[i].rate == 0) {
            int moving = 0;
            for (int r = 0; r < RUNS; r++)
                moving += value[r] > 0;
            ledger_exact(&kundu, 0, moving, "%s: runs that still move", name);
        } else {
            ledger_sample(&akyildiz, row[i].rate, value, RUNS, 0.004, "%s: jobs a second", name);
        }
    }
}

/* ---- who goes first ---- */

static const struct ledger_source cobham = {
    "Cobham 1954",
    "A. Cobham, Priority assignment in waiting line problems, Journal of the Operations Research "
    "Society of America 2 (1954) 70-76",
    "formula recalled, worked out by hand"};

struct classes {
    uint32_t count;
    double interval[3], wait[3];
};

static void look_at_classes(const struct world *world, const void *of, double *seen) {
    const struct classes *classes = of;
    for (uint32_t i = 0; i < classes->count; i++)
        seen[i] += (double)world_chest_count(world, i, 0);
}

static void run_classes(struct world *world, const struct scenario *scenario, const void *of,
                        double *found) {
    (void)scenario;
    const struct classes *classes = of;
    struct trial_window window = {200 * TICKS, 20200 * (int64_t)TICKS, 73171};
    trial_average(world, window, look_at_classes, classes, classes->count, found);
    for (uint32_t i = 0; i < classes->count; i++)
        found[i] *= classes->interval[i];
}

static void priorities(void) {
    ledger_group(
        "Who goes first",
        "Poisson deliveries into one chest for each class, exponential work of mean 1 s at one "
        "server: stations that share a token, fed by arms in the order of priority. Mean wait "
        "of each class by Little's law; 20 runs.");
    static const struct classes row[] = {{2, {1 / 0.3, 2.5}, {1, 3.3333333333}},
                                         {3, {5, 5, 2.5}, {1, 1.6666666667, 6.6666666667}}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = TICKS};
        shop_item(&shop, "job", 1);
        shop_item(&shop, "token", 1);
        for (uint32_t c = 0; c < row[i].count; c++)
            shop_part(&shop, SHOP_CHESTS, "name: queue-%u", c);
        shop_part(&shop, SHOP_CHESTS, "name: free, start: {token: 1}");
        struct network_server server[3];
        char name[3][32], from[3][32];
        shop_part(&shop, SHOP_CHESTS, "name: done");
        for (uint32_t c = 0; c < row[i].count; c++) {
            snprintf(name[c], sizeof name[c], "class-%u", c);
            snprintf(from[c], sizeof from[c], "queue-%u", c);
            server[c] =
                (struct network_server){name[c], from[c], "done", "{exponential: 1}", "free"};
            network_add_station(&shop, &server[c]);
            shop_part(&shop, SHOP_SUPPLIES,
                      "name: source-%u, chest: queue-%u, item: job, every: {exponential: %.9f}", c,
                      c, row[i].interval[c]);
        }
        for (uint32_t c = 0; c < row[i].count; c++)
            network_add_feed(&shop, &server[c]);
        struct scenario *scenario = shop_open(&shop);
        double value[3][RUNS];
        trial_repeat(scenario, run_classes, &row[i], row[i].count, RUNS, &value[0][0]);
        scenario_free(scenario);
        for (uint32_t c = 0; c < row[i].count; c++)
            ledger_sample(&cobham, row[i].wait[c], value[c], RUNS, 0.3,
                          "%u classes: mean wait of class %u", row[i].count, c + 1);
    }
}

int main(void) {
    blocking_lines();
    failing_lines();
    coin_lines();
    tight_rings();
    priorities();
    return ledger_end();
}
