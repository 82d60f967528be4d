/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/test_moments.c - tests of estimates: what sim/estimate gives for certified data,
 * and how far the mean of a run varies, against processes for which that is known. The unit
 * tests of sim/estimate and sim/random go further into each; these are the values from outside. */
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/estimate.h"
#include "sim/random.h"
#include "sim/require.h"
#include "tests/outside/ledger.h"
#include "tests/outside/shop.h"
#include "tests/outside/trial.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

/* ---- data ---- */

enum { DATA_MAX = 5000 };

struct series {
    double value[DATA_MAX];
    size_t count;
};

static void read_data(struct series *series, const char *name) {
    char path[64], line[64];
    snprintf(path, sizeof path, "tests/outside/data/%s.txt", name);
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        fprintf(stderr, "%s is missing: run the tests from the root of the sources\n", path);
        exit(EXIT_FAILURE);
    }
    series->count = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        require(series->count < DATA_MAX);
        series->value[series->count++] = strtod(line, NULL);
    }
    fclose(file);
}

/* NIST's NumAcc sets: one value, then 500 pairs about it. */
static void make_data(struct series *series, double middle) {
    series->count = 0;
    series->value[series->count++] = middle;
    for (int i = 0; i < 500; i++) {
        series->value[series->count++] = middle - 0.1;
        series->value[series->count++] = middle + 0.1;
    }
}

static struct series data;

static const struct ledger_source nist = {
    "NIST StRD",
    "National Institute of Standards and Technology, Statistical Reference Datasets, univariate "
    "summary statistics, certified values",
    "data read in the source of GSL 2.7.1; values derived again to 60 digits"};

static void certified(void) {
    ledger_group(
        "Certified moments",
        "Means, standard deviations (n - 1) and correlations of neighbours by sim/estimate. "
        "Tolerances are those of double arithmetic with inputs that decimals only come near to.");
    static const struct {
        const char *name;
        double middle, mean, deviation, correlation, tolerance;
    } row[] = {
        {"Lew", 0, -177.435, 277.332168044316, -0.307304800605679, 1e-12},
        {"Lottery", 0, 518.958715596330, 291.699727470969, -0.120948622967393, 1e-12},
        {"Mavro", 0, 2.001856, 0.000429123454003053, 0.937989183438248, 1e-12},
        {"Michelso", 0, 299.8524, 0.0790105478190518, 0.535199668621283, 1e-12},
        {"PiDigits", 0, 4.5348, 2.86733906028871, -0.00355099287237972, 1e-12},
        {"NumAcc2", 1.2, 1.2, 0.1, -0.999, 1e-12},
        {"NumAcc3", 1000000.2, 1000000.2, 0.1, -0.999, 1e-9},
        {"NumAcc4", 10000000.2, 10000000.2, 0.1, -0.999, 1e-8},
    };
    for (size_t i = 0; i < LENGTH(row); i++) {
        if (row[i].middle == 0)
            read_data(&data, row[i].name);
        else
            make_data(&data, row[i].middle);
        ledger_near(&nist, row[i].mean, estimate_average(data.value, data.count), 1e-14, "double",
                    "%s: mean", row[i].name);
        ledger_near(&nist, row[i].deviation, estimate_deviation(data.value, data.count),
                    row[i].tolerance, "double", "%s: standard deviation", row[i].name);
        ledger_near(&nist, row[i].correlation,
                    estimate_neighbour_correlation(data.value, data.count), row[i].tolerance,
                    "double", "%s: correlation of neighbours", row[i].name);
    }
    static const double num_acc_1[] = {10000001, 10000003, 10000002};
    ledger_exact(&nist, 10000002, estimate_average(num_acc_1, 3), "NumAcc1: mean");
    ledger_exact(&nist, 1, estimate_deviation(num_acc_1, 3), "NumAcc1: standard deviation");
    ledger_exact(&nist, -0.5, estimate_neighbour_correlation(num_acc_1, 3),
                 "NumAcc1: correlation of neighbours");
}

/* ---- intervals ---- */

static const struct ledger_source student = {
    "Student 1908",
    "W. S. Gosset (Student), The probable error of a mean, Biometrika 6 (1908) 1-25",
    "factors by scipy 1.10.1 and R 4.2.2"};
static const struct ledger_source clopper = {
    "Clopper & Pearson 1934",
    "C. J. Clopper, E. S. Pearson, The use of confidence or fiducial limits illustrated in the "
    "case of the binomial, Biometrika 26 (1934) 404-413; 682 of 925 also on R's manual page of "
    "binom.test",
    "bounds by R 4.2.2 (binom.test) and scipy 1.10.1"};
static const struct ledger_source handbook = {
    "NIST/SEMATECH",
    "NIST/SEMATECH e-Handbook of Statistical Methods 8.4.5.1 (time-censored observation)",
    "recalled; factors by scipy 1.10.1"};
static const struct ledger_source batch_means = {
    "numpy 1.24.2", "batch means of the public series, worked out by numpy 1.24.2 to ten places",
    "worked out by program"};
static const struct ledger_source white = {"White 1997",
                                           "K. P. White, An effective truncation heuristic for "
                                           "bias reduction in simulation output, Simulation 69 "
                                           "(1997) 323-334 (MSER-5)",
                                           "recalled; worked out by numpy 1.24.2"};

/* The factor with which a standard error of 1 is multiplied. */
static double student_factor(size_t freedom) {
    static double value[100];
    size_t count = freedom + 1, pairs = count / 2;
    double a = sqrt((double)(count * (count - 1)) / (double)(2 * pairs));
    for (size_t i = 0; i < count; i++)
        value[i] = i >= 2 * pairs ? 0 : i % 2 == 0 ? a : -a;
    return estimate_mean(value, count, 0.95).high;
}

static void intervals(void) {
    ledger_group(
        "Intervals",
        "Bounds at 95 % by sim/estimate. The published factors were printed with so many digits "
        "as their programs' accuracy allows; tolerances follow.");
    static const struct {
        size_t freedom;
        double factor;
    } t[] = {{4, 2.776445105},  {9, 2.262157163},  {19, 2.093024054},
             {29, 2.045229642}, {59, 2.000995377}, {99, 1.984216952}};
    for (size_t i = 0; i < LENGTH(t); i++)
        ledger_near(&student, t[i].factor, student_factor(t[i].freedom), 1e-9, "digits given",
                    "t at 0.975, %zu degrees of freedom", t[i].freedom);
    static const struct {
        uint64_t hits, trials;
        double low, high;
    } share[] = {{0, 10, 0, 0.3084971078187608},
                 {1, 10, 0.0025285785444617848, 0.4450161170281954},
                 {7, 100, 0.028605288907438704, 0.13891972845585732},
                 {0, 100, 0, 0.03621669264517641},
                 {10, 10, 0.6915028921812392, 1},
                 {682, 925, 0.7076682640790388, 0.7654065582415253}};
    for (size_t i = 0; i < LENGTH(share); i++) {
        struct estimate found = estimate_probability(share[i].hits, share[i].trials, 0.95);
        ledger_near(&clopper, share[i].low, found.low, 1e-12, "both programs' accuracy",
                    "%u of %u: low", (unsigned)share[i].hits, (unsigned)share[i].trials);
        ledger_near(&clopper, share[i].high, found.high, 1e-12, "both programs' accuracy",
                    "%u of %u: high", (unsigned)share[i].hits, (unsigned)share[i].trials);
    }
    static const struct {
        uint64_t events;
        double low, high;
    } time[] = {{1, 0.1794802592043649, 39.49789020520721},
                {2, 0.2768285761244642, 8.257321982142676},
                {5, 0.428510258879283, 3.0797917558368253},
                {10, 0.5437632625030356, 2.085336691906785}};
    for (size_t i = 0; i < LENGTH(time); i++) {
        struct estimate found =
            estimate_time_to_event((double)time[i].events, time[i].events, 0.95);
        ledger_near(&handbook, time[i].low, found.low, 1e-12, "accuracy of scipy",
                    "%u events: low, by the mean", (unsigned)time[i].events);
        ledger_near(&handbook, time[i].high, found.high, 1e-12, "accuracy of scipy",
                    "%u events: high, by the mean", (unsigned)time[i].events);
    }
    static const struct {
        const char *name;
        size_t batches;
        double deviation, half_width, correlation;
    } batch[] = {{"Lew", 10, 11.8658251106, 8.4882999377, -0.2293939438},
                 {"Lew", 20, 17.2380019296, 8.0676332410, -0.1190517179},
                 {"Michelso", 10, 0.0408090404, 0.0291930289, 0.3146193056},
                 {"Michelso", 20, 0.0492367000, 0.0230434849, 0.3224399055},
                 {"Mavro", 10, 0.000423509150, 0.000302960195, 0.6205173952}};
    for (size_t i = 0; i < LENGTH(batch); i++) {
        read_data(&data, batch[i].name);
        struct estimate_batches found =
            estimate_by_batches(data.value, data.count, batch[i].batches, 0.95);
        ledger_near(&batch_means, batch[i].deviation, found.deviation, 2.5e-9, "digits given",
                    "%s, %zu batches: deviation", batch[i].name, batch[i].batches);
        ledger_near(&batch_means, batch[i].half_width, (found.mean.high - found.mean.low) / 2,
                    2.5e-9, "digits given", "%s, %zu batches: half width", batch[i].name,
                    batch[i].batches);
        ledger_near(&batch_means, batch[i].correlation, found.correlation, 1e-9, "digits given",
                    "%s, %zu batches: correlation of neighbours", batch[i].name, batch[i].batches);
    }
}

static void warm_ups(void) {
    ledger_group("Warm-ups", "What MSER-5 of sim/estimate cuts off at the head of a series.");
    static double value[200];
    for (size_t i = 0; i < 100; i++)
        value[i] = i >= 20;
    ledger_exact(&white, 20, (double)estimate_warm_up(value, 100), "20 zeros, 80 ones");
    for (int i = 0; i < 200; i++)
        value[i] = 10 - 10 * pow(0.9, i) + (i % 2 == 0 ? 1 : -1);
    ledger_exact(&white, 40, (double)estimate_warm_up(value, 200),
                 "10 - 10 · 0.9^i + (-1)^i, i < 200");
    static const struct {
        const char *name;
        double cut;
    } row[] = {{"Michelso", 25}, {"Lew", 0}, {"Mavro", 0}, {"Lottery", 0}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        read_data(&data, row[i].name);
        ledger_exact(&white, row[i].cut, (double)estimate_warm_up(data.value, data.count), "%s",
                     row[i].name);
    }
}

/* ---- how far means vary ---- */

static const struct ledger_source whitt = {"Whitt 1989",
                                           "W. Whitt, Planning queueing simulations, Management "
                                           "Science 35 (1989) 1341-1366: T times the variance of "
                                           "the mean number in M/M/1 goes to 2ρ(1 + ρ)/(1 - ρ)⁴",
                                           "recalled; confirmed by a birth and death sum"};
static const struct ledger_source daley = {"Daley 1968",
                                           "D. J. Daley, The serial correlation coefficients of "
                                           "waiting times in a stationary single server queue, "
                                           "Journal of the Australian Mathematical Society 8 "
                                           "(1968) 683-699: n times the variance of the mean "
                                           "wait goes to ρ(2 + 5ρ - 4ρ² + ρ³)/(1 - ρ)⁴",
                                           "recalled; confirmed by an independent simulation"};
static const struct ledger_source autoregression = {
    "AR(1)", "σ²/n ((1 + φ)/(1 - φ) - 2φ(1 - φⁿ)/(n(1 - φ)²)), σ² = 1/(1 - φ²)",
    "by hand; confirmed by a double sum"};

enum { TICKS = 100000 };

struct long_queue {
    double load, interval;
    int64_t length;
    uint32_t runs;
    double variance_number, variance_wait;
};

/* Sums of what a listener sees: when the server began with a job, and how many. */
struct waits {
    int64_t count, end_sum, begin_sum;
};

static void note_move(void *self, const struct move *move) {
    struct waits *waits = self;
    if (move->act == MOVE_PICK && move->arm == 0) { /* comes to the queue */
        waits->begin_sum += move->tick;
    } else if (move->act == MOVE_PICK) { /* is taken by the server */
        waits->end_sum += move->tick;
        waits->count++;
    }
}

static void look_at_number(const struct world *world, const void *of, double *seen) {
    (void)of;
    seen[0] += (double)world_chest_count(world, 1, 0) + (world_arm_state(world, 1) != ARM_REACHING);
}

/* Mean number, and mean wait by its own definition, each times the root of how long or many. What
 * waits at the ends of the window has its share of waiting in it and its sums outside: the number
 * waiting then corrects it, so that the sums are the wait that fell into the window. */
static void run_long_queue(struct world *world, const struct scenario *scenario, const void *of,
                           double *found) {
    (void)scenario;
    const struct long_queue *queue = of;
    const int64_t from = 1000 * TICKS, to = from + queue->length * TICKS;
    struct waits waits = {0};
    struct listener listener = {.self = &waits, .moved = note_move};
    world_advance(world, from);
    int64_t before = world_chest_count(world, 1, 0);
    world_listen(world, &listener);
    trial_average(world, (struct trial_window){from, to, 73171}, look_at_number, NULL, 1, found);
    world_advance(world, to);
    int64_t after = world_chest_count(world, 1, 0);
    double waited = (double)(waits.end_sum - waits.begin_sum - before * from + after * to) / TICKS;
    found[0] *= sqrt((double)queue->length);
    found[1] = waited / (double)waits.count * sqrt((double)queue->length / queue->interval);
}

static void queue_means(void) {
    static const struct long_queue row[] = {{0.5, 2, 2000, 600, 24, 29},
                                            {0.8, 1.25, 20000, 150, 1800, 1976}};
    for (size_t i = 0; i < LENGTH(row); i++) {
        struct shop shop = {.ticks_per_second = TICKS};
        shop_item(&shop, "job", 1);
        shop_part(&shop, SHOP_CHESTS, "name: dock");
        shop_part(&shop, SHOP_CHESTS, "name: queue");
        shop_part(&shop, SHOP_CHESTS, "name: done");
        shop_part(&shop, SHOP_ARMS, "name: enter, from: dock, to: queue, swing: 0");
        shop_part(&shop, SHOP_ARMS, "name: server, from: queue, to: done, swing: {exponential: 1}");
        shop_part(&shop, SHOP_SUPPLIES,
                  "name: source, chest: dock, item: job, every: {exponential: %g}",
                  row[i].interval);
        struct scenario *scenario = shop_open(&shop);
        static double value[2 * 600];
        trial_repeat(scenario, run_long_queue, &row[i], 2, row[i].runs, value);
        scenario_free(scenario);
        ledger_variance(&whitt, row[i].variance_number, value, row[i].runs,
                        "M/M/1, ρ = %g: T var(mean number)", row[i].load);
        ledger_variance(&daley, row[i].variance_wait, value + row[i].runs, row[i].runs,
                        "M/M/1, ρ = %g: n var(mean wait)", row[i].load);
    }
}

static double standard_normal(struct random_stream *chance) {
    static const struct span span = {
        .kind = SPAN_NORMAL, .a = 10, .b = 1}; /* far from the cut at 0 */
    return (double)span_draw(&span, chance, 1000000000) / 1e9 - 10;
}

static double series_mean(double phi, size_t count, struct random_stream *chance) {
    double x = standard_normal(chance) / sqrt(1 - phi * phi), sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += x;
        x = phi * x + standard_normal(chance);
    }
    return sum / (double)count;
}

static void series_means(void) {
    static const struct {
        double phi;
        size_t count;
        double variance;
    } row[] = {{0.5, 100, 0.039466666667},
               {0.8, 100, 0.238888888891},
               {0.9, 1000, 0.099052631579},
               {-0.5, 100, 0.004503703704}};
    enum { SERIES = 1000 };
    static double mean[SERIES];
    struct random_stream chance;
    random_start(&chance, 1, "series", "outside");
    for (size_t i = 0; i < LENGTH(row); i++) {
        for (int s = 0; s < SERIES; s++)
            mean[s] = series_mean(row[i].phi, row[i].count, &chance);
        ledger_variance(&autoregression, row[i].variance, mean, SERIES,
                        "φ = %g, n = %zu: var(mean)", row[i].phi, row[i].count);
    }
}

/* ---- the generator ---- */

static const struct ledger_source lecuyer = {"L'Ecuyer 1996",
                                             "P. L'Ecuyer, Maximally equidistributed combined "
                                             "Tausworthe generators, Mathematics of Computation "
                                             "65 (1996) 203-213, with the seeding of 1999",
                                             "read in the source of GSL 2.7.1, rng/test.c"};

static void generator(void) {
    ledger_group("The generator", "sim/chance set to GSL's own start of taus2 with seed 1.");
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus2);
    gsl_rng_set(rng, 1);
    struct random_stream chance;
    require(gsl_rng_size(rng) == sizeof chance);
    memcpy(&chance, gsl_rng_state(rng), sizeof chance);
    gsl_rng_free(rng);
    double last = 0;
    for (int i = 0; i < 10000; i++)
        last = random_uniform(&chance);
    ledger_exact(&lecuyer, 2733957125, last * 0x1p32, "taus2, seed 1: the 10 000th number");
}

int main(void) {
    certified();
    intervals();
    warm_ups();
    ledger_group(
        "How far means vary",
        "An M/M/1 queue run by the engine (600 runs of 2000 mean services at ρ = 0.5, 150 of 20 "
        "000 at 0.8); autoregressive series with normal steps of sim/chance (1000 of each). A "
        "sample variance has a relative standard error of √(2/(n - 1)).");
    queue_means();
    series_means();
    generator();
    return ledger_end();
}
