/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/needed_changes.c - ranges of changes are left out, halved where they are needed. */
#include "tools/cause/needed_changes.h"

#include <stdio.h>
#include <string.h>

#include "model/scenario/scenario.h"

/* Of fewer it costs no less to try halves first than to try each. */
enum { HALVES_FROM = 4 };

struct leaving_out {
    struct trial_book *book;
    bool keeps_emptiers;
    needed_changes_judge *is_as_good;
    void *self;
    uint32_t trial; /* with what has not been left out */
};

/* How many `--set`s from one on are one change: a new chest, the arm that fills it, who empties
 * it. */
static uint32_t sets_of_change(const struct trial *trial, uint32_t set) {
    char to[128], of[128];
    const char *chest = "chests.", *text = trial->set[set];
    size_t name = strlen(chest);
    uint32_t count = 1;
    if (strncmp(text, chest, name) != 0 || !trial_set_adds_part(text))
        return 1;
    int length = (int)(strcspn(text, "=") - name);
    snprintf(to, sizeof to, "to: %.*s,", length, text + name);
    snprintf(of, sizeof of, "{chest: %.*s,", length, text + name);
    for (; set + count < trial->set_count; count++) {
        const char *next = trial->set[set + count];
        if (!trial_set_adds_part(next) || (strstr(next, to) == NULL && strstr(next, of) == NULL))
            break;
    }
    return count;
}

/* The set with which a change begins; that of the change after the last one: how many there are. */
static uint32_t set_of_change(const struct trial *trial, uint32_t change) {
    uint32_t set = 0;
    while (change-- > 0)
        set += sets_of_change(trial, set);
    return set;
}

static uint32_t changes_of(const struct trial *trial) {
    uint32_t count = 0;
    for (uint32_t set = 0; set < trial->set_count; count++)
        set += sets_of_change(trial, set);
    return count;
}

/* Of several that are one, who empties the chest is the last, and may be left out alone. */
static bool is_emptier(const char *set) {
    return strncmp(set, "demands.", strlen("demands.")) == 0;
}

static bool has_set(const struct trial *trial, const char *set) {
    for (uint32_t i = 0; i < trial->set_count; i++)
        if (strcmp(trial->set[i], set) == 0)
            return true;
    return false;
}

/* Whether a trial adds the chest that this set empties. */
static bool adds_chest_of(const struct trial *trial, const char *emptier) {
    char chest[128];
    const char *begin = strstr(emptier, "{chest: ");
    if (begin == NULL)
        return false;
    begin += strlen("{chest: ");
    int length = snprintf(chest, sizeof chest, "chests.%.*s=", (int)strcspn(begin, ",}"), begin);
    for (uint32_t i = 0; i < trial->set_count; i++)
        if (strncmp(trial->set[i], chest, (size_t)length) == 0)
            return true;
    return false;
}

/* Whether a part of the changes leaves a chest without who empties it, where that must not be. */
static bool loses_emptier(const struct leaving_out *leaving, const struct trial *part) {
    const struct trial *whole = &leaving->book->trial[leaving->trial];
    for (uint32_t i = 0; i < whole->set_count && leaving->keeps_emptiers; i++)
        if (is_emptier(whole->set[i]) && !has_set(part, whole->set[i]) &&
            adds_chest_of(part, whole->set[i]))
            return true;
    return false;
}

/* Leaves out `count` sets from one on, if what is left is as good, and is not nothing. */
static bool leave_out_sets(struct leaving_out *leaving, uint32_t set, uint32_t count) {
    struct trial_book *book = leaving->book;
    if (count == book->trial[leaving->trial].set_count)
        return false;
    uint32_t index = trial_book_add_without(book, leaving->trial, set, count);
    if (loses_emptier(leaving, &book->trial[index]) || !trial_book_run(book, &index, 1) ||
        !leaving->is_as_good(leaving->self, index))
        return false;
    leaving->trial = index;
    return true;
}

static bool leave_out(struct leaving_out *leaving, uint32_t from, uint32_t to) {
    const struct trial *trial = &leaving->book->trial[leaving->trial];
    uint32_t set = set_of_change(trial, from);
    return leave_out_sets(leaving, set, set_of_change(trial, to) - set);
}

/* From the last one on, so that the numbers of those that are still to come stay as they are. */
static void leave_out_by_halves(struct leaving_out *leaving, uint32_t from, uint32_t to) {
    if (leave_out(leaving, from, to) || to - from == 1)
        return;
    uint32_t middle = from + (to - from) / 2;
    leave_out_by_halves(leaving, middle, to);
    leave_out_by_halves(leaving, from, middle);
}

/* Leaves out the first change that is not needed. */
static bool leave_out_one(struct leaving_out *leaving) {
    uint32_t changes = changes_of(&leaving->book->trial[leaving->trial]);
    for (uint32_t i = 0; i < changes; i++) {
        const struct trial *trial = &leaving->book->trial[leaving->trial];
        uint32_t set = set_of_change(trial, i), count = sets_of_change(trial, set);
        bool has_emptier = count > 1 && is_emptier(trial->set[set + count - 1]);
        if (leave_out_sets(leaving, set, count) ||
            (has_emptier && leave_out_sets(leaving, set + count - 1, 1)))
            return true;
    }
    return false;
}

/* Whether a trial has some of the changes of another one, and no others. */
static bool is_part_of(const struct trial *part, const struct trial *whole) {
    for (uint32_t i = 0; i < part->set_count; i++)
        if (!has_set(whole, part->set[i]))
            return false;
    return part->set_count > 0 && part->set_count < whole->set_count;
}

/* Goes on with the smallest part that has been proved already and is as good. */
static void begin_with_known_part(struct leaving_out *leaving) {
    const struct trial_book *book = leaving->book;
    for (uint32_t i = 0; i < book->count; i++)
        if (book->trial[i].done && is_part_of(&book->trial[i], &book->trial[leaving->trial]) &&
            !loses_emptier(leaving, &book->trial[i]) && leaving->is_as_good(leaving->self, i))
            leaving->trial = i;
}

uint32_t needed_changes(struct trial_book *book, uint32_t trial, bool keeps_emptiers,
                        needed_changes_judge *is_as_good, void *self) {
    struct leaving_out leaving = {book, keeps_emptiers, is_as_good, self, trial};
    begin_with_known_part(&leaving);
    uint32_t changes = changes_of(&book->trial[leaving.trial]);
    if (changes >= HALVES_FROM)
        leave_out_by_halves(&leaving, 0, changes);
    while (leave_out_one(&leaving))
        continue;
    return leaving.trial;
}
