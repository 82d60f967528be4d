/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/explanation.c - the order in which things are found out: each step needs those
 * before. */
#include "tools/cause/explanation.h"

#include "model/cause/turning_point.h"
#include "tools/base/interrupt.h"
#include "tools/base/progress.h"
#include "tools/base/table.h"

static bool find_turning_points(struct cause_cases *cases) {
    struct turning turning;
    turning_init(&turning, cases->scenario, &cases->ladder);
    for (uint32_t i = 0; i < cases->count && interrupt_signal() == 0; i++) {
        struct cause_case *self = &cases->jam_case[i];
        if (self->kind == EVENT_STARVED)
            continue;
        self->turning_tick = turning_point(&turning, self->index, self->start_tick);
        self->turning_item = turning_item_left(&turning, self->index);
    }
    cases->spent += turning.moves;
    turning_free(&turning);
    return interrupt_signal() == 0;
}

bool explanation_begin(struct explanation *explanation, const struct scenario *scenario,
                       const struct world *begin, int64_t prove_ticks, bool show_progress) {
    *explanation = (struct explanation){0};
    trial_book_init(&explanation->book, scenario, prove_ticks, show_progress);
    struct progress progress;
    progress_init(&progress, scenario->run_ticks, scenario->ticks_per_second, show_progress);
    bool whole = cause_cases_find(&explanation->cases, scenario, begin, &progress);
    progress_end(&progress);
    if (!whole)
        return false;
    trial_book_know_run(&explanation->book, explanation->cases.moves);
    return true;
}

/* What is short before starvations: what meets the demand ends most of them. */
static bool find_remedies(struct explanation *explanation) {
    struct cause_cases *cases = &explanation->cases;
    struct case_remedies *remedies = &explanation->remedies;
    struct short_remedies *shorts = &explanation->short_remedies;
    bool whole = case_remedies_begin(remedies, &explanation->book, cases);
    for (int turn = 0; turn < CAUSE_CASE_STARVED && whole; turn++)
        whole = case_remedies_find(remedies, cases, turn);
    whole = whole &&
            short_remedies_find(shorts, &explanation->book, &explanation->shorts, cases, remedies);
    for (uint32_t i = 0; i < shorts->count && whole; i++) {
        const struct short_case *self = &explanation->shorts.short_case[i];
        case_remedies_learn(remedies, cases, &shorts->list[i], &self->shortage.roots, self->proven);
    }
    whole = whole && case_remedies_find(remedies, cases, CAUSE_CASE_STARVED);
    if (whole) {
        case_remedies_end(remedies, cases);
        short_remedies_learn(shorts, &explanation->shorts, cases, remedies);
    }
    return whole;
}

bool explanation_work_out(struct explanation *explanation) {
    struct cause_cases *cases = &explanation->cases;
    struct short_cases *shorts = &explanation->shorts;
    bool to_the_tick = true;
    struct progress progress;
    progress_init_open(&progress, explanation->book.show_progress && cases->count > 0);
    progress_say(&progress, "looking at how %u trouble%s came about", cases->count,
                 plural(cases->count));
    bool whole = cause_cases_look(cases, to_the_tick) && find_turning_points(cases) &&
                 short_cases_find(shorts, cases->scenario, cases->begin, cases);
    progress_end(&progress);
    if (!whole)
        return false;
    shorts->budget = explanation->book.budget;
    whole = find_remedies(explanation);
    explanation->spent = cases->spent + shorts->moves + explanation->book.spent;
    return whole;
}

void explanation_free(struct explanation *explanation) {
    short_remedies_free(&explanation->short_remedies);
    short_cases_free(&explanation->shorts);
    case_remedies_free(&explanation->remedies);
    trial_book_free(&explanation->book);
    cause_cases_free(&explanation->cases);
}
