/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_remedies.c - a change is a cure when all products have what is asked for; of
 * cures the smaller step is the better one. */
#include "tools/cause/short_remedies.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "sim/text_stream.h"
#include "tools/cause/orders.h"
#include "tools/cause/remedy_candidates.h"
#include "tools/cause/short_candidates.h"

/* A change as it was thought of. */
struct short_words {
    char *text, *words;
    double effort;
};

/* A larger share of the demand than before counts from here on. */
static const double least_gain = 0.01;
/* Of a change that was not thought of here: of a gate, of anything else. */
static const double gate_effort = 0.3, unknown_effort = 3;

/* ---- words ---- */

static void note_words(struct short_remedies *remedies, const struct short_candidate *candidate) {
    for (uint32_t i = 0; i < remedies->word_count; i++)
        if (strcmp(remedies->words[i].text, candidate->text) == 0)
            return;
    if (remedies->word_count == remedies->word_capacity) {
        remedies->word_capacity = 2 * remedies->word_capacity + 16;
        remedies->words =
            require_more_memory(remedies->words, remedies->word_capacity, sizeof *remedies->words);
    }
    remedies->words[remedies->word_count++] = (struct short_words){
        require_text(candidate->text), require_text(candidate->words), candidate->effort};
}

/* How many of a trial's changes a text begins with at `at`; 0: not all of the text is there. */
static uint32_t lines_at(const struct trial *trial, uint32_t at, const char *text) {
    uint32_t lines = 0;
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        if (at + lines >= trial->set_count || strlen(trial->set[at + lines]) != length ||
            strncmp(trial->set[at + lines], text, length) != 0)
            return 0;
        lines++;
        text += length + (text[length] == '\n');
    }
    return lines;
}

/* What was thought of that begins with change `at`, the longest; NULL: nothing. */
static const struct short_words *words_at(const struct short_remedies *remedies,
                                          const struct trial *trial, uint32_t at, uint32_t *lines) {
    const struct short_words *found = NULL;
    *lines = 0;
    for (uint32_t i = 0; i < remedies->word_count; i++) {
        uint32_t some = lines_at(trial, at, remedies->words[i].text);
        if (some > *lines) {
            *lines = some;
            found = &remedies->words[i];
        }
    }
    return found;
}

char *short_remedies_words(const struct short_remedies *remedies, const struct trial *trial) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    uint32_t lines = 0, at = 0;
    for (; at < trial->set_count; at += lines) {
        const struct short_words *words = words_at(remedies, trial, at, &lines);
        if (words == NULL)
            break;
        fprintf(out, "%s%s", at > 0 ? " and " : "", words->words);
    }
    char *text = text_stream_end(&stream);
    if (at == trial->set_count && at > 0)
        return text;
    free(text);
    return NULL;
}

static double effort_of(const struct short_remedies *remedies, const struct trial *trial) {
    double effort = 0;
    uint32_t lines;
    for (uint32_t at = 0; at<trial->set_count; at += lines> 0 ? lines : 1) {
        const struct short_words *words = words_at(remedies, trial, at, &lines);
        bool undoes = strncmp(trial->set[at], "incidents.", strlen("incidents.")) == 0;
        bool gates = strstr(trial->set[at], ".gate=") != NULL;
        double unknown = undoes ? 0 : (gates ? gate_effort : unknown_effort);
        effort += words != NULL ? words->effort : unknown;
    }
    return effort;
}

/* ---- judging ---- */

struct short_question {
    struct short_remedies *remedies;
    const struct short_cases *cases;
    const struct short_case *self;
};

static double met_over_run(const struct trial *trial, uint32_t item) {
    int64_t asked = trial->run.asked[item], taken = trial->run.taken[item];
    return asked > taken ? (double)taken / (double)asked : 1;
}

/* What jams in the run is no remedy, unless the scenario does so as it is. What gets stuck later is
 * no cure; in a workshop that rests with items on a loop whenever its shelves are full the proof
 * may happen to end in such a rest, which counts as a clog. */
static struct remedy_worth judge_short(const void *self, const struct trial_book *book,
                                       const struct trial *trial, bool over_run) {
    const struct short_question *question = self;
    const struct trial *before = &book->trial[question->remedies->unchanged];
    uint32_t item = question->self->item;
    double met = met_over_run(trial, item), gain = met - met_over_run(before, item);
    bool jams = trial->run.first_jam != NOT_GIVEN;
    bool stuck = jams || (!over_run && trial->proved && trial->failed_tick != NOT_GIVEN);
    if (jams && before->run.first_jam == NOT_GIVEN)
        return (struct remedy_worth){.class = REMEDY_USELESS};
    bool enough = over_run ? met >= ORDERS_MET : trial->proved && trial->met >= ORDERS_MET;
    if (!stuck && enough)
        return (struct remedy_worth){.class = REMEDY_CURES,
                                     .merit = -effort_of(question->remedies, trial),
                                     .burden = !over_run && trial_fills_box(book, trial)};
    if (!over_run && trial->proved && trial->met < met)
        met = trial->met;
    return (struct remedy_worth){.class = gain >= least_gain ? REMEDY_HELPS : REMEDY_USELESS,
                                 .merit = stuck ? met - 1 : met};
}

/* ---- first trials ---- */

/* A quarter of the run, from its middle on, when it has settled; false: it jams as it is. */
static bool find_stretch(struct trial_stretch *stretch, const struct short_remedies *remedies,
                         const struct ladder *ladder) {
    const struct trial_book *book = remedies->book;
    int64_t run = book->scenario->run_ticks, warm_up = book->scenario->warm_up_ticks;
    *stretch = (struct trial_stretch){ladder, warm_up + (run - warm_up) / 2,
                                      warm_up + (run - warm_up) / 4 * 3};
    return book->trial[remedies->unchanged].run.first_jam == NOT_GIVEN &&
           ladder_tick(ladder, stretch->from_tick) >= warm_up;
}

static double met_at_first(const struct trial *trial, uint32_t item) {
    int64_t asked = trial->first.asked[item], taken = trial->first.taken[item];
    return asked > taken ? (double)taken / (double)asked : 1;
}

/* Beside the scenario as it is over the same stretch. */
static struct remedy_worth judge_first(const void *self, const struct trial_book *book,
                                       const struct trial *trial) {
    const struct short_question *question = self;
    const struct trial *before = &book->trial[question->remedies->unchanged];
    double met = met_at_first(trial, question->self->item);
    double gain = met - met_at_first(before, question->self->item);
    if (!trial->first.whole || trial->first.first_jam != NOT_GIVEN)
        return (struct remedy_worth){.class = REMEDY_USELESS};
    if (met >= ORDERS_MET)
        return (struct remedy_worth){.class = REMEDY_CURES};
    return (struct remedy_worth){.class = gain >= least_gain ? REMEDY_HELPS : REMEDY_USELESS};
}

/* ---- thinking ---- */

/* Changes that are put together from the beginning: the first one of each of the first roots. */
enum { FIRSTS_MOST = 3 };

/* Gives what is thought of for a root to `add`. */
struct thought {
    struct short_remedies *remedies;
    remedy_sink *add;
    void *sink;
    uint32_t root;
    char *first[FIRSTS_MOST]; /* NULL: nothing was thought of */
    uint32_t first_size[FIRSTS_MOST];
};

static void take_thought(void *self, const struct short_candidate *candidate) {
    struct thought *thought = self;
    struct remedy_candidate passed = {.text = candidate->text,
                                      .size = candidate->size,
                                      .rank = REMEDY_EXPERT,
                                      .proves = true,
                                      .root = thought->root};
    uint32_t root = thought->root;
    note_words(thought->remedies, candidate);
    thought->add(thought->sink, &passed);
    if (root < FIRSTS_MOST && thought->first[root] == NULL) {
        thought->first[root] = require_text(candidate->text);
        thought->first_size[root] = candidate->size;
    }
}

/* Those of the roots in `which` (a bit each). */
static void add_together(const struct thought *thought, uint32_t which) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    uint32_t size = 0, root = NO_INDEX, count = 0;
    for (uint32_t i = 0; i < FIRSTS_MOST; i++) {
        if ((which >> i & 1) == 0 || thought->first[i] == NULL)
            continue;
        fprintf(out, "%s%s", count++ > 0 ? "\n" : "", thought->first[i]);
        size += thought->first_size[i];
        root = root == NO_INDEX ? i : root;
    }
    char *text = text_stream_end(&stream);
    if (count > 1)
        thought->add(thought->sink,
                     &(struct remedy_candidate){text, size, REMEDY_USUAL, false, root});
    free(text);
}

/* Where everything has been laid out for less, no single change brings more. */
static void think_of_several(struct thought *thought) {
    for (uint32_t which = 3; which < UINT32_C(1) << FIRSTS_MOST; which++)
        add_together(thought, which);
    for (uint32_t i = 0; i < FIRSTS_MOST; i++)
        free(thought->first[i]);
}

static void think_of_roots(struct short_remedies *remedies, const struct short_cases *cases,
                           const struct short_case *self, remedy_sink *add, void *sink) {
    struct cause_case other = {
        .kind = EVENT_STARVED, .waits = cases->waits, .roots = self->shortage.roots};
    struct thought thought = {.remedies = remedies, .add = add, .sink = sink};
    for (uint32_t i = 0; i < self->shortage.roots.count; i++) {
        const struct root *root = &self->shortage.roots.root[i];
        thought.root = i;
        if (root->kind >= ROOT_SLOW_ARM)
            short_candidates_find(cases->scenario, root, short_case_factor(self), take_thought,
                                  &thought);
        else
            remedy_candidates_find(&other, i, add, sink);
    }
    think_of_several(&thought);
}

/* What limits when a trial is made that is not enough. */
static void think_on(const void *self, struct trial_book *book, uint32_t trial, remedy_sink *add,
                     void *sink) {
    const struct short_question *question = self;
    struct scenario *scenario = trial_scenario(book, &book->trial[trial]);
    struct short_cases cases;
    if (scenario == NULL)
        return;
    if (short_cases_find(&cases, scenario, NULL, NULL))
        for (uint32_t i = 0; i < cases.count; i++)
            think_of_roots(question->remedies, &cases, &cases.short_case[i], add, sink);
    trial_book_spend(book, cases.moves);
    short_cases_free(&cases);
    scenario_free(scenario);
}

/* ---- roots ---- */

static void prove_roots(const struct remedy_list *list, struct short_case *self) {
    for (uint32_t i = 0; i < list->count; i++)
        if (list->remedy[i].proves && list->remedy[i].worth.class == REMEDY_CURES)
            self->proven[list->remedy[i].root] = true;
}

/* Those of which a change alone meets the demand stand first, in their order. */
static void rank_roots(struct remedy_list *list, struct short_case *self) {
    struct roots *roots = &self->shortage.roots;
    uint32_t *new_place = require_memory(roots->count, sizeof *new_place), next = 0;
    struct root *sorted = require_memory(roots->count, sizeof *sorted);
    bool *proven = require_memory(roots->count, sizeof *proven);
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < roots->count; i++)
            if (self->proven[i] == (pass == 0)) {
                new_place[i] = next;
                proven[next] = self->proven[i];
                sorted[next++] = roots->root[i];
            }
    for (uint32_t i = 0; i < roots->count; i++) {
        roots->root[i] = sorted[i];
        self->proven[i] = proven[i];
    }
    for (uint32_t i = 0; i < list->count && roots->count > 0; i++)
        list->remedy[i].root = new_place[list->remedy[i].root];
    free(new_place);
    free(sorted);
    free(proven);
}

/* ---- all products ---- */

struct adding {
    struct remedy_list *list;
    struct trial_book *book;
};

static void add_candidate(void *self, const struct remedy_candidate *candidate) {
    struct adding *adding = self;
    remedy_list_add(adding->list, adding->book, candidate);
}

static bool has_cure(const struct remedy_list *list) {
    return list->count > 0 && list->remedy[0].worth.class == REMEDY_CURES;
}

/* Of the demand, what the cure of a jam must meet for nothing else to be tried. */
static const double nearly_met = 0.9;

static bool has_nearly_cure(const struct remedy_list *list, const struct trial_book *book) {
    return has_cure(list) || (list->count > 0 && list->remedy[0].worth.class == REMEDY_HELPS &&
                              book->trial[list->remedy[0].trial].failed_tick == NOT_GIVEN &&
                              book->trial[list->remedy[0].trial].met >= nearly_met);
}

/* What has cured a jam of the run may meet the demand as well. */
static void judge_others(struct remedy_list *list, struct trial_book *book,
                         const struct remedy_question *question, const struct cause_cases *others,
                         const struct case_remedies *cures) {
    for (uint32_t i = 0; i < others->count; i++)
        if (others->jam_case[i].open && others->jam_case[i].kind != EVENT_STARVED &&
            has_cure(&cures->list[i]))
            remedy_list_judge_again(list, &cures->list[i], book, question, 0);
}

/* What is proven of a jam's roots is so of the shortage's, where its cure meets the demand. */
static void take_proofs(struct short_case *self, const struct cause_cases *others) {
    const struct roots *roots = &self->shortage.roots;
    for (uint32_t i = 0; i < others->count; i++)
        for (uint32_t j = 0; j < others->jam_case[i].roots.count; j++)
            for (uint32_t k = 0; k < roots->count && others->jam_case[i].cures[j]; k++)
                self->proven[k] |=
                    root_is_same(&roots->root[k], &others->jam_case[i].roots.root[j]);
}

static bool find_for(struct short_remedies *remedies, struct short_cases *cases, uint32_t index,
                     const struct cause_cases *others, const struct case_remedies *cures) {
    struct short_question asked = {remedies, cases, &cases->short_case[index]};
    struct remedy_question question = {
        .self = &asked, .judge = judge_short, .judge_first = judge_first, .think_on = think_on};
    struct trial_stretch stretch;
    struct remedy_list *list = &remedies->list[index];
    struct adding adding = {list, remedies->book};
    judge_others(list, remedies->book, &question, others, cures);
    if (has_nearly_cure(list, remedies->book)) {
        take_proofs(&cases->short_case[index], others);
        rank_roots(list, &cases->short_case[index]);
        return true;
    }
    remedy_list_free(list);
    think_of_roots(remedies, cases, &cases->short_case[index], add_candidate, &adding);
    if (find_stretch(&stretch, remedies, &others->ladder)) {
        if (!trial_book_try(remedies->book, &remedies->unchanged, 1, &stretch))
            return false;
        bool works = remedies->book->trial[remedies->unchanged].first.made[asked.self->item] > 0;
        question.stretch = works ? &stretch : NULL; /* what has stopped shows nothing */
    }
    if (!remedy_search(list, remedies->book, &question))
        return false;
    remedies->left_out += list->left_out;
    if (!remedy_list_prove_shown(list, remedies->book, &question))
        return false;
    prove_roots(list, &cases->short_case[index]);
    rank_roots(list, &cases->short_case[index]);
    remedy_list_keep_once(list);
    return true;
}

/* What was found for the products before may help here as well. */
static void judge_elsewhere(struct short_remedies *remedies, const struct short_cases *cases,
                            uint32_t index) {
    struct short_question asked = {remedies, cases, &cases->short_case[index]};
    struct remedy_question question = {.self = &asked, .judge = judge_short};
    for (uint32_t i = 0; i < index && i < SHORT_REMEDIES_SEARCHED; i++)
        remedy_list_judge_again(&remedies->list[index], &remedies->list[i], remedies->book,
                                &question, 0);
    remedy_list_keep_once(&remedies->list[index]);
}

bool short_remedies_find(struct short_remedies *remedies, struct trial_book *book,
                         struct short_cases *cases, const struct cause_cases *others,
                         const struct case_remedies *cures) {
    *remedies = (struct short_remedies){.book = book, .count = cases->count, .unchanged = NO_INDEX};
    if (cases->count == 0)
        return true;
    remedies->list = require_memory(cases->count, sizeof *remedies->list);
    remedies->unchanged = trial_book_add(book, "");
    bool whole = trial_book_run(book, &remedies->unchanged, 1) &&
                 trial_book_prove(book, &remedies->unchanged, 1);
    for (uint32_t i = 0; i < cases->count && whole; i++) {
        bool spent = i > 0 && trial_book_has_spent(book, REMEDY_SINGLES_RUNS);
        if (i >= SHORT_REMEDIES_SEARCHED || spent)
            judge_elsewhere(remedies, cases, i);
        else
            whole = find_for(remedies, cases, i, others, cures);
    }
    return whole;
}

/* Judges the cures of another list for this one. */
static void learn_from(struct remedy_list *list, const struct remedy_list *other,
                       struct trial_book *book, const struct remedy_question *question) {
    struct remedy_list cures = *other;
    cures.count = 0;
    while (cures.count < other->count && other->remedy[cures.count].worth.class == REMEDY_CURES)
        cures.count++;
    remedy_list_judge_again(list, &cures, book, question, 0);
}

void short_remedies_learn(struct short_remedies *remedies, struct short_cases *cases,
                          const struct cause_cases *others, const struct case_remedies *cures) {
    for (uint32_t i = 0; i < remedies->count; i++) {
        struct remedy_list *list = &remedies->list[i];
        struct short_question asked = {remedies, cases, &cases->short_case[i]};
        struct remedy_question question = {.self = &asked, .judge = judge_short};
        for (uint32_t k = 0; k < others->count && !has_cure(list); k++)
            if (others->jam_case[k].open && others->jam_case[k].kind == EVENT_STARVED)
                learn_from(list, &cures->list[k], remedies->book, &question);
        remedy_list_keep_once(list);
    }
}

void short_remedies_free(struct short_remedies *remedies) {
    for (uint32_t i = 0; i < remedies->word_count; i++) {
        free(remedies->words[i].text);
        free(remedies->words[i].words);
    }
    for (uint32_t i = 0; i < remedies->count; i++)
        remedy_list_free(&remedies->list[i]);
    free(remedies->words);
    free(remedies->list);
    *remedies = (struct short_remedies){0};
}
