/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/design/test_plans.c - the plans of this directory's briefs and of random ones, without any
 * trial, made in several ways: each is a scenario without fault, and the one that is known
 * (plans.txt), to the byte, reasons and all. Which of them are good is for test_design.c to say; a
 * change of the rules changes lines here, and no other change does.
 *
 * test_plans --write >tests/design/plans.txt writes them anew, test_plans --show BRIEF WAY prints
 * one as it is written, to be compared. */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/design/draw_plan.h"
#include "model/design/given_belts.h"
#include "model/reader/read.h"
#include "sim/require.h"
#include "sim/sealed_file.h"
#include "sim/text_stream.h"
#include "tests/common/dice.h"
#include "tests/common/suite.h"
#include "tools/design/design_text.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))
enum { LINE_BYTES = 800, BRIEF_BYTES = 20000, CHANGES_MOST = 5 };

/* Also where no test is running. */
static void must(bool good, const char *what, const char *where) {
    if (good)
        return;
    fprintf(stderr, "test_plans: %s: %s\n", where, what);
    exit(EXIT_FAILURE);
}

/* ---- ways to plan ---- */

/* What is added to `may`, and by what a plan is larger than by the rules. */
struct way {
    const char *name;
    const char *change[CHANGES_MOST];
    struct plan_choice choice; /* its factors and flags */
    double shelf;
    bool head_start;
    uint32_t extra_station, extra_taker;
};

#define BY_RULES                                                                                   \
    .threshold = 1, .ahead = 1, .bin = 1, .shelf_start = 1, .feeder_margin = 1.2, .spacing = 1,    \
    .lanes_least = 1

static const struct way way[] = {
    {"rules", {NULL}, {BY_RULES}, 1, false, 0, 0},
    {"belts", {"may.gates=belts"}, {BY_RULES, .belt_more = 1}, 1, false, 0, 0},
    {"dense",
     {"may.gates=belts"},
     {BY_RULES, .both_sides = true, .one_store = true},
     1,
     false,
     0,
     0},
    {"wide",
     {"may.survive={disturb: false}"},
     {.threshold = 1,
      .ahead = 1,
      .bin = 1,
      .shelf_start = 1,
      .feeder_margin = 1.6,
      .spacing = 3,
      .lanes_least = 2,
      .both_sides = true},
     1,
     false,
     1,
     1},
    {"more",
     {"may.met=0.9", "may.survive={flood: 0}"},
     {.threshold = 1.5,
      .ahead = 1.3,
      .bin = 2,
      .shelf_start = 0.5,
      .full_trays = true,
      .feeder_margin = 1.2,
      .spacing = 1,
      .lanes_least = 1},
     2.5,
     true,
     0,
     2},
    {"kinds",
     {"may.arms=[{swing: 0.8 s, hand: 1}, {swing: 1.6 s, hand: 4}, {swing: 3 s, hand: 12}]",
      "may.loops={rates: [3, 9], lanes_at_most: 3, at_most: 3, cells_at_most: 90}",
      "may.lines={rates: [12, 5], cells_at_most: 60}", "may.chests={capacities: [60, 400, 150]}"},
     {BY_RULES, .one_store = true},
     1,
     false,
     0,
     0},
    {"calm",
     {"may.survive={disturb: false, flood: 0, drain: false, restart: false}",
      "may.stations_at_most=40", "may.met=1"},
     {BY_RULES},
     1,
     false,
     0,
     0},
};
enum { WAYS = LENGTH(way) };

/* ---- briefs ---- */

static const char *const written[] = {
    "two-kinds", "three-products", "by-product",  "bulk",     "two-stages",       "chance",
    "carriers",  "forty-kinds",    "given-parts", "too-fast", "too-few-stations", "wanted-offcuts",
};
enum { WRITTEN = LENGTH(written), RANDOM = 300 };

static char *written_brief(const char *name) {
    char path[100], *text = require_memory(BRIEF_BYTES, 1);
    snprintf(path, sizeof path, "tests/design/%s.brief", name);
    FILE *file = fopen(path, "r");
    must(file != NULL, "is not there", path);
    must(fread(text, 1, BRIEF_BYTES - 1, file) < BRIEF_BYTES - 1, "is too long", path);
    fclose(file);
    return text;
}

enum { RECIPES_MOST = 3 };

/* A random brief: so many kinds that are supplied, of which recipes take some, and the product of
 * the recipe before them, or chips of it; some chips are wanted, too. */
struct random_brief {
    FILE *out;
    uint64_t dice;
    uint64_t kinds, recipes;
    bool chips[RECIPES_MOST]; /* a recipe leaves them */
    bool trays;               /* go round between both recipes, empty and loaded */
};

static uint64_t roll(struct random_brief *brief, uint64_t count) {
    return dice_below(&brief->dice, count);
}

static bool one_in(struct random_brief *brief, uint64_t count) { return roll(brief, count) == 0; }

static const char *comma(uint64_t index) { return index > 0 ? ", " : ""; }

static void put_items(struct random_brief *brief) {
    fprintf(brief->out, "items: {");
    for (uint64_t i = 0; i < brief->kinds; i++)
        if (one_in(brief, 4))
            fprintf(brief->out, "%spart-%d: {length: %d}", comma(i), (int)i,
                    (int)(2 + roll(brief, 5)));
        else
            fprintf(brief->out, "%spart-%d: {}", comma(i), (int)i);
    for (uint64_t r = 0; r < brief->recipes; r++)
        fprintf(brief->out, ", toy-%d: {length: %d}, chip-%d: {}", (int)r,
                (int)(1 + roll(brief, 2)), (int)r);
    if (brief->trays)
        fprintf(brief->out, ", tray: {length: %d}", (int)(1 + roll(brief, 2)));
    fprintf(brief->out, "}\n");
}

static void put_recipe(struct random_brief *brief, uint64_t r) {
    static const char *const time[] = {"2 s", "4 s", "7.5 s", "{exponential: 5 s}", "250 ms"};
    static const char *const breaks[] = {"{after: 2 h, repair: 4 min}",
                                         "{after: {exponential: 5 min}, repair: 9 min}"};
    uint64_t first = roll(brief, brief->kinds), takes = 1 + roll(brief, 4);
    uint64_t most = one_in(brief, 6) ? 20 : 3;
    fprintf(brief->out, "  - {name: bench-%d, time: %s%s, ", (int)r,
            time[roll(brief, LENGTH(time))], one_in(brief, 5) ? ", ahead: 3" : "");
    if (one_in(brief, 6))
        fprintf(brief->out, "breaks: %s, takes: {", breaks[roll(brief, LENGTH(breaks))]);
    else
        fprintf(brief->out, "takes: {");
    if (r > 0 && (brief->trays || !one_in(brief, 3)))
        fprintf(brief->out, "toy-%d: %d, ", (int)r - 1,
                brief->trays ? 1 : (int)(1 + roll(brief, 2)));
    if (r == 0 && brief->trays)
        fprintf(brief->out, "tray: 1, ");
    if (r > 0 && brief->chips[r - 1] && one_in(brief, 2))
        fprintf(brief->out, "chip-%d: 1, ", (int)r - 1);
    for (uint64_t i = 0; i < takes && i < brief->kinds; i++)
        fprintf(brief->out, "%spart-%d: %d", comma(i), (int)((first + i) % brief->kinds),
                (int)(1 + roll(brief, most)));
    fprintf(brief->out, "}, makes: {toy-%d: %d%s", (int)r,
            brief->trays ? 1 : (int)(1 + roll(brief, 3)),
            r == 1 && brief->trays ? ", tray: 1" : "");
    brief->chips[r] = one_in(brief, 4);
    if (brief->chips[r])
        fprintf(brief->out, ", chip-%d: {count: %d, chance: 0.%d}", (int)r,
                (int)(1 + roll(brief, 3)), (int)(2 + roll(brief, 7)));
    fprintf(brief->out, "}}\n");
}

static void put_streams(struct random_brief *brief) {
    fprintf(brief->out, "supplies:\n");
    for (uint64_t i = 0; i < brief->kinds; i++) {
        if (i == 0) /* what would be a name of the design's own */
            fprintf(brief->out, "  - {name: %s, ", one_in(brief, 2) ? "bin" : "ring");
        else
            fprintf(brief->out, "  - {name: delivery-%d, ", (int)i);
        fprintf(brief->out, "item: part-%d, every: %d s, batch: %d}\n", (int)i,
                (int)(10 + 20 * roll(brief, 3)), (int)(40 + roll(brief, 60)));
    }
    for (uint64_t r = 0; r < brief->recipes; r++)
        if (one_in(brief, 6)) /* some is bought, besides what is made */
            fprintf(brief->out, "  - {name: bought-%d, item: toy-%d, every: 2 min, batch: 3}\n",
                    (int)r, (int)r);
    fprintf(brief->out, "demands:\n");
    for (uint64_t r = 0; r < brief->recipes; r++) {
        char name[20];
        bool by_chance = one_in(brief, 2);
        if (brief->chips[r] && one_in(brief, 2))
            fprintf(brief->out, "  - {name: chips-%d, item: chip-%d, every: %d s}\n", (int)r,
                    (int)r, (int)(20 + roll(brief, 100)));
        bool last = r + 1 == brief->recipes; /* its name would be one of the design's own */
        snprintf(name, sizeof name, "order-%d", (int)r);
        if (last)
            snprintf(name, sizeof name, "shelf");
        if (last || one_in(brief, 2))
            fprintf(brief->out, "  - {name: %s, item: toy-%d, every: %s%d s%s, batch: %d}\n", name,
                    (int)r, by_chance ? "{exponential: " : "",
                    (int)(4 + roll(brief, one_in(brief, 4) ? 900 : 20)), by_chance ? "}" : "",
                    (int)(1 + roll(brief, 2)));
    }
}

/* Some parts are there already. */
static void put_given(struct random_brief *brief) {
    static const char *const lanes[] = {"", ", lanes: [a, b]", ", lanes: [a, b, c]"};
    if (one_in(brief, 5)) {
        fprintf(brief->out, "loops:\n");
        for (uint64_t i = 0, loops = 1 + roll(brief, 2); i < loops; i++)
            fprintf(brief->out, "  - {name: round-%d, cells: %d, rate: %d%s}\n", (int)i,
                    (int)(one_in(brief, 5) ? 5 : 20 + roll(brief, 60)), (int)(5 + roll(brief, 4)),
                    lanes[roll(brief, LENGTH(lanes))]);
    }
    if (one_in(brief, 5)) {
        fprintf(brief->out, "lines:\n");
        for (uint64_t i = 0, lines = 1 + roll(brief, 2); i < lines; i++)
            fprintf(brief->out, "  - {name: slide-%d, cells: %d, rate: %d}\n", (int)i,
                    one_in(brief, 3) ? 5 : 30, (int)(5 + roll(brief, 4)));
    }
    if (one_in(brief, 4))
        fprintf(brief->out,
                "chests:\n%s  - {name: store, capacity: %d, start: {part-0: 9}}\n"
                "  - {name: case, limits: {toy-%d: %d}}\n",
                one_in(brief, 2) ? "  - {name: spare, capacity: 1}\n" : "",
                (int)(20 + roll(brief, 300)), (int)brief->recipes - 1, (int)(1 + roll(brief, 12)));
}

static char *random_brief(uint64_t seed) {
    struct text_stream stream;
    struct random_brief brief = {.out = text_stream_begin(&stream), .dice = seed};
    brief.kinds = 1 + roll(&brief, 7);
    brief.recipes = 1 + roll(&brief, RECIPES_MOST);
    brief.trays = brief.recipes == 2 && one_in(&brief, 3);
    put_items(&brief);
    put_given(&brief);
    fprintf(brief.out, "stations:\n");
    for (uint64_t r = 0; r < brief.recipes; r++)
        put_recipe(&brief, r);
    put_streams(&brief);
    return text_stream_end(&stream);
}

/* ---- planning ---- */

static uint32_t changes_of(const struct way *how) {
    uint32_t count = 0;
    while (count < CHANGES_MOST && how->change[count] != NULL)
        count++;
    return count;
}

static struct draft *draft_of(const char *brief, const struct way *how) {
    struct faults faults = {0};
    struct draft *draft =
        read_draft(brief, strlen(brief), "brief", how->change, changes_of(how), &faults);
    must(draft != NULL, faults.count > 0 ? faults.fault[0].what : "", brief);
    faults_free(&faults);
    return draft;
}

/* The choice of a way. The flags of stations are borrowed, and set here. */
static struct plan_choice choice_of(const struct draft *draft, const struct way *how,
                                    bool *ahead_given, const bool *gate_given) {
    const struct scenario *scenario = draft->scenario;
    struct plan_choice like = how->choice;
    like.ahead_given = ahead_given;
    like.gate_given = gate_given;
    like.chests_given = scenario->chest_count - (draft->stand_in != NULL);
    struct plan_choice first = plan_choice_copy(&like, scenario);
    for (uint32_t s = 0; s < scenario->station_count; s++) {
        ahead_given[s] = scenario->station[s].ahead == 3; /* as random briefs have it */
        first.extra_station[s] += how->extra_station;
        first.extra_taker[s] += how->extra_taker;
    }
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        first.head_start[i] = first.head_start[i] || how->head_start;
        first.shelf[i] *= how->shelf;
    }
    struct plan_choice choice = plan_choice_copy(&first, scenario);
    plan_choice_free(&first);
    return choice;
}

/* The plan of a brief as a scenario, and its parts in one line; or why there is none. Freed by the
 * caller. */
static char *planned(const char *brief, const struct way *how, char parts[LINE_BYTES]) {
    struct draft *draft = draft_of(brief, how);
    bool *ahead_given = require_memory(draft->scenario->station_count, sizeof *ahead_given);
    bool *gate_given = require_memory(draft->scenario->station_count, sizeof *gate_given);
    char why[DESIGN_WHY_BYTES] = "", *text;
    given_belts_use(&draft->may, draft->scenario, true);
    struct plan_choice choice = choice_of(draft, how, ahead_given, gate_given);
    struct plan plan;
    if (draw_plan(&plan, draft->scenario, &draft->may, &choice, why)) {
        uint32_t cells = 0;
        for (uint32_t b = 0; b < plan.belt_count; b++)
            cells += plan.belt[b].cells;
        snprintf(parts, LINE_BYTES,
                 "%u stations (%.0f %% idle), %u chests, %u belts of %u cells, %u arms",
                 plan.station_count, 100 * plan_idle_share(&plan, draft->scenario->demand[0].item),
                 plan.chest_count, plan.belt_count, cells, plan.arm_count);
        text = design_text_of(&plan, draft, &(struct design_notes){.head = NULL});
    } else {
        snprintf(parts, LINE_BYTES, "cannot be");
        text = require_text(why);
    }
    plan_free(&plan);
    plan_choice_free(&choice);
    free(ahead_given);
    free(gate_given);
    draft_free(draft);
    return text;
}

/* ---- the known ones ---- */

static const char known_path[] = "tests/design/plans.txt";
enum { CASES = WRITTEN * WAYS + RANDOM };

/* The brief of a case, freed by the caller, its name and its way: written ones in all ways, random
 * ones in one. */
static char *case_brief(int index, char name[40], const struct way **how) {
    if (index < WRITTEN * WAYS) {
        snprintf(name, 40, "%s", written[index / WAYS]);
        *how = &way[index % WAYS];
        return written_brief(name);
    }
    uint64_t seed = (uint64_t)index - WRITTEN * WAYS + 1;
    snprintf(name, 40, "random-%" PRIu64, seed);
    *how = &way[seed % WAYS];
    return random_brief(seed);
}

static void known_line(int index, char line[LINE_BYTES], char **text) {
    char name[40], parts[LINE_BYTES];
    const struct way *how;
    char *brief = case_brief(index, name, &how);
    *text = planned(brief, how, parts);
    snprintf(line, LINE_BYTES, "%016" PRIx64 " %s %s: %.600s\n",
             sealed_checksum(0, *text, strlen(*text)), name, how->name, parts);
    free(brief);
}

/* Of what can be planned; a plan that breaks a rule of the trade is warned of. */
static void check_scenario(const char *text, const char *line) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "plan", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%sline %u: %s", line,
                  faults.count > 0 ? faults.fault[0].line : 0,
                  faults.count > 0 ? faults.fault[0].what : "");
    scenario_free(scenario);
    faults_free(&faults);
}

START_TEST(each_plan_is_the_known_one) {
    FILE *file = fopen(known_path, "r");
    ck_assert_msg(file != NULL, "%s is not there", known_path);
    for (int i = 0; i < CASES; i++) {
        char line[LINE_BYTES], known[LINE_BYTES] = "", *text;
        known_line(i, line, &text);
        if (strstr(line, ": cannot be") == NULL)
            check_scenario(text, line);
        fgets(known, sizeof known, file);
        ck_assert_msg(strcmp(line, known) == 0,
                      "found  %sknown  %sif that is wanted: test_plans --write >%s", line, known,
                      known_path);
        free(text);
    }
    ck_assert_int_eq(fgetc(file), EOF);
    fclose(file);
}
END_TEST

static int write_all(void) {
    for (int i = 0; i < CASES; i++) {
        char line[LINE_BYTES], *text;
        known_line(i, line, &text);
        fputs(line, stdout);
        free(text);
    }
    return EXIT_SUCCESS;
}

static int show(const char *brief_name, const char *way_name) {
    for (int i = 0; i < CASES; i++) {
        char name[40], parts[LINE_BYTES];
        const struct way *how;
        char *brief = case_brief(i, name, &how);
        if (strcmp(name, brief_name) == 0 && strcmp(how->name, way_name) == 0) {
            char *text = planned(brief, how, parts);
            printf("# %s\n%s", parts, text);
            free(text);
        }
        free(brief);
    }
    return EXIT_SUCCESS;
}

static void add_tests(TCase *tests) { tcase_add_test(tests, each_plan_is_the_known_one); }

int main(int count, char **word) {
    if (count == 2 && strcmp(word[1], "--write") == 0)
        return write_all();
    if (count == 4 && strcmp(word[1], "--show") == 0)
        return show(word[2], word[3]);
    return suite_main("plans", add_tests);
}
