/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_search.c - each change is run once, however many cases it is thought of for.
 */
#include "tools/cause/remedy_search.h"

#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/array.h"
#include "sim/require.h"
#include "tools/cause/remedy_candidates.h"

/* ---- collecting ---- */

struct collector {
    struct remedies *remedies;
    uint32_t owner, root, first; /* first: remedy of this case */
};

static bool is_text_of(const struct trial *trial, const char *text) {
    for (uint32_t i = 0; i < trial->set_count; i++) {
        size_t length = strlen(trial->set[i]);
        if (strncmp(text, trial->set[i], length) != 0 ||
            text[length] != (i + 1 < trial->set_count ? '\n' : '\0'))
            return false;
        text += length + 1;
    }
    return true;
}

/* The trial of a change, a new one where it was not thought of before; NO_INDEX: enough is enough.
 * */
static uint32_t trial_of(struct remedies *remedies, const char *text) {
    for (uint32_t i = 0; i < remedies->trial_count; i++)
        if (is_text_of(&remedies->trial[i], text))
            return i;
    if (remedies->trial_count == REMEDIES_TRIED_IN_ALL)
        return NO_INDEX;
    remedies->trial = array_with_room(remedies->trial, remedies->trial_count,
                                      &remedies->trial_capacity, sizeof *remedies->trial);
    trial_init(&remedies->trial[remedies->trial_count], text);
    return remedies->trial_count++;
}

static bool is_there(const struct collector *collector, uint32_t trial) {
    for (uint32_t i = collector->first; i < collector->remedies->count; i++)
        if (collector->remedies->one[i].trial == trial &&
            collector->remedies->one[i].root == collector->root)
            return true;
    return false;
}

static void take_guess(void *self, const struct remedy_candidate *guess) {
    struct collector *collector = self;
    struct remedies *remedies = collector->remedies;
    bool enough = remedies->count - collector->first == REMEDIES_TRIED_MOST;
    uint32_t trial = enough ? NO_INDEX : trial_of(remedies, guess->text);
    if (trial == NO_INDEX) {
        remedies->left_out++;
        return;
    }
    if (is_there(collector, trial))
        return;
    remedies->one =
        array_with_room(remedies->one, remedies->count, &remedies->capacity, sizeof *remedies->one);
    remedies->one[remedies->count++] = (struct remedy){.owner = collector->owner,
                                                       .root = collector->root,
                                                       .size = guess->size,
                                                       .proves = guess->proves,
                                                       .trial = trial};
}

void remedies_think(struct remedies *remedies, const struct cause_case *self, uint32_t owner) {
    struct collector collector = {remedies, owner, 0, remedies->count};
    for (uint32_t i = 0; i < self->roots.count; i++) {
        collector.root = i;
        remedy_candidates_find(self, &self->roots.root[i], take_guess, &collector);
    }
}

void remedies_free(struct remedies *remedies) {
    for (uint32_t i = 0; i < remedies->trial_count; i++)
        trial_free(&remedies->trial[i]);
    free(remedies->trial);
    free(remedies->one);
    free(remedies->product);
    *remedies = (struct remedies){0};
}

/* ---- judging ---- */

/* What comes a few seconds later has not been helped. */
enum { DELAY_SECONDS = 60 };

int64_t remedies_jam_of(const struct cause_cases *cases, const struct cause_case *self,
                        const struct trial *trial) {
    bool counts = self->kind == EVENT_STARVED || self->open ||
                  self->end_tick >= cases->scenario->warm_up_ticks;
    int64_t jam = counts ? trial->first_jam : trial->any_jam;
    int64_t clog = self->open ? trial->open_clog : trial->any_clog;
    if (self->kind == EVENT_CLOGGED && clog != NOT_GIVEN && (jam == NOT_GIVEN || clog < jam))
        return clog;
    return jam;
}

static void judge(struct remedies *remedies, const struct cause_cases *cases,
                  struct remedy *remedy) {
    const struct trial *trial = &remedies->trial[remedy->trial];
    const struct cause_case *owner = &cases->one[remedy->owner];
    if (!trial->done)
        return;
    for (uint32_t i = 0; i < cases->scenario->item_count; i++)
        remedy->made += remedies->product[i] ? trial->made[i] : 0;
    if (owner->kind == EVENT_STARVED) {
        remedy->cures = !trial->starved[owner->index];
        remedy->cures = remedy->cures && trial->first_jam == NOT_GIVEN;
        return;
    }
    int64_t jam = remedies_jam_of(cases, owner, trial);
    remedy->cures = jam == NOT_GIVEN;
    remedy->helps = !remedy->cures &&
                    jam - owner->start_tick >= DELAY_SECONDS * cases->scenario->ticks_per_second;
}

/* Best first, case by case; of two that are as good the one that was thought of earlier. */
static bool is_better(const struct remedy *a, const struct remedy *b) {
    if (a->owner != b->owner)
        return a->owner < b->owner;
    if (a->cures != b->cures)
        return a->cures;
    if (a->helps != b->helps)
        return a->helps;
    if (a->made != b->made)
        return a->made > b->made;
    return a->size < b->size;
}

static void sort_remedies(struct remedies *remedies) {
    for (uint32_t i = 1; i < remedies->count; i++) {
        struct remedy remedy = remedies->one[i];
        uint32_t at = i;
        for (; at > 0 && is_better(&remedy, &remedies->one[at - 1]); at--)
            remedies->one[at] = remedies->one[at - 1];
        remedies->one[at] = remedy;
    }
}

/* A root whose remedy has cured it is proven: those stand first, in their order. */
static void sort_roots(struct cause_case *self, uint32_t *new_place) {
    struct root *sorted = require_memory(self->roots.count, sizeof *sorted);
    bool *cures = require_memory(self->roots.count, sizeof *cures);
    uint32_t next = 0;
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < self->roots.count; i++)
            if (self->cures[i] == (pass == 0)) {
                new_place[i] = next;
                cures[next] = self->cures[i];
                sorted[next++] = self->roots.root[i];
            }
    for (uint32_t i = 0; i < self->roots.count; i++) {
        self->roots.root[i] = sorted[i];
        self->cures[i] = cures[i];
    }
    free(sorted);
    free(cures);
}

static void rank_roots(struct remedies *remedies, struct cause_case *self, uint32_t owner) {
    uint32_t *new_place = require_memory(self->roots.count, sizeof *new_place);
    for (uint32_t i = 0; i < remedies->count; i++)
        if (remedies->one[i].owner == owner && remedies->one[i].cures && remedies->one[i].proves)
            self->cures[remedies->one[i].root] = true;
    sort_roots(self, new_place);
    for (uint32_t i = 0; i < remedies->count; i++)
        if (remedies->one[i].owner == owner)
            remedies->one[i].root = new_place[remedies->one[i].root];
    free(new_place);
}

/* A change that was thought of for two roots of a case is shown once. */
static void drop_doubles(struct remedies *remedies) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < remedies->count; i++) {
        bool seen = false;
        for (uint32_t j = 0; j < kept && !seen; j++)
            seen = remedies->one[j].owner == remedies->one[i].owner &&
                   remedies->one[j].trial == remedies->one[i].trial;
        if (!seen)
            remedies->one[kept++] = remedies->one[i];
    }
    remedies->count = kept;
}

bool remedies_try(struct remedies *remedies, struct cause_cases *cases, bool told) {
    remedies->product = require_memory(cases->scenario->item_count, sizeof *remedies->product);
    layout_mark_products(cases->scenario, remedies->product);
    if (!trial_run_all(cases->scenario, remedies->trial, remedies->trial_count, told))
        return false;
    for (uint32_t i = 0; i < remedies->count; i++)
        judge(remedies, cases, &remedies->one[i]);
    for (uint32_t i = 0; i < cases->count; i++)
        rank_roots(remedies, &cases->one[i], i);
    drop_doubles(remedies);
    sort_remedies(remedies);
    return true;
}

uint32_t remedies_of(const struct remedies *remedies, uint32_t owner, const struct remedy **first) {
    uint32_t count = 0;
    *first = NULL;
    for (uint32_t i = 0; i < remedies->count && count < REMEDIES_SHOWN_MOST; i++) {
        const struct remedy *remedy = &remedies->one[i];
        if (remedy->owner != owner || (!remedy->cures && !remedy->helps))
            continue;
        *first = *first == NULL ? remedy : *first;
        count++;
    }
    return count;
}
