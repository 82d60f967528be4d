/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_words.c - sentences for a variant, then for two against each other. */
#include "tools/soak/soak_words.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/base/table.h"
#include "tools/soak/soak_report.h"
#include "tools/soak/soak_statistics.h"

enum { KEPT_SHOWN = 3, PRODUCTS_SHOWN = 3 };

/* ---- numbers ---- */

/* A time of some seconds as people say it. */
static const char *span_text(double time_s, char text[QUANTITY_TEXT_SIZE]) {
    static const struct {
        double seconds;
        const char *name;
    } unit[] = {{86400, "d"}, {3600, "h"}, {60, "min"}};
    if (!isfinite(time_s))
        return "-";
    for (size_t i = 0; i < sizeof unit / sizeof *unit; i++)
        if (time_s >= 2 * unit[i].seconds) {
            snprintf(text, QUANTITY_TEXT_SIZE, "%.1f %s", time_s / unit[i].seconds, unit[i].name);
            return text;
        }
    snprintf(text, QUANTITY_TEXT_SIZE, "%.1f s", time_s);
    return text;
}

/* A probability in per cent. */
static const char *percent(double share, char text[QUANTITY_TEXT_SIZE]) {
    snprintf(text, QUANTITY_TEXT_SIZE, share >= 0.1 ? "%.0f" : "%.2g", 100 * share);
    return text;
}

/* ", 12 % (95 % sure: 6.4 to 20 %)", as much of it as there is; nothing of runs that are all the
 * same. */
static void print_share(struct estimate estimate, FILE *out) {
    char text[QUANTITY_TEXT_SIZE];
    if (!isfinite(estimate.low))
        return;
    if (estimate.value > 0)
        fprintf(out, ", %s %%", percent(estimate.value, text));
    fprintf(out, " (95 %% sure: %s", percent(estimate.low, text));
    fprintf(out, " to %s %%)", percent(estimate.high, text));
}

/* "3 of 20 runs" */
static void print_runs(uint64_t some, uint64_t all, FILE *out) {
    fprintf(out, "%" PRIu64 " of %" PRIu64 " run%s", some, all, plural(all));
}

static uint64_t stuck_runs(const struct soak_journal *book, uint32_t variant) {
    uint64_t stuck = 0;
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        stuck += soak_report_result(book, variant, run)->stuck;
    return stuck;
}

/* ---- the verdict ---- */

static bool came_out(const struct soak_journal *book, uint32_t variant) {
    for (uint64_t run = 0; run < book->plan->run_count; run++)
        if (!soak_report_result(book, variant, run)->holds)
            return false;
    return true;
}

static void print_stuck(const struct soak_journal *book, uint32_t variant, FILE *out) {
    uint64_t stuck = stuck_runs(book, variant), runs = book->plan->run_count;
    if (stuck == 0)
        fprintf(out, "none of %" PRIu64 " run%s is stuck at its end", runs, plural(runs));
    else
        print_runs(stuck, runs, out);
    if (stuck > 0)
        fputs(stuck == 1 ? " is stuck at its end" : " are stuck at their ends", out);
    print_share(soak_statistics_stuck(book, variant), out);
    fputs(".\n", out);
}

static void print_jammed(const struct soak_journal *book, uint32_t variant, const char *begin,
                         FILE *out) {
    uint64_t jammed = soak_statistics_jammed(book, variant), runs = book->plan->run_count;
    fputs(begin, out);
    fputs(jammed > 0 ? "a jam in " : "no jam in ", out);
    if (jammed == 0)
        fprintf(out, "%" PRIu64 " run%s", runs, plural(runs));
    else
        print_runs(jammed, runs, out);
    print_share(soak_statistics_probability(book, variant), out);
    fputs(".\n", out);
}

/* With disturbances it is asked whether a run gets over them, else whether it jams and comes out as
 * expected. */
static void print_verdict(const struct soak_journal *book, uint32_t variant, FILE *out) {
    bool holds = soak_report_first_bad(book, variant) == book->plan->run_count;
    bool jammed = soak_statistics_jammed(book, variant) > 0;
    if (book->plan->disturb) {
        fputs(holds ? "It holds: " : "It does not hold: ", out);
        print_stuck(book, variant, out);
        print_jammed(book, variant, "There is ", out);
    } else if (holds) {
        print_jammed(book, variant, "It holds: ", out);
    } else if (jammed) {
        print_jammed(book, variant,
                     came_out(book, variant) ? "As expected: " : "It does not hold: ", out);
    } else {
        print_jammed(book, variant, "It does not come out as expected. There is ", out);
    }
}

/* One of the points that failed, and in how many runs. */
struct failure {
    const char *text; /* up to its line feed */
    size_t length;
    uint64_t runs;
};

struct failures {
    struct failure *entry;
    size_t count;
};

static void add_failure(struct failures *failures, const char *text, size_t length) {
    for (size_t i = 0; i < failures->count; i++)
        if (failures->entry[i].length == length &&
            memcmp(failures->entry[i].text, text, length) == 0) {
            failures->entry[i].runs++;
            return;
        }
    failures->entry =
        require_more_memory(failures->entry, failures->count + 1, sizeof *failures->entry);
    failures->entry[failures->count++] = (struct failure){text, length, 1};
}

/* Says what failed; that there is no jam has been said. */
static void print_failed(const struct soak_journal *book, uint32_t variant, FILE *out) {
    struct failures failures = {0};
    static const char jam[] = "no jam";
    for (uint64_t run = 0; run < book->plan->run_count; run++) {
        const char *at = soak_report_result(book, variant, run)->failed;
        for (; at != NULL && *at != '\0'; at += strcspn(at, "\n") + 1)
            add_failure(&failures, at, strcspn(at, "\n"));
    }
    for (size_t i = 0; i < failures.count; i++) {
        const struct failure *failure = &failures.entry[i];
        if (failure->length == strlen(jam) && strncmp(failure->text, jam, failure->length) == 0)
            continue;
        fprintf(out, "    %.*s: not in ", (int)failure->length, failure->text);
        print_runs(failure->runs, book->plan->run_count, out);
        fputc('\n', out);
    }
    free(failures.entry);
}

/* ---- jams ---- */

static void print_jams(const struct soak_journal *book, uint32_t variant, FILE *out) {
    struct soak_jams jams = soak_statistics_jams(book, variant);
    char longest[QUANTITY_TEXT_SIZE], share[QUANTITY_TEXT_SIZE];
    if (jams.count == 0)
        return;
    fprintf(out, "Of %" PRIu64 " jam%s %" PRIu64 " ended by %s; the longest lasted %s", jams.count,
            plural(jams.count), jams.ended, jams.ended == 1 ? "itself" : "themselves",
            span_text(jams.longest_s, longest));
    if (isfinite(jams.share))
        fprintf(out, ", and %s %% of the time was spent in jams", percent(jams.share, share));
    fputs(".\n", out);
}

static void print_first_jam(const struct soak_journal *book, uint32_t variant, FILE *out) {
    struct soak_regular regular = soak_statistics_regular(book, variant);
    struct estimate time = soak_statistics_first_jam(book, variant);
    char mean[QUANTITY_TEXT_SIZE], low[QUANTITY_TEXT_SIZE], high[QUANTITY_TEXT_SIZE];
    if (regular.accumulates) {
        fprintf(out,
                "Each run jams between %s and %s: that is no matter of chance, something fills "
                "up.\n",
                span_text(regular.least_s, low), span_text(regular.greatest_s, high));
    } else if (soak_statistics_jammed(book, variant) > 0) {
        fprintf(out, "Mean time to the first jam: %s", span_text(time.value, mean));
        if (isfinite(time.low))
            fprintf(out, " (%s to %s)", span_text(time.low, low), span_text(time.high, high));
        fputs(".\n", out);
    }
}

static void print_recoveries(const struct soak_journal *book, uint32_t variant, FILE *out) {
    struct soak_recoveries recoveries = soak_statistics_recoveries(book, variant);
    uint64_t all = recoveries.count + recoveries.never;
    char mean[QUANTITY_TEXT_SIZE], greatest[QUANTITY_TEXT_SIZE];
    if (recoveries.count > 0)
        fprintf(out,
                "After a disturbance every product has its rate again within %s on average, %s at "
                "most.\n",
                span_text(recoveries.mean_s, mean), span_text(recoveries.greatest_s, greatest));
    if (recoveries.never > 0)
        fprintf(out,
                "After %" PRIu64 " of %" PRIu64
                " disturbances it had not when the next one began, or the run was over.\n",
                recoveries.never, all);
}

/* ---- measures ---- */

static void number_cell(struct table *table, double number, double factor) {
    if (isfinite(number))
        table_add(table, "%.4g", factor * number);
    else
        table_add(table, "-");
}

static void add_row(struct table *table, const char *name, struct estimate estimate,
                    double factor) {
    table_add(table, "%s", name);
    number_cell(table, estimate.value, factor);
    number_cell(table, estimate.low, factor);
    number_cell(table, estimate.high, factor);
}

static void print_measures(const struct soak_journal *book, uint32_t variant, FILE *out) {
    static const struct table_column column[] = {
        {"95 % sure", false}, {"mean", true}, {"from", true}, {"to", true}};
    const struct soak_measures *measures = &book->measures[variant];
    struct table table;
    char name[3 * QUANTITY_TEXT_SIZE];
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < measures->product_count; i++) {
        snprintf(name, sizeof name, "%s a minute", soak_report_product(book, variant, i));
        add_row(&table, name, soak_statistics_measure(book, variant, soak_measure_of_product(i)),
                1);
    }
    for (uint32_t i = 0; i < measures->track_count; i++) {
        snprintf(name, sizeof name, "%s, %% held", layout_track_name(measures->scenario, i));
        add_row(&table, name,
                soak_statistics_measure(book, variant, soak_measure_of_track(measures, i)), 100);
    }
    add_row(&table, "items at work", soak_statistics_measure(book, variant, 0), 1);
    fputc('\n', out);
    table_print(&table, out);
    table_free(&table);
}

/* ---- two variants ---- */

static void print_differences(const struct soak_journal *book, FILE *out) {
    static const struct table_column column[] = {
        {"second less first", false}, {"mean", true}, {"from", true}, {"to", true}};
    struct table table;
    char name[3 * QUANTITY_TEXT_SIZE];
    table_init(&table, column, sizeof column / sizeof *column);
    add_row(&table, "jams a run", soak_statistics_jams_difference(book), 1);
    for (uint32_t i = 0; i < book->measures[0].product_count; i++) {
        uint32_t second = soak_statistics_in_second(book, i);
        snprintf(name, sizeof name, "%s a minute", soak_report_product(book, 0, i));
        if (second != NO_INDEX)
            add_row(&table, name, soak_statistics_product_difference(book, i, second), 1);
    }
    add_row(&table, "items at work", soak_statistics_difference(book, 0, 0), 1);
    fputc('\n', out);
    table_print(&table, out);
    table_free(&table);
}

/* 1: more, surely; -1: less; 0: that can't be said. */
static int surely(struct estimate difference) {
    bool bounded = isfinite(difference.low);
    double low = bounded ? difference.low : difference.value;
    double high = bounded ? difference.high : difference.value;
    return low > 0 ? 1 : high < 0 ? -1 : 0;
}

static void print_product_verdict(const struct soak_journal *book, uint32_t product,
                                  struct estimate difference, FILE *out) {
    int more = surely(difference);
    fprintf(out, " %.3g %s a minute %s", fabs(difference.value),
            soak_report_product(book, 0, product), more > 0 ? "more" : "less");
    if (isfinite(difference.low))
        fprintf(out, " (sure to 95 %%: %.3g to %.3g)",
                fmin(fabs(difference.low), fabs(difference.high)),
                fmax(fabs(difference.low), fabs(difference.high)));
}

/* What is made, in which the two differ surely. */
static void print_products_verdict(const struct soak_journal *book, FILE *out) {
    uint32_t shown = 0, more = 0;
    for (uint32_t i = 0; i < book->measures[0].product_count; i++) {
        uint32_t second = soak_statistics_in_second(book, i);
        if (second == NO_INDEX)
            continue;
        struct estimate difference = soak_statistics_product_difference(book, i, second);
        if (surely(difference) == 0)
            continue;
        if (shown == PRODUCTS_SHOWN) {
            more++;
            continue;
        }
        fputs(shown++ == 0 ? " makes" : ",", out);
        print_product_verdict(book, i, difference, out);
    }
    if (more > 0)
        fprintf(out, ", and differs in %" PRIu32 " more product%s", more, plural(more));
    if (shown == 0)
        fputs(" makes no more and no less, as far as these runs can tell", out);
}

static void print_comparison(const struct soak_journal *book, FILE *out) {
    int jams = surely(soak_statistics_jams_difference(book));
    bool none = soak_statistics_jammed(book, 0) == 0 && soak_statistics_jammed(book, 1) == 0;
    fprintf(out, "\n%s", book->plan->name[1]);
    print_products_verdict(book, out);
    fputs(none       ? "; neither jams.\n"
          : jams > 0 ? "; it jams more often.\n"
          : jams < 0 ? "; it jams less often.\n"
                     : "; it jams no less often, as far as these runs can tell.\n",
          out);
}

/* ---- the way on ---- */

/* The capsules of runs that are bad, or where all hold, of those that jammed. False: there are
 * none. */
static bool print_kept(const struct soak_journal *book, const char *path, FILE *out) {
    bool all_hold = soak_report_holds(book);
    uint64_t shown = 0, more = 0;
    char name[SOAK_NAME_BYTES];
    for (uint64_t i = 0; i < book->jammed_count && path != NULL; i++) {
        if (!all_hold && soak_report_run_holds(book, 0, book->jammed[i]))
            continue;
        if (shown == KEPT_SHOWN) {
            more++;
            continue;
        }
        fprintf(out, "%s loopwright cause %s/%s\n", shown++ == 0 ? "Why it jams:" : "            ",
                path, soak_capsule_name(book->jammed[i], name));
    }
    if (more > 0)
        fprintf(out, "             and %" PRIu64 " more\n", more);
    return shown > 0;
}

/* The first run that is bad, to be had again with all its files. */
static void print_again(const struct soak_journal *book, const struct soak_words *asked,
                        FILE *out) {
    uint64_t seed = soak_plan_seed(book->plan, soak_report_first_bad(book, 0));
    if (book->plan->disturb)
        fprintf(out,
                "To have such a run again: loopwright soak %s --disturb --seed %" PRIu64
                " --runs 1 --out run-%" PRIu64 "\n",
                asked->scenario, seed, seed);
    else
        fprintf(out,
                "To see why: loopwright run %s --seed %" PRIu64 " --out run-%" PRIu64
                "; loopwright cause run-%" PRIu64 "\n",
                asked->scenario, seed, seed, seed);
}

/* ---- all together ---- */

static void print_head(const struct soak_journal *book, uint32_t variant, FILE *out) {
    const struct soak_plan *plan = book->plan;
    char hours[QUANTITY_TEXT_SIZE];
    if (plan->variant_count > 1)
        fprintf(out, "%s%s\n", variant > 0 ? "\n" : "", plan->name[variant]);
    fprintf(out, "%" PRIu64 " run%s with seed%s %" PRIu64 "%s, %s simulated\n", plan->run_count,
            plural(plan->run_count), plan->run_count == 1 ? "" : "s from", soak_plan_seed(plan, 0),
            plan->run_count == 1 ? "" : " on",
            span_text(3600 * soak_statistics_hours(book, variant), hours));
    if (!soak_plan_has_chance(plan, variant))
        fputs("Nothing in it is left to chance: all its runs are the same.\n", out);
    fputc('\n', out);
}

static void print_variant(const struct soak_journal *book, uint32_t variant, FILE *out) {
    print_head(book, variant, out);
    print_verdict(book, variant, out);
    print_failed(book, variant, out);
    print_jams(book, variant, out);
    print_first_jam(book, variant, out);
    if (!book->plan->disturb && stuck_runs(book, variant) > 0)
        print_stuck(book, variant, out);
    print_recoveries(book, variant, out);
    print_measures(book, variant, out);
}

void soak_words_print(const struct soak_journal *book, const struct soak_words *asked, FILE *out) {
    bool holds = soak_report_holds(book);
    for (uint32_t i = 0; i < book->plan->variant_count; i++)
        print_variant(book, i, out);
    if (book->plan->variant_count > 1) {
        print_differences(book, out);
        print_comparison(book, out);
    }
    if (asked->path != NULL || !holds)
        fputc('\n', out);
    if (asked->path != NULL)
        fprintf(out, "The files of the soak are in %s\n", asked->path);
    if (!print_kept(book, asked->path, out) && !holds)
        print_again(book, asked, out);
}
