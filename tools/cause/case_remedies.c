/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/case_remedies.c - one search for all cases that have the same first root; the others
 * judge its trials for themselves. */
#include "tools/cause/case_remedies.h"

#include <stdlib.h>
#include <string.h>

#include "sim/array.h"
#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/cause/remedy_candidates.h"
#include "tools/cause/short_case.h"

/* ---- judging ---- */

/* What comes a few seconds later has not been helped. */
enum { DELAY_SECONDS = 60 };

static int64_t failed_over_run(const struct cause_cases *cases, const struct cause_case *self,
                               const struct course *run) {
    bool counts = self->kind == EVENT_STARVED || self->open ||
                  self->end_tick >= cases->scenario->warm_up_ticks;
    int64_t jam = counts ? run->first_jam : run->any_jam;
    int64_t clog = self->open ? run->open_clog : run->any_clog;
    if (self->kind == EVENT_CLOGGED && clog != NOT_GIVEN && (jam == NOT_GIVEN || clog < jam))
        return clog;
    return jam;
}

int64_t case_remedies_failed(const struct cause_cases *cases, const struct cause_case *self,
                             const struct trial *trial) {
    int64_t over_run = failed_over_run(cases, self, &trial->run);
    if (over_run != NOT_GIVEN || !trial->proved)
        return over_run;
    bool is_put_off = self->kind == EVENT_CLOGGED && self->open && trial->failed_tick == NOT_GIVEN;
    return is_put_off ? trial->clog_tick : trial->failed_tick;
}

bool case_remedies_starved(const struct cause_cases *cases, const struct cause_case *self,
                           const struct trial *trial) {
    bool starved = false;
    for (uint32_t i = 0; i < cases->scenario->station_count; i++)
        if (self->kind != EVENT_STARVED || i == self->index)
            starved |= trial->run.starved[i] || (trial->proved && trial->starved[i]);
    return starved;
}

/* A chest with a bound that fills on and on is full one day, and so is a lane. */
static bool fills_up(const struct trial_book *book, const struct trial *trial) {
    for (uint32_t i = 0; i < trial->growth_count; i++) {
        struct place place = trial->growth[i].place;
        bool added = place.kind == PLACE_CHEST && place.index >= book->scenario->chest_count;
        if (place.kind != PLACE_CHEST ||
            (!added && book->scenario->chest[place.index].capacity != NO_LIMIT))
            return true;
    }
    return false;
}

/* What a search asks: of which case. */
struct case_question {
    const struct cause_cases *cases;
    const struct cause_case *self;
};

static struct remedy_worth judge_case(const void *self, const struct trial_book *book,
                                      const struct trial *trial, bool over_run) {
    const struct case_question *question = self;
    int64_t failed = over_run ? failed_over_run(question->cases, question->self, &trial->run)
                              : case_remedies_failed(question->cases, question->self, trial);
    int64_t delay = DELAY_SECONDS * book->scenario->ticks_per_second;
    bool starves = question->self->kind == EVENT_STARVED;
    if (starves && trial->run.starved[question->self->index])
        return (struct remedy_worth){REMEDY_USELESS, 0, 0};
    if (failed != NOT_GIVEN) {
        bool later = failed - question->self->start_tick >= delay;
        return (struct remedy_worth){later ? REMEDY_HELPS : REMEDY_USELESS, (double)failed, 0};
    }
    if (starves && !over_run && case_remedies_starved(question->cases, question->self, trial))
        return (struct remedy_worth){REMEDY_HELPS, (double)book->scenario->run_ticks, 0};
    return (struct remedy_worth){trial_keeps(book, trial, over_run) ? REMEDY_CURES : REMEDY_COSTS,
                                 !over_run && fills_up(book, trial) ? -1 : 0,
                                 !over_run && trial_fills_box(book, trial)};
}

/* ---- first trials ---- */

/* At first a change is made a quarter of the way before the lane could no longer be saved, and must
 * hold half as long after the jam as it had before it. */
static bool find_stretch(struct trial_stretch *stretch, const struct cause_cases *cases,
                         const struct cause_case *self) {
    int64_t begin = cases->ladder.tick[0] + 1;
    int64_t lost = self->turning_tick != NOT_GIVEN ? self->turning_tick : self->since_tick;
    if (cause_case_turn(self) != 0)
        return false; /* a rest or a starvation takes its time to be one */
    stretch->ladder = &cases->ladder;
    stretch->from_tick = lost - (lost - begin) / 4;
    stretch->to_tick = self->start_tick + (self->start_tick - stretch->from_tick) / 2;
    stretch->to_tick += DELAY_SECONDS * cases->scenario->ticks_per_second;
    if (stretch->to_tick > cases->scenario->run_ticks)
        stretch->to_tick = cases->scenario->run_ticks;
    int64_t from = ladder_tick(stretch->ladder, stretch->from_tick);
    return 2 * (stretch->to_tick - from) < cases->scenario->run_ticks; /* else it saves nothing */
}

/* Whether as much is made as by the best of those that were tried over the same stretch. */
static bool keeps_first(const struct trial_book *book, const struct trial *trial) {
    for (uint32_t item = 0; item < book->scenario->item_count; item++)
        for (uint32_t i = 0; i < book->count && book->product[item]; i++) {
            const struct trial *other = &book->trial[i];
            bool beside = other->first_from == trial->first_from &&
                          other->first_to == trial->first_to && other->first.whole;
            if (beside && 10 * trial->first.made[item] < 9 * other->first.made[item])
                return false;
        }
    return true;
}

static struct remedy_worth judge_first(const void *self, const struct trial_book *book,
                                       const struct trial *trial) {
    const struct case_question *question = self;
    int64_t failed = failed_over_run(question->cases, question->self, &trial->first);
    int64_t delay = DELAY_SECONDS * book->scenario->ticks_per_second;
    bool later = failed - question->self->start_tick >= delay;
    if (failed != NOT_GIVEN)
        return (struct remedy_worth){later ? REMEDY_HELPS : REMEDY_USELESS, (double)failed, 0};
    return (struct remedy_worth){keeps_first(book, trial) ? REMEDY_CURES : REMEDY_COSTS, 0, 0};
}

/* ---- what is wrong with what is not good enough ---- */

/* A clog that only comes later: as written, after the orders have ended, it is no failure of a
 * proof. */
static bool clogs_late(const struct cause_case *self, const struct trial *trial) {
    return self->kind == EVENT_CLOGGED && self->open && trial->proved &&
           trial->failed_tick == NOT_GIVEN && trial->clog_tick != NOT_GIVEN;
}

static bool fails(const struct cause_case *self, const struct trial *trial) {
    return trial->run.first_jam != NOT_GIVEN ||
           (trial->proved && trial->failed_tick != NOT_GIVEN) || clogs_late(self, trial);
}

/* Lets a scenario end as what goes wrong with a trial begins, if that is later than the run. */
static void go_on_to_failure(struct scenario *scenario, const struct cause_case *self,
                             const struct trial *trial) {
    int64_t run_ticks = scenario->run_ticks;
    if (clogs_late(self, trial) && trial->clog_tick >= run_ticks) {
        scenario->run_ticks = trial->clog_tick + 1;
        scenario->seed += trial->clog_seed;
    } else if (trial->proved && trial->failed_tick >= run_ticks) {
        scenario->run_ticks = trial->failed_tick + 1;
        scenario->seed += trial->failed_seed;
        if (trial->failed_going_on)
            course_make_go_on(scenario, run_ticks);
    }
}

/* Of a changed scenario that fails, how it fails: run so far that it does. */
static struct scenario *failing_scenario(const struct trial_book *book,
                                         const struct cause_case *self, const struct trial *trial) {
    struct scenario *scenario = trial_scenario(book, trial);
    int64_t jam = trial->run.first_jam;
    if (scenario != NULL && jam != NOT_GIVEN && jam >= scenario->warm_up_ticks)
        scenario->run_ticks = jam + 1;
    if (scenario != NULL && jam == NOT_GIVEN)
        go_on_to_failure(scenario, self, trial);
    return scenario;
}

static bool is_trouble(const struct cause_case *self) { return self->kind != EVENT_STARVED; }

/* The first that is not a starvation; where there are only those, the first. */
static void keep_first_trouble(struct cause_cases *cases) {
    for (uint32_t i = 0; i < cases->count; i++)
        if (is_trouble(&cases->jam_case[i])) {
            cause_cases_keep_row(cases, cases->jam_case[i].row);
            return;
        }
    if (cases->count > 0)
        cause_cases_keep_row(cases, cases->jam_case[0].row);
}

/* What would be done about a trouble that comes in spite of what was changed. False: there is none
 * with a root. */
static bool think_of_trouble(struct trial_book *book, const struct scenario *scenario,
                             remedy_sink *add, void *sink) {
    struct cause_cases cases;
    bool whole = cause_cases_find(&cases, scenario, NULL, NULL);
    cause_cases_keep_lasting(&cases);
    keep_first_trouble(&cases);
    const bool to_the_tick = false; /* what would help depends on who waits, not on since when */
    bool thought = false;
    if (whole && cause_cases_look(&cases, to_the_tick))
        for (uint32_t i = 0; i < cases.count; i++)
            for (uint32_t j = 0; j < cases.jam_case[i].roots.count; j++, thought = true)
                remedy_candidates_find(&cases.jam_case[i], j, add, sink);
    trial_book_spend(book, cases.spent);
    cause_cases_free(&cases);
    return thought;
}

/* Roots of a shortage that are thought of. */
enum { LIMITS_MOST = 3 };

/* What would be done about products of which too little comes, though nothing jams. */
static void think_of_shortage(struct trial_book *book, const struct scenario *scenario,
                              remedy_sink *add, void *sink) {
    struct short_cases shorts;
    bool whole = short_cases_find(&shorts, scenario, NULL, NULL);
    for (uint32_t i = 0; i < shorts.count && whole; i++) {
        struct cause_case starved = {.kind = EVENT_STARVED,
                                     .waits = shorts.waits,
                                     .roots = shorts.short_case[i].shortage.roots};
        for (uint32_t j = 0; j < starved.roots.count && j < LIMITS_MOST; j++)
            remedy_candidates_find(&starved, j, add, sink);
    }
    trial_book_spend(book, shorts.moves);
    short_cases_free(&shorts);
}

static void think_on(const void *self, struct trial_book *book, uint32_t trial, remedy_sink *add,
                     void *sink) {
    const struct case_question *question = self;
    bool halts = !fails(question->self, &book->trial[trial]);
    struct scenario *scenario = failing_scenario(book, question->self, &book->trial[trial]);
    if (scenario == NULL)
        return;
    bool thought = think_of_trouble(book, scenario, add, sink);
    if (halts && !thought)
        think_of_shortage(book, scenario, add, sink);
    scenario_free(scenario);
}

/* ---- roots ---- */

/* Proven roots stand first, in their order. */
static void sort_roots(struct cause_case *self) {
    struct root *sorted = require_memory(self->roots.count, sizeof *sorted);
    uint32_t next = 0, proven = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (uint32_t i = 0; i < self->roots.count; i++)
            if (self->cures[i] == (pass == 0))
                sorted[next++] = self->roots.root[i];
        proven = pass == 0 ? next : proven;
    }
    for (uint32_t i = 0; i < self->roots.count; i++) {
        self->roots.root[i] = sorted[i];
        self->cures[i] = i < proven;
    }
    free(sorted);
}

/* A root whose remedy has cured it, and not by a halt, is proven. */
static void prove_roots(const struct remedy_list *list, struct cause_case *self) {
    for (uint32_t i = 0; i < list->count; i++)
        if (list->remedy[i].proves && (list->remedy[i].over_run.class == REMEDY_CURES ||
                                       list->remedy[i].worth.class == REMEDY_CURES))
            self->cures[list->remedy[i].root] = true;
}

/* ---- all cases ---- */

struct adding {
    struct remedy_list *list;
    struct trial_book *book;
};

static void add_candidate(void *self, const struct remedy_candidate *candidate) {
    struct adding *adding = self;
    remedy_list_add(adding->list, adding->book, candidate);
}

/* What is proven of another case's roots is so of this one's. */
static void share_proofs(struct cause_case *self, const struct cause_case *other) {
    for (uint32_t i = 0; i < self->roots.count; i++)
        for (uint32_t j = 0; j < other->roots.count; j++)
            self->cures[i] |=
                other->cures[j] && root_is_same(&self->roots.root[i], &other->roots.root[j]);
}

/* What has helped against other cases, judged for this one; false: none of it cures. */
static bool take_over(struct case_remedies *remedies, struct cause_cases *cases, uint32_t index) {
    struct case_question asked = {cases, &cases->jam_case[index]};
    struct remedy_question question = {.self = &asked, .judge = judge_case};
    struct remedy_list *list = &remedies->list[index];
    for (uint32_t i = 0; i < cases->count; i++)
        if (i != index)
            remedy_list_judge_again(list, &remedies->list[i], remedies->book, &question, 0);
    remedy_list_keep_once(list);
    return list->count > 0 && list->remedy[0].worth.class == REMEDY_CURES;
}

/* Searches of their own for one answer: what else there is is judged by what they have found. */
enum { SEARCHES_MOST = 8, MOMENTS = 100 };

static bool search_for(struct case_remedies *remedies, struct cause_cases *cases, uint32_t index) {
    struct cause_case *self = &cases->jam_case[index];
    struct remedy_list *list = &remedies->list[index];
    struct case_question asked = {cases, self};
    struct trial_stretch stretch;
    struct remedy_question question = {
        .self = &asked, .judge = judge_case, .judge_first = judge_first, .think_on = think_on};
    question.stretch = find_stretch(&stretch, cases, self) ? &stretch : NULL;
    struct adding adding = {list, remedies->book};
    remedy_list_free(list);
    for (uint32_t i = 0; i < self->roots.count; i++)
        remedy_candidates_find(self, i, add_candidate, &adding);
    bool whole = remedy_search(list, remedies->book, &question);
    remedies->left_out += list->left_out;
    prove_roots(list, self);
    remedy_list_keep_once(list);
    return whole;
}

/* A starvation that has only just begun where the run ends. */
static bool is_momentary(const struct cause_cases *cases, const struct cause_case *self) {
    return self->kind == EVENT_STARVED && self->open &&
           MOMENTS * (self->end_tick - self->start_tick) < cases->scenario->run_ticks;
}

bool case_remedies_find(struct case_remedies *remedies, struct cause_cases *cases, int turn) {
    for (uint32_t i = 0; i < cases->count; i++) {
        const struct cause_case *self = &cases->jam_case[i];
        if (cause_case_turn(self) != turn || take_over(remedies, cases, i))
            continue;
        bool may = remedies->searches == 0 || (!trial_book_has_spent(remedies->book, REMEDY_RUNS) &&
                                               !is_momentary(cases, self));
        if (may && remedies->searches < SEARCHES_MOST && !search_for(remedies, cases, i))
            return false;
        remedies->searches += self->roots.count > 0;
    }
    return true;
}

static bool has_cure(const struct remedy_list *list, uint32_t trial) {
    for (uint32_t i = 0; i < list->count; i++)
        if (list->remedy[i].trial == trial && list->remedy[i].worth.class == REMEDY_CURES)
            return true;
    return false;
}

/* A case for which nothing was searched, as cures had been found already. */
struct proving {
    struct cause_case *self;
    const struct remedy_list *list;
    struct trial_book *book;
};

static void prove_candidate(void *self, const struct remedy_candidate *candidate) {
    struct proving *proving = self;
    if (candidate->proves &&
        has_cure(proving->list, trial_book_add(proving->book, candidate->text)))
        proving->self->cures[candidate->root] = true;
}

/* What would have been thought of against its roots, and is among the cures, proves them too. */
static void prove_by_others(struct cause_case *self, const struct remedy_list *list,
                            struct trial_book *book) {
    struct proving proving = {self, list, book};
    for (uint32_t i = 0; i < self->roots.count; i++)
        remedy_candidates_find(self, i, prove_candidate, &proving);
}

/* What cures another case of the same trouble may cure one for which nothing was found. */
static void share(struct case_remedies *remedies, struct cause_cases *cases) {
    for (uint32_t i = 0; i < cases->count; i++)
        if (remedies->list[i].count == 0 || remedies->list[i].remedy[0].worth.class != REMEDY_CURES)
            take_over(remedies, cases, i);
    for (uint32_t i = 0; i < cases->count; i++)
        prove_by_others(&cases->jam_case[i], &remedies->list[i], remedies->book);
    for (uint32_t i = 0; i < cases->count; i++)
        for (uint32_t j = 0; j < cases->count; j++)
            share_proofs(&cases->jam_case[i], &cases->jam_case[j]);
    for (uint32_t i = 0; i < cases->count; i++)
        sort_roots(&cases->jam_case[i]);
}

/* Puts a root that is proven elsewhere first. Its beginning is known, the wait is of another look.
 */
static void take_root(struct cause_case *self, const struct root *root) {
    struct roots *roots = &self->roots;
    roots->root = array_with_room(roots->root, roots->count, &roots->capacity, sizeof *roots->root);
    self->cures = require_more_memory(self->cures, roots->count + 1, sizeof *self->cures);
    memmove(&roots->root[1], roots->root, roots->count * sizeof *roots->root);
    memmove(&self->cures[1], self->cures, roots->count * sizeof *self->cures);
    roots->root[0] = *root;
    roots->root[0].edge = NO_INDEX;
    self->cures[0] = true;
    roots->count++;
}

/* Where the starvation of the same trouble has the better root, it is the one of the jam as well.
 */
static void share_roots(const struct case_remedies *remedies, struct cause_cases *cases) {
    for (uint32_t i = 0; i < cases->count; i++) {
        struct cause_case *self = &cases->jam_case[i];
        const struct remedy_list *list = &remedies->list[i];
        bool lacks = (self->roots.count == 0 || !self->cures[0]) && list->count > 0 &&
                     list->remedy[0].worth.class == REMEDY_CURES;
        for (uint32_t j = 0; j < cases->count && lacks; j++) {
            const struct cause_case *other = &cases->jam_case[j];
            if (j == i || other->roots.count == 0 || !other->cures[0] ||
                !has_cure(&remedies->list[j], list->remedy[0].trial))
                continue;
            take_root(self, &other->roots.root[0]);
            lacks = false;
        }
    }
}

bool case_remedies_begin(struct case_remedies *remedies, struct trial_book *book,
                         struct cause_cases *cases) {
    *remedies = (struct case_remedies){.book = book, .count = cases->count};
    remedies->list = require_memory(cases->count, sizeof *remedies->list);
    remedies->unchanged = trial_book_add_unchanged(book, &cases->course);
    return cases->count == 0 || trial_book_run(book, &remedies->unchanged, 1);
}

void case_remedies_end(struct case_remedies *remedies, struct cause_cases *cases) {
    share(remedies, cases);
    share_roots(remedies, cases);
}

static bool is_cured(const struct remedy_list *list) {
    return list->count > 0 && list->remedy[0].worth.class == REMEDY_CURES;
}

static void take_proofs(struct cause_case *self, const struct roots *roots, const bool *proven) {
    for (uint32_t i = 0; i < self->roots.count; i++)
        for (uint32_t j = 0; j < roots->count; j++)
            self->cures[i] |= proven[j] && root_is_same(&self->roots.root[i], &roots->root[j]);
}

/* What meets a demand was proved for it, so that it was run without a jam as long as a cure is.
 * What counted as a cure before may keep too little beside it: a budget says that nothing can be
 * made where a by-product has no outlet. */
void case_remedies_learn(struct case_remedies *remedies, struct cause_cases *cases,
                         const struct remedy_list *other, const struct roots *roots,
                         const bool *proven) {
    struct remedy_list cures = *other;
    cures.count = 0;
    while (cures.count < other->count && other->remedy[cures.count].worth.class == REMEDY_CURES)
        cures.count++;
    for (uint32_t i = 0; i < cases->count && cures.count > 0; i++) {
        struct case_question asked = {cases, &cases->jam_case[i]};
        struct remedy_question question = {.self = &asked, .judge = judge_case};
        struct remedy_list *list = &remedies->list[i];
        remedy_list_judge_proofs(list, remedies->book, &question);
        if (is_cured(list))
            continue;
        remedy_list_judge_again(list, &cures, remedies->book, &question, 0);
        remedy_list_keep_once(list);
        if (is_cured(list))
            take_proofs(&cases->jam_case[i], roots, proven);
    }
}

void case_remedies_free(struct case_remedies *remedies) {
    for (uint32_t i = 0; i < remedies->count; i++)
        remedy_list_free(&remedies->list[i]);
    free(remedies->list);
    *remedies = (struct case_remedies){0};
}
