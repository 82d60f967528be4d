/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_search.c - first candidates over a stretch of the run, then the best of them
 * over all of it, with proofs until enough have come through, then several changes together, then
 * without what is not needed. */
#include "tools/cause/remedy_search.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tools/base/interrupt.h"
#include "tools/cause/needed_changes.h"

/* Candidates of one question; proofs of one round; of those, how many at once. */
enum { TRIED_MOST = 64, PROVED_MOST = 24, PROVED_AT_ONCE = 6 };
/* Candidates are tried so many at a time, until so many cure. */
enum { TRIED_AT_ONCE = 3, CURES_ENOUGH = 4 };
/* Trials on which more changes are put, and single changes that are put on each. */
enum { BASES_MOST = 3, PUT_ON_MOST = 8 };

#define REMEDY_UNTRIED ((struct remedy_worth){REMEDY_USELESS, 0, 0})

/* ---- the list ---- */

static struct remedy *append(struct remedy_list *list, const struct remedy *remedy) {
    if (list->count == list->capacity) {
        list->capacity = 2 * list->capacity + 16;
        list->remedy = require_more_memory(list->remedy, list->capacity, sizeof *list->remedy);
    }
    list->remedy[list->count] = *remedy;
    return &list->remedy[list->count++];
}

static bool has(const struct remedy_list *list, uint32_t trial, uint32_t root) {
    for (uint32_t i = 0; i < list->count; i++)
        if (list->remedy[i].trial == trial && list->remedy[i].root == root)
            return true;
    return false;
}

void remedy_list_add(struct remedy_list *list, struct trial_book *book,
                     const struct remedy_candidate *candidate) {
    if (list->count >= TRIED_MOST) {
        list->left_out++;
        return;
    }
    uint32_t trial = trial_book_add(book, candidate->text), turn = 0;
    if (has(list, trial, candidate->root))
        return;
    for (uint32_t i = 0; i < list->count; i++)
        turn += list->remedy[i].root == candidate->root;
    append(list, &(struct remedy){.trial = trial,
                                  .root = candidate->root,
                                  .size = candidate->size,
                                  .turn = turn,
                                  .rank = candidate->rank,
                                  .proves = candidate->proves,
                                  .first = REMEDY_UNTRIED,
                                  .over_run = REMEDY_UNTRIED,
                                  .worth = REMEDY_UNTRIED});
}

void remedy_list_free(struct remedy_list *list) {
    free(list->remedy);
    *list = (struct remedy_list){0};
}

void remedy_list_keep_once(struct remedy_list *list) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        bool seen = false;
        for (uint32_t j = 0; j < kept && !seen; j++)
            seen = list->remedy[j].trial == list->remedy[i].trial;
        if (!seen)
            list->remedy[kept++] = list->remedy[i];
    }
    list->count = kept;
}

uint32_t remedy_list_shown(const struct remedy_list *list) {
    uint32_t count = 0;
    while (count < list->count && count < REMEDIES_SHOWN_MOST &&
           list->remedy[count].worth.class != REMEDY_USELESS)
        count++;
    return count;
}

/* ---- order ---- */

static int worth_order(const struct remedy_worth *a, const struct remedy_worth *b) {
    if (a->class != b->class)
        return a->class < b->class ? -1 : 1;
    return (a->merit < b->merit) - (a->merit > b->merit);
}

/* Negative: a stands before b, by how they were judged over the run or at last. */
static int remedy_order(const struct remedy *a, const struct remedy *b, bool over_run) {
    int order =
        over_run ? worth_order(&a->over_run, &b->over_run) : worth_order(&a->worth, &b->worth);
    if (order != 0)
        return order;
    if (a->rank != b->rank)
        return a->rank < b->rank ? -1 : 1;
    if (a->worth.burden != b->worth.burden)
        return a->worth.burden < b->worth.burden ? -1 : 1;
    if (a->made != b->made)
        return a->made > b->made ? -1 : 1;
    return (a->size > b->size) - (a->size < b->size);
}

/* Of two that are as good the one that was thought of earlier stays first. */
static void sort(struct remedy_list *list, bool over_run) {
    for (uint32_t i = 1; i < list->count; i++) {
        struct remedy remedy = list->remedy[i];
        uint32_t at = i;
        for (; at > 0 && remedy_order(&remedy, &list->remedy[at - 1], over_run) < 0; at--)
            list->remedy[at] = list->remedy[at - 1];
        list->remedy[at] = remedy;
    }
}

/* ---- one round: run, prove, judge ---- */

struct search {
    struct remedy_list *list;
    struct trial_book *book;
    const struct remedy_question *question;
};

static struct remedy_worth judge(const struct search *search, uint32_t trial, bool over_run) {
    const struct trial *self = &search->book->trial[trial];
    if (!self->done)
        return REMEDY_UNTRIED;
    return search->question->judge(search->question->self, search->book, self, over_run);
}

static bool run_all(const struct search *search) {
    struct remedy_list *list = search->list;
    uint32_t *index = require_memory(list->count, sizeof *index);
    for (uint32_t i = 0; i < list->count; i++)
        index[i] = list->remedy[i].trial;
    bool whole = trial_book_run(search->book, index, list->count);
    for (uint32_t i = 0; i < list->count && whole; i++) {
        struct remedy *remedy = &list->remedy[i];
        remedy->worth = remedy->over_run = judge(search, remedy->trial, true);
        remedy->made = trial_made(search->book, &search->book->trial[remedy->trial]);
    }
    free(index);
    return whole;
}

static bool passes(const struct remedy_worth *worth) {
    return worth->class == REMEDY_CURES || worth->class == REMEDY_COSTS;
}

/* What was proved may be worth less than its run promised; what was not is not shown as a cure. */
static uint32_t judge_proofs(const struct search *search, uint32_t count) {
    struct remedy_list *list = search->list;
    uint32_t cures = 0;
    for (uint32_t i = 0; i < count; i++) {
        struct remedy *remedy = &list->remedy[i];
        if (search->book->trial[remedy->trial].proved)
            remedy->worth = judge(search, remedy->trial, false);
        cures += remedy->worth.class == REMEDY_CURES;
    }
    return cures;
}

static bool prove_best(const struct search *search) {
    struct remedy_list *list = search->list;
    uint32_t *index = require_memory(list->count, sizeof *index), next = 0, cures = 0;
    bool whole = true;
    sort(list, true);
    while (whole && next < list->count && next < PROVED_MOST && cures < REMEDIES_SHOWN_MOST &&
           passes(&list->remedy[next].over_run)) {
        uint32_t count = 0;
        for (; next < list->count && count < PROVED_AT_ONCE; next++)
            if (passes(&list->remedy[next].over_run))
                index[count++] = list->remedy[next].trial;
        whole = trial_book_prove(search->book, index, count);
        cures = whole ? judge_proofs(search, next) : 0;
    }
    for (; next < list->count; next++)
        if (passes(&list->remedy[next].over_run) &&
            !search->book->trial[list->remedy[next].trial].proved) {
            list->remedy[next].worth = REMEDY_UNTRIED;
        }
    judge_proofs(search, list->count);
    free(index);
    sort(list, false);
    return whole;
}

/* ---- some at a time ---- */

/* What an expert would do first, and of that the first for each root before the second. */
static int turn_order(const struct remedy *a, const struct remedy *b) {
    if (a->rank != b->rank)
        return a->rank < b->rank ? -1 : 1;
    return (a->turn > b->turn) - (a->turn < b->turn);
}

static void sort_by_turn(struct remedy_list *list) {
    for (uint32_t i = 1; i < list->count; i++) {
        struct remedy remedy = list->remedy[i];
        uint32_t at = i;
        for (; at > 0 && turn_order(&remedy, &list->remedy[at - 1]) < 0; at--)
            list->remedy[at] = list->remedy[at - 1];
        list->remedy[at] = remedy;
    }
}

static uint32_t cures_in(const struct remedy_list *list) {
    uint32_t cures = 0;
    while (cures < list->count && list->remedy[cures].worth.class == REMEDY_CURES)
        cures++;
    return cures;
}

/* ---- a number, and a larger one ---- */

/* The length of what two changes have in common up to a number, if they set the same key to
 * different numbers; 0: they do not. */
static size_t same_key(const char *a, const char *b) {
    size_t length = strcspn(a, "=");
    if (a[length] == '\0' || strncmp(a, b, length + 1) != 0)
        return 0;
    return strchr("0123456789", a[length + 1]) != NULL && a[length + 1] != '\0' ? length : 0;
}

static bool is_number_of(const struct trial *trial, const struct trial *other) {
    return trial->set_count == 1 && other->set_count == 1 &&
           same_key(trial->set[0], other->set[0]) > 0;
}

/* True when one that sets the same number, and was thought of earlier, does: more of it needs not
 * be tried. */
static bool is_done_with(const struct search *search, const struct remedy_list *others,
                         const struct remedy *remedy, bool at_first) {
    const struct trial *trial = &search->book->trial[remedy->trial];
    for (uint32_t i = 0; i < others->count; i++) {
        const struct remedy *other = &others->remedy[i];
        const struct remedy_worth *worth = at_first ? &other->first : &other->worth;
        if (other->root == remedy->root && other->turn < remedy->turn && passes(worth) &&
            is_number_of(trial, &search->book->trial[other->trial]))
            return true;
    }
    return false;
}

/* ---- first trials ---- */

/* What does not work late is tried from the start on, where that costs less than the run. */
static bool may_be_tried(const struct search *search, const struct remedy *remedy) {
    return trial_works_late(&search->book->trial[remedy->trial]) ||
           2 * search->question->stretch->to_tick < search->book->scenario->run_ticks;
}

static bool try_first(const struct search *search, struct remedy_list *list, uint32_t from,
                      uint32_t to) {
    uint32_t index[TRIED_AT_ONCE], count = 0;
    for (uint32_t i = from; i < to; i++)
        if (may_be_tried(search, &list->remedy[i]) &&
            !is_done_with(search, list, &list->remedy[i], true))
            index[count++] = list->remedy[i].trial;
    if (!trial_book_try(search->book, index, count, search->question->stretch))
        return false;
    for (uint32_t i = 0; i < to; i++) { /* what is good is seen beside the others */
        const struct trial *trial = &search->book->trial[list->remedy[i].trial];
        if (trial_is_tried(trial, search->question->stretch))
            list->remedy[i].first =
                search->question->judge_first(search->question->self, search->book, trial);
    }
    return true;
}

static bool is_of_class(const struct search *search, const struct remedy *remedy,
                        enum remedy_class wanted) {
    return may_be_tried(search, remedy) ? remedy->first.class == wanted : wanted == REMEDY_CURES;
}

/* What passes, or can't be tried so, then what has not been tried, then what does not pass; each in
 * the order of their turns. */
static void sort_by_first(const struct search *search, struct remedy_list *list, uint32_t tried) {
    struct remedy_list all = *list;
    *list = (struct remedy_list){.left_out = all.left_out};
    for (int wanted = REMEDY_CURES; wanted <= REMEDY_USELESS; wanted++) {
        for (uint32_t i = 0; i < tried; i++)
            if (is_of_class(search, &all.remedy[i], (enum remedy_class)wanted))
                append(list, &all.remedy[i]);
        for (uint32_t i = tried; i < all.count && wanted == REMEDY_COSTS; i++)
            append(list, &all.remedy[i]);
    }
    remedy_list_free(&all);
}

/* Some at a time, as long as it costs little. */
static bool try_all_first(const struct search *search, struct remedy_list *list) {
    uint32_t next = 0;
    uint64_t spent = search->book->spent;
    double most = (double)REMEDY_FIRST_RUNS * (double)search->book->dearest;
    while (next < list->count && (double)(search->book->spent - spent) < most) {
        uint32_t end = next + TRIED_AT_ONCE < list->count ? next + TRIED_AT_ONCE : list->count;
        if (!try_first(search, list, next, end))
            return false;
        next = end;
    }
    sort_by_first(search, list, next);
    return true;
}

/* ---- some at a time ---- */

/* True for one that did not help at first, while another has come through its run or trials have
 * cost something already. */
static bool is_hopeless(const struct search *search, const struct remedy *remedy) {
    const struct trial *trial = &search->book->trial[remedy->trial];
    return search->question->stretch != NULL && trial_is_tried(trial, search->question->stretch) &&
           remedy->first.class == REMEDY_USELESS &&
           (trial_book_has_spent(search->book, REMEDY_CURED_RUNS) ||
            (search->list->count > 0 && passes(&search->list->remedy[0].worth)));
}

static bool is_enough(const struct search *search, uint32_t enough, uint32_t runs_most) {
    uint32_t cures = cures_in(search->list);
    return cures >= enough || trial_book_has_spent(search->book, runs_most) ||
           (cures > 0 && trial_book_has_spent(search->book, REMEDY_CURED_RUNS));
}

/* Some at a time, until `enough` cure; what is not tried any more is left out of the list. */
static bool try_list(const struct search *search, uint32_t enough, uint32_t runs_most) {
    struct remedy_list all = *search->list;
    uint32_t next = 0;
    *search->list = (struct remedy_list){.left_out = all.left_out};
    sort_by_turn(&all);
    bool whole = search->question->stretch == NULL || try_all_first(search, &all);
    while (whole && next < all.count && !is_hopeless(search, &all.remedy[next]) &&
           (next == 0 || !is_enough(search, enough, runs_most))) {
        for (uint32_t added = 0; added < TRIED_AT_ONCE && next < all.count; next++)
            if (!is_done_with(search, search->list, &all.remedy[next], false)) {
                append(search->list, &all.remedy[next]);
                added++;
            } else {
                search->list->left_out++;
            }
        whole = run_all(search) && prove_best(search);
    }
    search->list->left_out += all.count - next;
    remedy_list_free(&all);
    return whole;
}

/* ---- nothing that is not needed ---- */

struct reducing {
    const struct search *search;
    struct remedy *remedy;
};

/* Whether a trial that was run is worth as much as a remedy. */
static bool is_as_good(const struct search *search, uint32_t index, const struct remedy *remedy) {
    struct remedy_worth worth = judge(search, index, true);
    if (!passes(&worth))
        return !passes(&remedy->worth) && worth_order(&worth, &remedy->over_run) <= 0;
    if (worth.class > remedy->worth.class || !trial_book_prove(search->book, &index, 1))
        return false;
    worth = judge(search, index, false);
    return worth_order(&worth, &remedy->worth) <= 0 && worth.burden <= remedy->worth.burden;
}

/* Takes a trial for a remedy, if it is worth as much. */
static bool take_if_as_good(void *self, uint32_t trial) {
    const struct reducing *reducing = self;
    const struct search *search = reducing->search;
    struct remedy *remedy = reducing->remedy;
    if (!is_as_good(search, trial, remedy))
        return false;
    remedy->trial = trial;
    remedy->over_run = judge(search, trial, true);
    remedy->worth = judge(search, trial, false);
    remedy->made = trial_made(search->book, &search->book->trial[trial]);
    return true;
}

/* Of those that may be shown; what comes out may stand elsewhere, so that others may be shown. */
static void leave_out_needless(const struct search *search, bool keeps_emptiers) {
    struct remedy_list *list = search->list;
    for (uint32_t i = 0; i < list->count && list->remedy[i].worth.class != REMEDY_USELESS; i++) {
        struct reducing reducing = {search, &list->remedy[i]};
        needed_changes(search->book, list->remedy[i].trial, keeps_emptiers, take_if_as_good,
                       &reducing);
    }
    sort(list, false);
}

/* ---- several together ---- */

struct together {
    struct search more; /* its list: of what is put on the bases */
    const struct remedy *base;
    uint32_t root, turn; /* of the thought that came last */
};

static void put_on(struct together *together, const char *text, uint32_t size,
                   enum remedy_rank rank, uint32_t turn) {
    uint32_t trial = trial_book_add_both(together->more.book, together->base->trial, text);
    if (has(together->more.list, trial, together->base->root) ||
        together->more.list->count >= TRIED_MOST)
        return;
    append(together->more.list,
           &(struct remedy){.trial = trial,
                            .root = together->base->root,
                            .size = together->base->size + size,
                            .turn = turn,
                            .rank = rank > together->base->rank ? rank : together->base->rank,
                            .first = REMEDY_UNTRIED,
                            .over_run = REMEDY_UNTRIED,
                            .worth = REMEDY_UNTRIED});
}

/* Whether the first of some changes is to what another trial changes already. */
static bool changes_again(const struct trial *base, const char *text) {
    size_t key = strcspn(text, "=");
    for (uint32_t i = 0; i < base->set_count; i++)
        if (strncmp(base->set[i], text, key + 1) == 0 && !trial_set_adds_part(text) &&
            strncmp(text, "incidents", strlen("incidents")) != 0)
            return true;
    return false;
}

static void take_thought(void *taker, const struct remedy_candidate *candidate) {
    struct together *together = taker;
    if (changes_again(&together->more.book->trial[together->base->trial], candidate->text))
        return;
    together->turn = candidate->root == together->root ? together->turn + 1 : 0;
    together->root = candidate->root;
    put_on(together, candidate->text, candidate->size, candidate->rank, together->turn);
}

/* The changes of a trial as a text. To be freed. */
static char *text_of(const struct trial *trial) {
    size_t length = 1;
    for (uint32_t i = 0; i < trial->set_count; i++)
        length += strlen(trial->set[i]) + 1;
    char *text = require_memory(length, 1);
    for (uint32_t i = 0; i < trial->set_count; i++) {
        strcat(text, i > 0 ? "\n" : "");
        strcat(text, trial->set[i]);
    }
    return text;
}

/* What went best alone, put on what went best alone. */
static void put_singles_on(struct together *together, const struct remedy_list *singles) {
    for (uint32_t i = 0, put = 0; i < singles->count && put < PUT_ON_MOST; i++) {
        const struct remedy *single = &singles->remedy[i];
        if (single->trial == together->base->trial || single->worth.class == REMEDY_USELESS)
            continue;
        char *text = text_of(&together->more.book->trial[single->trial]);
        put_on(together, text, single->size, single->rank, put);
        free(text);
        put++;
    }
}

/* What is put on one base: what would be done about what is wrong with it, then what else helps. */
static bool try_on_base(struct together *together, const struct remedy *base,
                        const struct remedy_list *singles) {
    const struct remedy_question *question = together->more.question;
    together->base = base;
    together->root = NO_INDEX;
    if (question->think_on != NULL)
        question->think_on(question->self, together->more.book, base->trial, take_thought,
                           together);
    put_singles_on(together, singles);
    return try_list(&together->more, 1, REMEDY_RUNS);
}

/* What only happens to help is no reason to leave off. */
static bool has_cure(const struct remedy_list *list) {
    return list->count > 0 && cures_in(list) > 0 && list->remedy[0].rank != REMEDY_HAPPENS;
}

static void move_all(struct remedy_list *from, struct remedy_list *to) {
    for (uint32_t i = 0; i < from->count; i++)
        append(to, &from->remedy[i]);
    to->left_out += from->left_out;
    remedy_list_free(from);
}

/* One more change on the best of those with one less; what is tried comes into `found`. */
static bool put_on_bases(const struct search *search, const struct remedy_list *bases,
                         struct remedy_list *found) {
    bool whole = true;
    uint32_t first = cures_in(bases); /* what cures by chance is no base */
    for (uint32_t i = first; i < bases->count && i < first + BASES_MOST; i++) {
        if (!whole || has_cure(found))
            break;
        struct remedy_list list = {0};
        struct remedy_question question = *search->question;
        struct together together = {.more = {&list, search->book, &question}};
        if (passes(&bases->remedy[i].first) || passes(&bases->remedy[i].over_run))
            question.stretch = NULL; /* what is wrong with it comes later */
        if (bases->remedy[i].worth.class == REMEDY_USELESS ||
            trial_book_has_spent(search->book, REMEDY_RUNS))
            break;
        whole = try_on_base(&together, &bases->remedy[i], search->list);
        move_all(&list, found);
        sort(found, false);
    }
    return whole;
}

/* Puts two, then three changes together, where none cures; first nothing is left of the single ones
 * that is not needed, which is no reason to leave off earlier. What cures joins the list. */
static bool put_together(const struct search *search) {
    struct remedy_list two = {0}, three = {0};
    uint64_t spent = search->book->spent;
    if (has_cure(search->list))
        return true;
    leave_out_needless(search, true);
    search->book->aside += search->book->spent - spent;
    bool whole = has_cure(search->list) || put_on_bases(search, search->list, &two);
    if (whole && !has_cure(search->list) && !has_cure(&two))
        whole = put_on_bases(search, &two, &three);
    struct remedy_list *cured = has_cure(&two) ? &two : &three;
    for (uint32_t i = 0; i < cured->count && has_cure(cured); i++)
        if (passes(&cured->remedy[i].worth))
            append(search->list, &cured->remedy[i]);
    remedy_list_free(&two);
    remedy_list_free(&three);
    return whole;
}

/* ---- all of it ---- */

bool remedy_search(struct remedy_list *list, struct trial_book *book,
                   const struct remedy_question *question) {
    struct search search = {list, book, question};
    if (!try_list(&search, CURES_ENOUGH, REMEDY_SINGLES_RUNS) || !put_together(&search))
        return false;
    remedy_list_judge_proofs(list, book, question); /* what is best may have turned up late */
    leave_out_needless(&search, false);
    return interrupt_signal() == 0;
}

/* Those that would be shown, do not jam in the run and were not proved; returns how many. */
static uint32_t unproved_shown(const struct search *search, uint32_t index[REMEDIES_SHOWN_MOST]) {
    uint32_t count = 0, shown = remedy_list_shown(search->list);
    for (uint32_t i = 0; i < shown; i++) {
        uint32_t at = search->list->remedy[i].trial;
        const struct trial *trial = &search->book->trial[at];
        if (trial->done && !trial->proved && trial->run.first_jam == NOT_GIVEN)
            index[count++] = at;
    }
    return count;
}

bool remedy_list_prove_shown(struct remedy_list *list, struct trial_book *book,
                             const struct remedy_question *question) {
    struct search search = {list, book, question};
    uint32_t index[REMEDIES_SHOWN_MOST], count;
    /* What fails its proof makes room for others, so that this is asked again; each time fewer are
     * left that were not proved. */
    while ((count = unproved_shown(&search, index)) > 0) {
        if (!trial_book_prove(book, index, count))
            return false;
        judge_proofs(&search, list->count);
        sort(list, false);
    }
    return true;
}

void remedy_list_judge_proofs(struct remedy_list *list, struct trial_book *book,
                              const struct remedy_question *question) {
    struct search search = {list, book, question};
    judge_proofs(&search, list->count);
    sort(list, false);
}

void remedy_list_judge_again(struct remedy_list *list, const struct remedy_list *other,
                             struct trial_book *book, const struct remedy_question *question,
                             uint32_t root) {
    struct search search = {list, book, question};
    for (uint32_t i = 0; i < other->count; i++) {
        struct remedy remedy = other->remedy[i];
        if (remedy.worth.class == REMEDY_USELESS || has(list, remedy.trial, root))
            continue;
        remedy.root = root;
        remedy.proves = false;
        remedy.worth = judge(&search, remedy.trial, false);
        append(list, &remedy);
    }
    sort(list, false);
}
