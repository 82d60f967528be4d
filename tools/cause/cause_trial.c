/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_trial.c - a proof is cut into runs, one for each seed and for each way in which
 * time may go on; threads take the next run of all proofs until there is none. */
#include "tools/cause/cause_trial.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/budget/budget.h"
#include "model/reader/read.h"
#include "model/scenario/layout.h"
#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/base/interrupt.h"
#include "tools/base/pool.h"
#include "tools/base/progress.h"

/* ---- the book ---- */

/* Where something is demanded and nothing of it is made, what is demanded is the product. */
static void mark_bought_in(struct trial_book *book) {
    const struct scenario *scenario = book->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (book->product[i])
            return;
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (!scenario->demand[i].outlet)
            book->product[scenario->demand[i].item] = book->bought_in[scenario->demand[i].item] =
                true;
}

/* Items a second of the supplies or demands of a scenario. */
static double rate_of(const struct scenario *scenario, const struct scenario_stream *stream,
                      uint32_t count, uint32_t item) {
    double rate = 0;
    for (uint32_t i = 0; i < count; i++)
        if (stream[i].item == item && !stream[i].outlet && stream[i].every.mean_ticks > 0)
            rate += (double)stream[i].batch * (double)scenario->ticks_per_second /
                    (double)stream[i].every.mean_ticks;
    return rate;
}

static double demanded_rate(const struct scenario *scenario, uint32_t item) {
    return rate_of(scenario, scenario->demand, scenario->demand_count, item);
}

/* Of what is bought in no more can be had than is brought, if it is. */
static double share_brought(const struct trial_book *book, uint32_t item, double asked) {
    const struct scenario *scenario = book->scenario;
    double brought = rate_of(scenario, scenario->supply, scenario->supply_count, item);
    return book->bought_in[item] && brought > 0 && brought < asked ? brought / asked : 1;
}

/* What can be made, as a share of what is asked for; without a demand, as a rate. */
static void find_wanted(struct trial_book *book) {
    const struct scenario *scenario = book->scenario;
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        double asked = demanded_rate(scenario, i);
        book->wanted[i] = asked > 0 ? share_brought(book, i, asked) : NAN;
    }
    const struct budget *budget = book->budget = budget_new(scenario);
    for (uint32_t i = 0; i < budget->product_count; i++) {
        const struct budget_product *product = &budget->product[i];
        double asked = demanded_rate(scenario, product->item);
        double greatest = asked > 0 ? product->greatest / asked : product->greatest;
        if (product->is_known && !(book->wanted[product->item] <= greatest))
            book->wanted[product->item] = greatest;
    }
}

void trial_book_init(struct trial_book *book, const struct scenario *scenario, int64_t prove_ticks,
                     bool show_progress) {
    *book = (struct trial_book){.scenario = scenario,
                                .prove_ticks = prove_ticks,
                                .seeds = scenario_has_chance(scenario) ? TRIAL_SEEDS : 1,
                                .show_progress = show_progress};
    if (prove_ticks == NOT_GIVEN) {
        int64_t least = TRIAL_PROVE_SECONDS * scenario->ticks_per_second;
        book->prove_ticks = TRIAL_PROVE_RUNS * scenario->run_ticks;
        book->prove_ticks = book->prove_ticks > least ? book->prove_ticks : least;
    }
    book->product = require_memory(scenario->item_count, sizeof *book->product);
    book->bought_in = require_memory(scenario->item_count, sizeof *book->bought_in);
    book->wanted = require_memory(scenario->item_count, sizeof *book->wanted);
    for (int i = 0; i < 2; i++)
        book->best[i] = require_memory(scenario->item_count, sizeof *book->best[i]);
    layout_mark_products(scenario, book->product);
    mark_bought_in(book);
    find_wanted(book);
}

void trial_book_know_run(struct trial_book *book, uint64_t moves) {
    book->dearest = moves > book->dearest ? moves : book->dearest;
}

static void trial_free(struct trial *trial) {
    for (uint32_t i = 0; i < trial->set_count; i++)
        free(trial->set[i]);
    free(trial->set);
    course_free(&trial->first);
    course_free(&trial->run);
    free(trial->run_kept);
    free(trial->kept);
    free(trial->starved);
    course_growth_free(trial->growth, trial->growth_count);
}

void trial_book_free(struct trial_book *book) {
    for (uint32_t i = 0; i < book->count; i++)
        trial_free(&book->trial[i]);
    free(book->trial);
    free(book->product);
    free(book->bought_in);
    free(book->wanted);
    free(book->best[0]);
    free(book->best[1]);
    budget_free(book->budget);
    *book = (struct trial_book){0};
}

/* Whether the changes of a trial are the lines of `text`, from its change `from` on. */
static bool are_lines_of(const struct trial *trial, uint32_t from, const char *text) {
    for (uint32_t i = from; i < trial->set_count; i++) {
        size_t length = strlen(trial->set[i]);
        if (strncmp(text, trial->set[i], length) != 0 ||
            text[length] != (i + 1 < trial->set_count ? '\n' : '\0'))
            return false;
        text += length + (text[length] == '\n');
    }
    return *text == '\0';
}

static bool begins_with(const struct trial *trial, const struct trial *first) {
    if (trial->set_count < first->set_count)
        return false;
    for (uint32_t i = 0; i < first->set_count; i++)
        if (strcmp(trial->set[i], first->set[i]) != 0)
            return false;
    return true;
}

static void add_set(struct trial *trial, const char *text, size_t length) {
    char *set = require_memory(length + 1, 1);
    memcpy(set, text, length);
    trial->set = require_more_memory(trial->set, trial->set_count + 1, sizeof *trial->set);
    trial->set[trial->set_count++] = set;
}

/* The trial of the changes of another one (NULL: none) and those in a text. */
static uint32_t find_or_add(struct trial_book *book, const struct trial *first,
                            const char *second) {
    static const struct trial none;
    struct trial trial = {
        .first_from = NOT_GIVEN, .failed_tick = NOT_GIVEN, .clog_tick = NOT_GIVEN, .met = NAN};
    first = first != NULL ? first : &none;
    for (uint32_t i = 0; i < book->count; i++)
        if (begins_with(&book->trial[i], first) &&
            are_lines_of(&book->trial[i], first->set_count, second))
            return i;
    for (uint32_t i = 0; i < first->set_count; i++)
        add_set(&trial, first->set[i], strlen(first->set[i]));
    while (*second != '\0') {
        size_t length = strcspn(second, "\n");
        add_set(&trial, second, length);
        second += length + (second[length] == '\n');
    }
    if (book->count == book->capacity) {
        book->capacity = 2 * book->capacity + 16;
        book->trial = require_more_memory(book->trial, book->capacity, sizeof *book->trial);
    }
    book->trial[book->count] = trial;
    return book->count++;
}

uint32_t trial_book_add(struct trial_book *book, const char *text) {
    return find_or_add(book, NULL, text);
}

uint32_t trial_book_add_both(struct trial_book *book, uint32_t first, const char *second) {
    return find_or_add(book, &book->trial[first], second);
}

uint32_t trial_book_add_without(struct trial_book *book, uint32_t trial, uint32_t set,
                                uint32_t count) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    for (uint32_t i = 0, put = 0; i < book->trial[trial].set_count; i++)
        if (i < set || i >= set + count)
            fprintf(out, "%s%s", put++ > 0 ? "\n" : "", book->trial[trial].set[i]);
    char *text = text_stream_end(&stream);
    uint32_t index = trial_book_add(book, text);
    free(text);
    return index;
}

/* ---- what came out ---- */

bool trial_fills_box(const struct trial_book *book, const struct trial *trial) {
    for (uint32_t i = 0; i < trial->growth_count; i++)
        if (trial->growth[i].place.kind == PLACE_CHEST &&
            trial->growth[i].place.index >= book->scenario->chest_count)
            return true;
    return false;
}

int64_t trial_made(const struct trial_book *book, const struct trial *trial) {
    int64_t made = 0;
    for (uint32_t i = 0; i < book->scenario->item_count && trial->done; i++)
        if (book->product[i])
            made += book->bought_in[i] ? trial->run.taken[i] : trial->run.made[i];
    return made;
}

double trial_per_minute(const struct trial_book *book, const struct trial *trial, uint32_t item) {
    const struct scenario *scenario = book->scenario;
    double minutes = (double)(scenario->run_ticks - scenario->warm_up_ticks) /
                     (60 * (double)scenario->ticks_per_second);
    int64_t count = book->bought_in[item] ? trial->run.taken[item] : trial->run.made[item];
    return minutes > 0 ? (double)count / minutes : NAN;
}

/* The share of the demand for an item that was met; NAN: it is no product, or nobody asks for it.
 * Where nothing was asked for after the warm-up, all of it was met. */
static double share_met(const struct trial_book *book, const struct course *course, uint32_t item) {
    if (!book->product[item] || demanded_rate(book->scenario, item) <= 0)
        return NAN;
    return course->asked[item] > 0 ? (double)course->met[item] / (double)course->asked[item] : 1;
}

/* What was had of a product: of what was asked for, or a second; NAN: it is none. */
static double kept_of(const struct trial_book *book, const struct course *course, uint32_t item,
                      int64_t ticks) {
    double met = share_met(book, course, item);
    if (!book->product[item] || !isnan(met) || ticks <= 0)
        return met;
    return (double)course->made[item] * (double)book->scenario->ticks_per_second / (double)ticks;
}

double trial_met_in_run(const struct trial_book *book, const struct trial *trial) {
    double least = NAN;
    for (uint32_t i = 0; i < book->scenario->item_count; i++) {
        double met = share_met(book, &trial->run, i);
        if (!isnan(met) && !(least <= met))
            least = met;
    }
    return least;
}

/* The least of several runs. */
static void judge_course(const struct trial_book *book, struct trial *trial, double *kept,
                         const struct course *course, int64_t end_tick) {
    int64_t ticks = end_tick - book->scenario->warm_up_ticks;
    for (uint32_t i = 0; i < book->scenario->item_count; i++) {
        double met = share_met(book, course, i), had = kept_of(book, course, i, ticks);
        if (!isnan(met) && !(trial->met <= met))
            trial->met = met;
        if (!(kept[i] <= had))
            kept[i] = had;
    }
}

static void note_best(struct trial_book *book, bool proved, const double *kept) {
    for (uint32_t i = 0; i < book->scenario->item_count; i++)
        if (kept[i] > book->best[proved][i])
            book->best[proved][i] = kept[i];
}

enum { KEPT_PERCENT = 90 };

static bool some_end(const struct scenario_stream *stream, uint32_t count, int64_t ticks) {
    for (uint32_t i = 0; i < count; i++)
        if (stream[i].until_tick <= ticks)
            return true;
    return false;
}

/* Whether a supply ends within the run: what is met afterwards counts. */
static bool supplies_end(const struct scenario *scenario) {
    return some_end(scenario->supply, scenario->supply_count, scenario->run_ticks);
}

/* What there is to be kept of a product. */
static double to_keep(const struct trial_book *book, uint32_t item, bool proved) {
    double wanted = book->wanted[item], best = book->best[proved][item];
    if (demanded_rate(book->scenario, item) > 0)
        return wanted >= best ? wanted : best;
    return wanted <= best ? wanted : best;
}

bool trial_keeps(const struct trial_book *book, const struct trial *trial, bool over_run) {
    bool proved = trial->proved && !over_run;
    const double *kept = proved ? trial->kept : trial->run_kept;
    for (uint32_t i = 0; i < book->scenario->item_count; i++)
        if (100 * kept[i] < KEPT_PERCENT * to_keep(book, i, proved))
            return false;
    return true;
}

/* ---- runs ---- */

/* One run of a trial: over a stretch; of a proof, with a seed, as written or as if all went on. */
struct piece {
    uint32_t trial;
    const struct trial_stretch *stretch; /* NULL: from the start to the end */
    uint32_t seed;                       /* added to the scenario's */
    bool proves, goes_on;
    bool changed; /* it was made to go on: else it is nothing new */
    struct course course;
    struct proof *proof;
};

/* What the runs of one proof share. */
struct proof {
    uint32_t trial;
    _Atomic int64_t earliest;
    bool ran_out;
};

struct work {
    const struct trial_book *book;
    struct piece *piece;
    uint32_t count;
    struct progress progress;
    atomic_uint done;
};

/* A change that can't be read is no remedy: it was a guess. */
struct scenario *trial_scenario(const struct trial_book *book, const struct trial *trial) {
    const char *text = book->scenario->text;
    struct faults faults = {0};
    struct scenario *scenario =
        read_scenario(text, strlen(text), "scenario.yaml", (const char *const *)trial->set,
                      trial->set_count, &faults);
    faults_free(&faults);
    if (scenario != NULL && scenario->item_count == book->scenario->item_count &&
        scenario->station_count >= book->scenario->station_count)
        return scenario;
    scenario_free(scenario);
    return NULL;
}

/* A proof ends after so many moves and ticks with something to do, in all its seeds: some seconds,
 * and 12 hours of 64 sectors of twenty arms. */
enum { PROOF_ACTS_MOST = 80000000 };

bool trial_set_adds_part(const char *set) {
    size_t key = strcspn(set, "=");
    const char *dot = memchr(set, '.', key);
    return dot != NULL && set[key] == '=' && set[key + 1] == '{' &&
           memchr(dot + 1, '.', key - (size_t)(dot + 1 - set)) == NULL;
}

bool trial_works_late(const struct trial *trial) {
    for (uint32_t i = 0; i < trial->set_count; i++)
        if (strncmp(trial->set[i], "incidents", strlen("incidents")) == 0 ||
            strstr(trial->set[i], ".until=") != NULL || trial_set_adds_part(trial->set[i]))
            return false;
    return true;
}

static void try_stretch(struct piece *piece, const struct trial *trial, struct scenario *scenario) {
    const struct trial_stretch *stretch = piece->stretch;
    int64_t from = ladder_tick(stretch->ladder, stretch->from_tick);
    struct world *world = trial_works_late(trial)
                              ? ladder_world(stretch->ladder, scenario, stretch->from_tick)
                              : NULL;
    scenario->run_ticks = stretch->to_tick;
    scenario->warm_up_ticks = from > scenario->warm_up_ticks ? from : scenario->warm_up_ticks;
    course_try(&piece->course, scenario, world != NULL ? world : world_new(scenario));
}

static bool do_piece(void *self, uint64_t number) {
    struct work *work = self;
    struct piece *piece = &work->piece[number];
    const struct trial_book *book = work->book;
    struct scenario *scenario = trial_scenario(book, &book->trial[piece->trial]);
    if (scenario != NULL && piece->stretch != NULL) {
        try_stretch(piece, &book->trial[piece->trial], scenario);
        scenario_free(scenario);
        scenario = NULL;
    }
    if (scenario != NULL && piece->goes_on)
        piece->changed = course_make_go_on(scenario, book->scenario->run_ticks);
    if (scenario != NULL && (piece->changed || !piece->goes_on)) {
        scenario->seed += piece->seed;
        if (piece->proves)
            scenario->run_ticks = book->prove_ticks;
        if (piece->proves)
            course_run(&piece->course, scenario, &piece->proof->earliest,
                       PROOF_ACTS_MOST / book->seeds);
        else
            course_run(&piece->course, scenario, NULL, UINT64_MAX);
    }
    scenario_free(scenario);
    atomic_fetch_add(&work->done, 1);
    return interrupt_signal() == 0;
}

static void show(void *self) {
    struct work *work = self;
    progress_show(&work->progress, atomic_load(&work->done));
}

static bool do_all(const struct trial_book *book, struct piece *piece, uint32_t count) {
    struct work work = {.book = book, .piece = piece, .count = count};
    struct pool_task task = {
        .self = &work, .count = count, .jobs = pool_processors(), .work = do_piece, .look = show};
    if (count == 0)
        return interrupt_signal() == 0;
    progress_init_count(&work.progress, count, "runs of changes", book->show_progress);
    bool whole = pool_run(&task);
    progress_end(&work.progress);
    return whole;
}

/* ---- over a stretch ---- */

static void take_first(struct trial_book *book, struct piece *piece) {
    struct trial *trial = &book->trial[piece->trial];
    if (piece->course.made == NULL)
        return; /* it could not be read */
    book->spent += piece->course.moves;
    course_free(&trial->first);
    trial->first = piece->course;
    trial->first_from = piece->stretch->from_tick;
    trial->first_to = piece->stretch->to_tick;
}

bool trial_is_tried(const struct trial *trial, const struct trial_stretch *stretch) {
    return trial->first_from == stretch->from_tick && trial->first_to == stretch->to_tick;
}

static bool is_among(const struct piece *piece, uint32_t count, uint32_t trial) {
    for (uint32_t i = 0; i < count; i++)
        if (piece[i].trial == trial)
            return true;
    return false;
}

bool trial_book_try(struct trial_book *book, const uint32_t *index, uint32_t count,
                    const struct trial_stretch *stretch) {
    struct piece *piece = require_memory(count, sizeof *piece);
    uint32_t pieces = 0;
    for (uint32_t i = 0; i < count; i++)
        if (!trial_is_tried(&book->trial[index[i]], stretch) && !is_among(piece, pieces, index[i]))
            piece[pieces++] = (struct piece){.trial = index[i], .stretch = stretch};
    bool whole = do_all(book, piece, pieces);
    for (uint32_t i = 0; i < pieces; i++)
        if (whole)
            take_first(book, &piece[i]);
        else
            course_free(&piece[i].course);
    free(piece);
    return whole;
}

/* ---- over the run ---- */

static double *no_rates(const struct trial_book *book) {
    double *rate = require_memory(book->scenario->item_count, sizeof *rate);
    for (uint32_t i = 0; i < book->scenario->item_count; i++)
        rate[i] = NAN;
    return rate;
}

static void take_run(struct trial_book *book, struct piece *piece) {
    struct trial *trial = &book->trial[piece->trial];
    trial->done = true;
    trial->run = piece->course;
    book->dearest = trial->run.moves > book->dearest ? trial->run.moves : book->dearest;
    trial->proved_ticks = book->scenario->run_ticks;
    trial->seeds = 1;
    trial->met = NAN;
    trial->run_kept = no_rates(book);
    trial->kept = no_rates(book);
    judge_course(book, trial, trial->run_kept, &trial->run, book->scenario->run_ticks);
    if (trial->run.first_jam == NOT_GIVEN)
        note_best(book, false, trial->run_kept);
}

uint32_t trial_book_add_unchanged(struct trial_book *book, struct course *course) {
    struct piece piece = {.trial = trial_book_add(book, ""), .course = *course};
    if (course->whole && !book->trial[piece.trial].done) {
        take_run(book, &piece);
        *course = (struct course){0};
    }
    return piece.trial;
}

bool trial_book_run(struct trial_book *book, const uint32_t *index, uint32_t count) {
    struct piece *piece = require_memory(count, sizeof *piece);
    uint32_t pieces = 0;
    for (uint32_t i = 0; i < count; i++)
        if (!book->trial[index[i]].done && !is_among(piece, pieces, index[i]))
            piece[pieces++] = (struct piece){.trial = index[i]};
    bool whole = do_all(book, piece, pieces);
    for (uint32_t i = 0; i < pieces; i++)
        if (whole && piece[i].course.whole && !book->trial[piece[i].trial].done) {
            trial_book_spend(book, piece[i].course.moves);
            take_run(book, &piece[i]);
        } else {
            course_free(&piece[i].course);
        }
    free(piece);
    return whole;
}

/* Moves that are made in a moment. */
enum { MOVES_LEAST = 400000 };

void trial_book_spend(struct trial_book *book, uint64_t moves) { book->spent += moves; }

bool trial_book_has_spent(const struct trial_book *book, uint32_t runs) {
    uint64_t spent = book->spent - book->aside;
    return spent > runs * book->dearest && spent > MOVES_LEAST;
}

/* ---- proofs ---- */

static void note_failure(struct trial *trial, int64_t tick, const struct piece *piece) {
    if (tick == NOT_GIVEN || (trial->failed_tick != NOT_GIVEN && tick >= trial->failed_tick))
        return;
    trial->failed_tick = tick;
    trial->failed_seed = piece->seed;
    trial->failed_going_on = piece->goes_on;
}

/* The least share of a demand that was met over the run; NAN: there is no demand. */
static double least_met_over_run(const struct trial_book *book, const struct trial *trial) {
    double least = NAN;
    for (uint32_t i = 0; i < book->scenario->item_count; i++)
        if (demanded_rate(book->scenario, i) > 0 && !(least <= trial->run_kept[i]))
            least = trial->run_kept[i];
    return least;
}

/* What a run of a proof says of how things go on. Where a supply ends, what was met as written
 * counts as well: else nothing would be missing after its end; where a stock runs out in the run,
 * that of the run. */
static void take_rates(const struct trial_book *book, struct trial *trial, struct piece *piece) {
    bool adds = piece->goes_on && !trial->ran_out && supplies_end(book->scenario);
    bool from_run = piece->goes_on && trial->run.ran_out;
    for (uint32_t i = 0; i < book->scenario->item_count && piece->seed == 0 && !adds; i++)
        trial->kept[i] = from_run ? trial->run_kept[i] : NAN;
    if (piece->seed == 0 && !adds)
        trial->met = from_run ? least_met_over_run(book, trial) : NAN;
    if (piece->seed == 0) {
        memset(trial->starved, 0, book->scenario->station_count * sizeof(bool));
        course_growth_free(trial->growth, trial->growth_count);
        trial->growth = piece->course.growth;
        trial->growth_count = piece->course.growth_count;
        piece->course.growth = NULL;
        piece->course.growth_count = 0;
    }
    for (uint32_t i = 0; i < book->scenario->station_count; i++)
        trial->starved[i] |= piece->course.starved[i];
    judge_course(book, trial, trial->kept, &piece->course, piece->course.end_tick);
}

/* The runs of all proofs in one of the two ways. */
static bool go_one_way(struct trial_book *book, struct proof *proof, uint32_t count, bool goes_on,
                       struct piece *piece) {
    uint32_t pieces = 0;
    for (uint32_t i = 0; i < count; i++)
        for (uint32_t seed = 0; seed < book->seeds; seed++)
            piece[pieces++] = (struct piece){.trial = proof[i].trial,
                                             .seed = seed,
                                             .proves = true,
                                             .goes_on = goes_on,
                                             .proof = &proof[i]};
    return do_all(book, piece, pieces);
}

/* What is known after one of the two ways. Where a change has taken away what ended, nothing is new
 * in the second, and it was not run. */
static void note_way(struct trial_book *book, struct piece *piece) {
    struct trial *trial = &book->trial[piece->trial];
    if (piece->goes_on && !piece->changed)
        return;
    note_failure(trial, piece->course.first_jam, piece);
    int64_t clog = piece->goes_on || !piece->course.whole ? NOT_GIVEN : piece->course.open_clog;
    if (piece->course.whole)
        note_failure(trial, piece->course.blamed_clog, piece);
    if (clog != NOT_GIVEN && (trial->clog_tick == NOT_GIVEN || clog < trial->clog_tick)) {
        trial->clog_tick = clog;
        trial->clog_seed = piece->seed;
    }
    trial->ran_out |= piece->course.ran_out;
    if (piece->course.whole && piece->course.end_tick < trial->proved_ticks)
        trial->proved_ticks = piece->course.end_tick > book->scenario->run_ticks
                                  ? piece->course.end_tick
                                  : book->scenario->run_ticks;
}

/* Whether a scenario has something that ends within the run. */
static bool has_ends(const struct scenario *scenario) {
    return supplies_end(scenario) ||
           some_end(scenario->demand, scenario->demand_count, scenario->run_ticks);
}

static void begin_proofs(struct trial_book *book, const uint32_t *index, uint32_t count,
                         struct proof *proof, uint32_t *proofs) {
    for (uint32_t i = 0; i < count; i++) {
        struct trial *trial = &book->trial[index[i]];
        if (!trial->done || trial->proved)
            continue;
        trial->proved = true;
        trial->failed_tick = NOT_GIVEN;
        trial->proved_ticks = book->prove_ticks;
        trial->seeds = book->seeds;
        trial->starved = require_memory(book->scenario->station_count + 1, sizeof(bool));
        proof[(*proofs)++] = (struct proof){.trial = index[i], .earliest = INT64_MAX};
    }
}

/* Takes over what came of the way that counts for rates: how things go on, where that is another
 * way than the written one; where a supply has ended, the lesser of both. */
static void take_way(struct trial_book *book, struct piece *piece, uint32_t pieces) {
    for (uint32_t i = 0; i < pieces; i++) {
        struct trial *trial = &book->trial[piece[i].trial];
        if (trial->failed_tick == NOT_GIVEN && piece[i].course.whole)
            take_rates(book, trial, &piece[i]);
    }
}

static void free_pieces(struct piece *piece, uint32_t pieces) {
    for (uint32_t i = 0; i < pieces; i++)
        course_free(&piece[i].course);
    free(piece);
}

static uint32_t keep_open_proofs(const struct trial_book *book, struct proof *proof,
                                 uint32_t count) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < count; i++) {
        const struct trial *trial = &book->trial[proof[i].trial];
        if (trial->failed_tick == NOT_GIVEN && (trial->ran_out || has_ends(book->scenario)))
            proof[kept++] = (struct proof){.trial = proof[i].trial, .earliest = INT64_MAX};
    }
    return kept;
}

/* As written first; then, of what came through, as it would go on. */
static bool prove_both_ways(struct trial_book *book, struct proof *proof, uint32_t count) {
    bool whole = true;
    for (int way = 0; way < 2 && count > 0 && whole; way++) {
        uint32_t pieces = count * book->seeds;
        struct piece *piece = require_memory(pieces, sizeof *piece);
        whole = go_one_way(book, proof, count, way == 1, piece);
        for (uint32_t i = 0; i < pieces && whole; i++)
            note_way(book, &piece[i]);
        if (whole)
            take_way(book, piece, pieces);
        free_pieces(piece, pieces);
        count = keep_open_proofs(book, proof, count);
    }
    return whole;
}

/* Without proofs the run is all there is. */
static void let_run_prove(struct trial *trial, struct trial_book *book) {
    trial->proved = true;
    trial->failed_tick = trial->run.first_jam;
    note_failure(trial, trial->run.blamed_clog, &(struct piece){0});
    trial->clog_tick = trial->run.open_clog;
    trial->ran_out = trial->run.ran_out;
    trial->starved = require_memory(book->scenario->station_count + 1, sizeof(bool));
    memcpy(trial->starved, trial->run.starved, book->scenario->station_count * sizeof(bool));
    memcpy(trial->kept, trial->run_kept, book->scenario->item_count * sizeof *trial->kept);
    if (trial->failed_tick == NOT_GIVEN)
        note_best(book, true, trial->kept);
}

bool trial_book_prove(struct trial_book *book, const uint32_t *index, uint32_t count) {
    struct proof *proof = require_memory(count, sizeof *proof);
    uint32_t proofs = 0, *all = require_memory(count, sizeof *all);
    bool whole = true;
    if (book->prove_ticks > 0)
        begin_proofs(book, index, count, proof, &proofs);
    for (uint32_t i = 0; i < count && book->prove_ticks == 0; i++)
        if (book->trial[index[i]].done && !book->trial[index[i]].proved)
            let_run_prove(&book->trial[index[i]], book);
    for (uint32_t i = 0; i < proofs; i++)
        all[i] = proof[i].trial;
    whole = prove_both_ways(book, proof, proofs);
    for (uint32_t i = 0; i < proofs && whole; i++)
        if (book->trial[all[i]].failed_tick == NOT_GIVEN)
            note_best(book, true, book->trial[all[i]].kept);
    free(proof);
    free(all);
    return whole;
}
