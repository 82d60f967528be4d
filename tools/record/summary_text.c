/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/summary_text.c - what matters most first, long lists cut short, nothing that files
 * say better. */
#include "tools/record/summary_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/scenario/layout.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/base/table.h"
#include "tools/base/terminal.h"
#include "tools/record/event_kinds.h"
#include "tools/record/lane_profile.h"

enum { ROWS_MAX = 8, TITLE_MAX = 76, KINDS_MAX = 6, TEXT_BYTES = 160 };

/* ---- words ---- */

static const char *clock_of(const struct outcome *outcome, int64_t ticks,
                            char text[QUANTITY_TEXT_SIZE]) {
    return quantity_clock(ticks, outcome->scenario->ticks_per_second, text);
}

/* A share as "61 %"; "-" where it is unknown. */
static const char *percent(double share, char text[QUANTITY_TEXT_SIZE]) {
    if (!isfinite(share))
        return "-";
    snprintf(text, QUANTITY_TEXT_SIZE, "%.0f %%", 100 * share);
    return text;
}

static const char *one_place(double number, char text[QUANTITY_TEXT_SIZE]) {
    if (!isfinite(number))
        return "-";
    snprintf(text, QUANTITY_TEXT_SIZE, "%.1f", number);
    return text;
}

/* The bytes of at most `count` characters of a text's first line. */
static size_t bytes_of_characters(const char *text, int count) {
    size_t bytes = 0;
    for (; text[bytes] != '\0' && text[bytes] != '\n'; bytes++) {
        bool starts = ((unsigned char)text[bytes] & 0xc0) != 0x80;
        if (starts && count-- == 0)
            break;
    }
    return bytes;
}

/* A title may hold anything: only its first line, no control characters, and a mark where it is
 * cut. */
static void print_title(const char *title, FILE *out) {
    static const char mark[] = "...";
    size_t bytes = bytes_of_characters(title, TITLE_MAX);
    bool cut = title[bytes] != '\0' && title[bytes] != '\n';
    if (cut)
        bytes = bytes_of_characters(title, TITLE_MAX - (int)strlen(mark));
    for (size_t i = 0; i < bytes; i++) {
        bool control = (unsigned char)title[i] < ' ' || title[i] == 0x7f;
        fputc(control ? ' ' : title[i], out);
    }
    fprintf(out, "%s\n", cut ? mark : "");
}

static void print_heading(const struct outcome *outcome, FILE *out) {
    const struct scenario *scenario = outcome->scenario;
    char run[QUANTITY_TEXT_SIZE], warm_up[QUANTITY_TEXT_SIZE];
    if (scenario->title[0] != '\0')
        print_title(scenario->title, out);
    clock_of(outcome, scenario->run_ticks, run);
    fprintf(out, "%s simulated, seed %llu, %llu move%s", run, (unsigned long long)scenario->seed,
            (unsigned long long)world_moves(outcome->world), plural(world_moves(outcome->world)));
    if (scenario->warm_up_ticks > 0)
        fprintf(out, "; shares and rates from %s on",
                clock_of(outcome, scenario->warm_up_ticks, warm_up));
    fputs("\n\n", out);
}

/* ---- the verdict ---- */

static uint32_t points_failed(const struct verdict *verdict) {
    uint32_t failed = 0;
    for (uint32_t i = 0; i < verdict->point_count; i++)
        failed += !verdict->point[i].holds;
    return failed;
}

static void print_point(const struct verdict_point *point, FILE *out) {
    fprintf(out, "  %s: expected %s, found ", point->what, point->expected);
    switch (point->kind) {
    case FOUND_WORDS: fprintf(out, "%s\n", point->words); break;
    case FOUND_COUNT: fprintf(out, "%lld\n", (long long)point->count); break;
    case FOUND_SHARE: fprintf(out, "%.6g\n", point->share); break;
    }
}

static void print_points(const struct verdict *verdict, FILE *out) {
    uint32_t printed = 0;
    for (uint32_t i = 0; i < verdict->point_count && printed < ROWS_MAX; i++) {
        if (verdict->point[i].holds)
            continue;
        print_point(&verdict->point[i], out);
        printed++;
    }
    if (points_failed(verdict) > printed)
        fprintf(out, "  and %u more in summary.json\n", points_failed(verdict) - printed);
}

static void print_jams(const struct verdict *verdict, FILE *out) {
    if (verdict->jams == 0)
        fputs("no jam", out);
    else
        fprintf(out, "%llu jam%s, %llu deadlock%s", (unsigned long long)verdict->jams,
                plural(verdict->jams), (unsigned long long)verdict->deadlocks,
                plural(verdict->deadlocks));
}

static const char *verdict_words(const struct verdict *verdict) {
    if (!verdict->holds)
        return "It does not hold";
    return verdict->jams > 0 ? "As expected" : "It holds";
}

/* A run that ends with its warm-up, or in it, says less. */
static void print_warm_up(const struct outcome *outcome, FILE *out) {
    char warm_up[QUANTITY_TEXT_SIZE];
    if (outcome->scenario->warm_up_ticks == 0 || totals_ticks(outcome->window) > 0)
        return;
    fprintf(out,
            "  The run ended within its warm-up of %s: of jams only those count that\n"
            "  last at its end, and there are no shares of time and no rates.\n",
            clock_of(outcome, outcome->scenario->warm_up_ticks, warm_up));
}

void summary_text_verdict(const struct outcome *outcome, FILE *out) {
    const struct verdict *verdict = outcome->verdict;
    if (outcome->is_part) {
        fputs("No verdict on a part of a run; up to its end: ", out);
        print_jams(verdict, out);
        fputs(".\n", out);
        return;
    }
    terminal_mark(out, verdict_words(verdict), verdict->holds);
    fputs(": ", out);
    print_jams(verdict, out);
    if (verdict->point_count > 0)
        fprintf(out, "; %u of %u expectation%s came true",
                verdict->point_count - points_failed(verdict), verdict->point_count,
                plural(verdict->point_count));
    fputs(".\n", out);
    print_points(verdict, out);
    print_warm_up(outcome, out);
}

/* ---- products ---- */

static void add_product(struct table *table, const struct outcome *outcome, uint32_t item) {
    struct item_totals totals = world_item_totals(outcome->world, item);
    char rate[QUANTITY_TEXT_SIZE];
    table_add(table, "%s", outcome->scenario->item[item].name);
    table_add(table, "%lld", (long long)totals.made);
    table_add(table, "%s", one_place(totals_made_per_minute(outcome->window, item), rate));
    table_add(table, "%lld", (long long)totals.demanded);
    table_add(table, "%lld", (long long)totals.met);
    table_add(table, "%lld", (long long)totals.owed);
    table_add(table, "%lld", (long long)totals.lost);
}

static void print_more(uint64_t total, uint64_t shown, const char *what, FILE *out) {
    if (total > shown)
        fprintf(out, "and %llu more: see %s\n", (unsigned long long)(total - shown), what);
    if (total > 0)
        fputc('\n', out);
}

static void print_products(const struct outcome *outcome, FILE *out) {
    static const struct table_column column[] = {
        {"product", false}, {"made", true}, {"a minute", true}, {"asked for", true},
        {"met", true},      {"owed", true}, {"lost", true}};
    struct table table;
    uint32_t total = 0;
    bool *product = require_memory(outcome->scenario->item_count, sizeof *product);
    layout_mark_products(outcome->scenario, product);
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < outcome->scenario->item_count; i++)
        if (product[i] && total++ < ROWS_MAX)
            add_product(&table, outcome, i);
    table_print(&table, out);
    print_more(total, total < ROWS_MAX ? total : ROWS_MAX, "summary.json", out);
    table_free(&table);
    free(product);
}

/* ---- lanes and feeders ---- */

static double rate_of(const struct scenario *scenario, struct place track) {
    struct ratio rate = track.kind == PLACE_LINE
                            ? scenario->line[track.index].rate
                            : scenario->loop[scenario->lane[track.index].loop].rate;
    return (double)rate.numerator / (double)rate.denominator;
}

static const char *fullest_text(const struct outcome *outcome, const struct lane_profile *stretches,
                                struct place track, char text[TEXT_BYTES]) {
    uint32_t from =
        track.kind == PLACE_LANE ? lane_profile_fullest(stretches, track.index) : NO_INDEX;
    if (from == NO_INDEX)
        return "-";
    char share[QUANTITY_TEXT_SIZE];
    const struct lane_profile_end *end = &stretches->end[from];
    snprintf(text, TEXT_BYTES, "%s from %s@%u", percent(end->after, share),
             outcome->scenario->arm[end->arm].name, end->cell);
    return text;
}

static void add_track(struct table *table, const struct outcome *outcome,
                      const struct lane_profile *stretches, uint32_t index) {
    const struct scenario *scenario = outcome->scenario;
    struct place track = layout_track_as_place(scenario, index);
    double mean = totals_track_share(outcome->window, index);
    double most = (double)world_track_totals(outcome->world, track).cells_most /
                  layout_track_cells(scenario, index);
    char text[TEXT_BYTES], number[QUANTITY_TEXT_SIZE];
    table_add(table, "%s", layout_track_name(scenario, index));
    table_add(table, "%s", percent(mean, number));
    table_add(table, "%s", percent(most, number));
    table_add(table, "%s",
              track.kind == PLACE_LANE ? one_place(rate_of(scenario, track) * (1 - mean), number)
                                       : "-");
    table_add(table, "%s", fullest_text(outcome, stretches, track, text));
}

static void print_lanes(const struct outcome *outcome, const struct lane_profile *stretches,
                        FILE *out) {
    static const struct table_column column[] = {{"lane", false},
                                                 {"held", true},
                                                 {"at most", true},
                                                 {"free cells/s", true},
                                                 {"fullest stretch", false}};
    struct table table;
    const struct scenario *scenario = outcome->scenario;
    uint32_t tracks = layout_track_count(scenario), shown = 0;
    table_init(&table, column, sizeof column / sizeof *column);
    for (; shown < tracks && shown < ROWS_MAX; shown++)
        add_track(&table, outcome, stretches, shown);
    table_print(&table, out);
    print_more(tracks, shown, "summary.json", out);
    table_free(&table);
}

/* A feeder with what makes it worth a line: how long it waits to place. */
struct feeder {
    uint32_t end;
    double waits;
};

static int feeder_order(const void *a, const void *b) {
    const struct feeder *first = a, *second = b;
    if (first->waits != second->waits)
        return first->waits > second->waits ? -1 : 1;
    return first->end < second->end ? -1 : 1;
}

static void add_feeder(struct table *table, const struct outcome *outcome,
                       const struct lane_profile *stretches, const struct feeder *feeder) {
    const struct scenario *scenario = outcome->scenario;
    const struct lane_profile_end *end = &stretches->end[feeder->end];
    struct place track = {PLACE_LANE, end->lane, 0};
    char number[QUANTITY_TEXT_SIZE];
    double minutes = totals_seconds(outcome->window) / 60;
    table_add(table, "%s", scenario->arm[end->arm].name);
    table_add(table, "%s@%u", scenario->lane[end->lane].full_name, end->cell);
    table_add(table, "%s",
              one_place((double)totals_arm_moved(outcome->window, end->arm) / minutes, number));
    table_add(table, "%s", percent(feeder->waits, number));
    table_add(table, "%s",
              stretches->known[end->lane]
                  ? one_place(rate_of(scenario, track) * (1 - end->before), number)
                  : "-");
}

static void print_feeders(const struct outcome *outcome, const struct lane_profile *stretches,
                          FILE *out) {
    static const struct table_column column[] = {{"feeder", false},
                                                 {"onto", false},
                                                 {"a minute", true},
                                                 {"waits", true},
                                                 {"free cells/s", true}};
    struct table table;
    struct feeder *feeder = require_memory(stretches->end_count, sizeof *feeder);
    uint32_t count = 0;
    for (uint32_t i = 0; i < stretches->end_count; i++)
        if (stretches->end[i].places)
            feeder[count++] = (struct feeder){
                i, totals_arm_share(outcome->window, stretches->end[i].arm, ARM_PLACING)};
    if (totals_ticks(outcome->window) > 0)
        qsort(feeder, count, sizeof *feeder, feeder_order);
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < count && i < ROWS_MAX; i++)
        add_feeder(&table, outcome, stretches, &feeder[i]);
    table_print(&table, out);
    print_more(count, count < ROWS_MAX ? count : ROWS_MAX, "arms.csv", out);
    table_free(&table);
    free(feeder);
}

/* ---- chests ---- */

static bool reads(const struct scenario_gate *gate, const struct chest_level *level) {
    return gate->first_child == NO_INDEX && gate->reads == READS_CHEST &&
           gate->subject == level->chest && gate->item == level->item;
}

/* "below 20", "below 20, at least 3": what gates want of a count, each once. */
static void list_thresholds(const struct scenario *scenario, const struct chest_level *level,
                            char text[TEXT_BYTES]) {
    size_t length = 0;
    text[0] = '\0';
    for (uint32_t i = 0; i < scenario->gate_count; i++) {
        char threshold[QUANTITY_TEXT_SIZE];
        if (!reads(&scenario->gate[i], level))
            continue;
        snprintf(threshold, sizeof threshold, "%s %lld",
                 scenario->gate[i].kind == GATE_BELOW ? "below" : "at least",
                 (long long)scenario->gate[i].threshold);
        if (strstr(text, threshold) != NULL || length + strlen(threshold) + 3 > TEXT_BYTES)
            continue;
        length += (size_t)snprintf(text + length, TEXT_BYTES - length, "%s%s",
                                   length > 0 ? ", " : "", threshold);
    }
}

static void add_count(struct table *table, int64_t count, int64_t none) {
    if (count == none)
        table_add(table, "-");
    else
        table_add(table, "%lld", (long long)count);
}

static void add_level(struct table *table, const struct outcome *outcome, uint32_t index) {
    const struct chest_level *level = &outcome->levels->level[index];
    const struct scenario *scenario = outcome->scenario;
    char thresholds[TEXT_BYTES];
    list_thresholds(scenario, level, thresholds);
    table_add(table, "%s", scenario->chest[level->chest].name);
    table_add(table, "%s", level->item != NO_INDEX ? scenario->item[level->item].name : "all");
    add_count(table, level->lowest, NOT_GIVEN);
    add_count(table, level->highest, NOT_GIVEN);
    add_count(table, chest_levels_bound(outcome->levels, index), NO_LIMIT);
    table_add(table, "%s", thresholds);
}

/* Those that gates read come first. */
static void print_chests(const struct outcome *outcome, FILE *out) {
    static const struct table_column column[] = {{"chest", false}, {"item", false},
                                                 {"lowest", true}, {"highest", true},
                                                 {"bound", true},  {"gates want", false}};
    struct table table;
    uint32_t shown = 0;
    table_init(&table, column, sizeof column / sizeof *column);
    for (int gated = 1; gated >= 0; gated--)
        for (uint32_t i = 0; i < outcome->levels->count && shown < ROWS_MAX; i++) {
            if (outcome->levels->level[i].is_gated != (gated == 1))
                continue;
            add_level(&table, outcome, i);
            shown++;
        }
    table_print(&table, out);
    print_more(outcome->levels->count, shown, "levels.csv", out);
    table_free(&table);
}

/* ---- what stood still ---- */

struct trouble {
    enum event_kind kind;
    uint32_t index;
    const struct event_tally *tally;
};

/* The most severe kind first, then what lasted longest. */
static int trouble_order(const void *a, const void *b) {
    const struct trouble *first = a, *second = b;
    int graver = event_kind_row(first->kind)->severity - event_kind_row(second->kind)->severity;
    if (graver != 0)
        return graver > 0 ? -1 : 1;
    if (first->tally->lasted_ticks != second->tally->lasted_ticks)
        return first->tally->lasted_ticks > second->tally->lasted_ticks ? -1 : 1;
    return first->index < second->index ? -1 : 1;
}

static void add_trouble(struct table *table, const struct outcome *outcome,
                        const struct trouble *trouble) {
    const struct event_tally *tally = trouble->tally;
    char text[QUANTITY_TEXT_SIZE];
    table_add(table, "%s",
              event_kind_subject_name(outcome->scenario, trouble->kind, trouble->index));
    table_add(table, "%s", event_kind_name(trouble->kind));
    table_add(table, "%llu", (unsigned long long)tally->count);
    table_add(table, "%s", clock_of(outcome, tally->first_start_tick, text));
    table_add(table, "%s", tally->open ? "lasts" : clock_of(outcome, tally->last_end_tick, text));
    table_add(table, "%s", clock_of(outcome, tally->lasted_ticks, text));
}

static uint32_t list_troubles(const struct outcome *outcome, struct trouble **list) {
    struct event_slots slots;
    uint32_t count = 0;
    event_slots_init(&slots, outcome->scenario);
    *list = require_memory(event_slots_count(&slots), sizeof **list);
    for (int number = 0; number < EVENT_KINDS; number++) {
        enum event_kind kind = (enum event_kind)number;
        uint32_t subjects = event_kind_subject_count(outcome->scenario, kind);
        for (uint32_t i = 0; event_kind_row(kind)->severity > 0 && i < subjects; i++) {
            const struct event_tally *tally = events_tally(outcome->events, kind, i);
            if (tally->count > 0)
                (*list)[count++] = (struct trouble){kind, i, tally};
        }
    }
    qsort(*list, count, sizeof **list, trouble_order);
    return count;
}

static void print_troubles(const struct outcome *outcome, FILE *out) {
    static const struct table_column column[] = {{"what stood", false}, {"how", false},
                                                 {"times", true},       {"first at", true},
                                                 {"last end", true},    {"in all", true}};
    struct table table;
    struct trouble *trouble;
    uint32_t count = list_troubles(outcome, &trouble);
    table_init(&table, column, sizeof column / sizeof *column);
    for (uint32_t i = 0; i < count && i < ROWS_MAX; i++)
        add_trouble(&table, outcome, &trouble[i]);
    table_print(&table, out);
    if (count == 0)
        fputs("Nothing starved, blocked, congested or jammed.\n\n", out);
    print_more(count, count < ROWS_MAX ? count : ROWS_MAX, "events.csv", out);
    table_free(&table);
    free(trouble);
}

/* ---- the end ---- */

/* Items of a kind on all loops together. */
static int64_t on_loops(const struct outcome *outcome, uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < outcome->scenario->lane_count; i++)
        count += world_track_count(outcome->world, (struct place){PLACE_LANE, i, 0}, item);
    return count;
}

static void print_left(const struct outcome *outcome, FILE *out) {
    int64_t total = on_loops(outcome, NO_INDEX), listed = 0;
    if (outcome->scenario->loop_count == 0)
        return;
    if (total == 0) {
        fputs("At the end the loops are empty.\n", out);
        return;
    }
    fprintf(out, "At the end %lld item%s on the loops:", (long long)total,
            total == 1 ? " lies" : "s lie");
    uint32_t kinds = 0;
    for (uint32_t i = 0; i < outcome->scenario->item_count && kinds < KINDS_MAX && listed < total;
         i++) {
        int64_t count = on_loops(outcome, i);
        if (count == 0)
            continue;
        fprintf(out, "%s%lld %s", kinds % 3 == 0 ? "\n  " : ", ", (long long)count,
                outcome->scenario->item[i].name);
        kinds++;
        listed += count;
    }
    fputs(listed < total ? ", ...\n" : "\n", out);
}

static const char caution[] =
    "A simulation approves nothing: guarding, lockout and emergency stops follow\n"
    "local codes, standards such as ISO 12100, ISO 13850 and 29 CFR 1910.147, and\n"
    "licensed practice.\n";

void summary_text_print(const struct outcome *outcome, const char *path, FILE *out) {
    struct lane_profile stretches;
    lane_profile_init(&stretches, outcome->window);
    print_heading(outcome, out);
    summary_text_verdict(outcome, out);
    fputc('\n', out);
    print_products(outcome, out);
    print_lanes(outcome, &stretches, out);
    print_feeders(outcome, &stretches, out);
    print_chests(outcome, out);
    print_troubles(outcome, out);
    print_left(outcome, out);
    if (path != NULL)
        fprintf(out, "The files of the run are in %s\n", path);
    fprintf(out, "%s%s", outcome->scenario->loop_count > 0 || path != NULL ? "\n" : "", caution);
    lane_profile_free(&stretches);
}
