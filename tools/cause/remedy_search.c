/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_search.c - first all candidates over the run, then proofs of the best until
 * enough have come through, then several changes together, then without what is not needed. */
#include "tools/cause/remedy_search.h"

#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tools/base/interrupt.h"

/* Candidates of one question; proofs of one round; of those, how many at once. */
enum { TRIED_MOST = 64, PROVED_MOST = 24, PROVED_AT_ONCE = 6 };
/* Trials on which more changes are put, and single changes that are put on each. */
enum { BASES_MOST = 3, PUT_ON_MOST = 8, TOGETHER_MOST = 3 };

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
    uint32_t trial = trial_book_add(book, candidate->text);
    if (has(list, trial, candidate->root))
        return;
    append(list, &(struct remedy){.trial = trial,
                                  .root = candidate->root,
                                  .size = candidate->size,
                                  .rank = candidate->rank,
                                  .proves = candidate->proves,
                                  .over_run = {REMEDY_USELESS, 0},
                                  .worth = {REMEDY_USELESS, 0}});
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
        return (struct remedy_worth){REMEDY_USELESS, 0};
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
            list->remedy[next].worth = (struct remedy_worth){REMEDY_USELESS, 0};
            list->left_out++;
        }
    judge_proofs(search, list->count);
    free(index);
    sort(list, false);
    return whole;
}

/* ---- several together ---- */

struct together {
    struct search more; /* its list: of what is put on the bases */
    const struct remedy *base;
    uint32_t count; /* on this base */
};

static void put_on(struct together *together, const char *text, uint32_t size,
                   enum remedy_rank rank) {
    uint32_t trial = trial_book_add_both(together->more.book, together->base->trial, text);
    if (has(together->more.list, trial, together->base->root) ||
        together->more.list->count >= TRIED_MOST)
        return;
    append(together->more.list,
           &(struct remedy){.trial = trial,
                            .root = together->base->root,
                            .size = together->base->size + size,
                            .rank = rank > together->base->rank ? rank : together->base->rank,
                            .over_run = {REMEDY_USELESS, 0},
                            .worth = {REMEDY_USELESS, 0}});
}

static void take_thought(void *taker, const struct remedy_candidate *candidate) {
    put_on(taker, candidate->text, candidate->size, candidate->rank);
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
        put_on(together, text, single->size, single->rank);
        free(text);
        put++;
    }
}

static void put_on_bases(struct together *together, const struct remedy_list *bases,
                         const struct remedy_list *singles) {
    const struct remedy_question *question = together->more.question;
    uint32_t count = 0;
    for (uint32_t i = 0; i < bases->count && count < BASES_MOST; i++) {
        if (bases->remedy[i].worth.class == REMEDY_USELESS)
            break;
        together->base = &bases->remedy[i];
        count++;
        if (question->think_on != NULL)
            question->think_on(question->self, together->more.book, together->base->trial,
                               take_thought, together);
        put_singles_on(together, singles);
    }
}

static bool has_cure(const struct remedy_list *list) {
    return list->count > 0 && list->remedy[0].worth.class == REMEDY_CURES;
}

/* Two, then three changes. What cures joins the list. */
static bool put_together(const struct search *search) {
    struct remedy_list found[TOGETHER_MOST + 1] = {{0}};
    bool whole = true, cured = has_cure(search->list);
    for (int changes = 2; changes <= TOGETHER_MOST && whole && !cured; changes++) {
        const struct remedy_list *bases = changes == 2 ? search->list : &found[changes - 1];
        struct together together = {.more = {&found[changes], search->book, search->question}};
        put_on_bases(&together, bases, search->list);
        whole = run_all(&together.more) && prove_best(&together.more);
        cured = has_cure(&found[changes]);
        for (uint32_t i = 0; i < found[changes].count && cured; i++)
            if (passes(&found[changes].remedy[i].worth))
                append(search->list, &found[changes].remedy[i]);
    }
    for (int changes = 2; changes <= TOGETHER_MOST; changes++)
        remedy_list_free(&found[changes]);
    return whole;
}

/* ---- nothing that is not needed ---- */

/* The trial without one change of a remedy, if it is worth as much; NO_INDEX: all are needed. */
static uint32_t without_needless(const struct search *search, const struct remedy *remedy) {
    uint32_t sets = search->book->trial[remedy->trial].set_count;
    for (uint32_t i = 0; i < sets && sets > 1; i++) {
        uint32_t index = trial_book_add_without(search->book, remedy->trial, i);
        if (trial_book_run(search->book, &index, 1) &&
            judge(search, index, true).class <= remedy->worth.class &&
            trial_book_prove(search->book, &index, 1) &&
            judge(search, index, false).class <= remedy->worth.class)
            return index;
    }
    return NO_INDEX;
}

static void leave_out_needless(const struct search *search) {
    struct remedy_list *list = search->list;
    for (uint32_t i = 0; i < list->count && i < REMEDIES_SHOWN_MOST; i++) {
        struct remedy *remedy = &list->remedy[i];
        uint32_t without = passes(&remedy->worth) ? without_needless(search, remedy) : NO_INDEX;
        while (without != NO_INDEX) {
            remedy->trial = without;
            remedy->worth = judge(search, without, false);
            remedy->made = trial_made(search->book, &search->book->trial[without]);
            without = without_needless(search, remedy);
        }
    }
    sort(list, false);
}

bool remedy_search(struct remedy_list *list, struct trial_book *book,
                   const struct remedy_question *question) {
    struct search search = {list, book, question};
    if (!run_all(&search) || !prove_best(&search) || !put_together(&search))
        return false;
    judge_proofs(&search, list->count); /* what is best may have turned up late */
    sort(list, false);
    leave_out_needless(&search);
    return interrupt_signal() == 0;
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
