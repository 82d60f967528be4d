/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_text.c - what happened; why; who waits for whom; until when it could be saved;
 * what would have prevented it. Cases with the same first root are told together. */
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/cause/cause_report.h"
#include "tools/cause/wait_words.h"
#include "tools/record/event_kinds.h"

enum {
    HEADS_MOST = 6,
    ROOTS_MOST = 4,
    WAITS_MOST = 14,
    WAITS_BESIDE_MOST = 6,
    KINDS_MOST = 6,
    PLACERS_MOST = 4,
    NAMED_MOST = 5
};

struct telling {
    const struct cause_report *report;
    const struct scenario *scenario;
    FILE *out;
    bool *told; /* of each case */
    bool *said; /* edges of the case at work, as told */
};

static const char *clock_of(const struct telling *telling, int64_t tick,
                            char text[QUANTITY_TEXT_SIZE]) {
    return quantity_clock(tick, telling->scenario->ticks_per_second, text);
}

static const char *subject_of(const struct telling *telling, const struct cause_case *self) {
    return self->kind == EVENT_STARVED ? telling->scenario->station[self->index].name
                                       : telling->scenario->lane[self->index].full_name;
}

/* ---- which cases belong together ---- */

static bool same_root(const struct cause_case *a, const struct cause_case *b) {
    if (a->roots.count == 0 || b->roots.count == 0)
        return a->roots.count == b->roots.count && a->index == b->index;
    const struct root *x = &a->roots.root[0], *y = &b->roots.root[0];
    return x->kind == y->kind && x->item == y->item && x->subject.kind == y->subject.kind &&
           x->subject.index == y->subject.index;
}

static bool belongs(const struct cause_case *first, const struct cause_case *other) {
    return (first->kind == EVENT_STARVED) == (other->kind == EVENT_STARVED) &&
           same_root(first, other);
}

/* ---- what happened ---- */

static void tell_head(const struct telling *telling, const struct cause_case *self) {
    char start[QUANTITY_TEXT_SIZE], since[QUANTITY_TEXT_SIZE], end[QUANTITY_TEXT_SIZE];
    const char *subject = subject_of(telling, self);
    clock_of(telling, self->start_tick, start);
    clock_of(telling, self->since_tick, since);
    const struct event_kind_row *kind = event_kind_row(self->kind);
    fprintf(telling->out, "%s  %s%s%s", start, kind->before_name, subject, kind->after_name);
    if (kind->names_since)
        fprintf(telling->out, " since %s", since);
    if (self->open)
        fputs(", to the end\n", telling->out);
    else
        fprintf(telling->out, ", until %s\n", clock_of(telling, self->end_tick, end));
}

/* All that belong to the first of them, the jams before the deadlocks that they became. */
static void tell_heads(struct telling *telling, uint32_t first) {
    const struct cause_cases *cases = telling->report->cases;
    uint32_t told = 0, more = 0;
    for (uint32_t i = first; i < cases->count; i++) {
        if (telling->told[i] || !belongs(&cases->one[first], &cases->one[i]))
            continue;
        telling->told[i] = true;
        if (told < HEADS_MOST)
            tell_head(telling, &cases->one[i]);
        else
            more++;
        told++;
    }
    if (more > 0)
        fprintf(telling->out, "and %u more of the same kind: --json tells all\n", more);
}

/* ---- why ---- */

/* What is short is dated by those who miss it: it may have come to its end long before. */
static const char *since_word(enum root_kind kind) {
    return kind == ROOT_FOREIGN_ITEM ? "" : kind == ROOT_DEAD_SUPPLY ? ", missed since" : ", since";
}

static void tell_deed(const struct telling *telling, const struct root *root) {
    char text[WAIT_WORDS_BYTES], tick[QUANTITY_TEXT_SIZE];
    if (wait_words_deed_sentence(telling->scenario, root, text)[0] != '\0')
        fprintf(telling->out, "      %s at %s\n", text, clock_of(telling, root->deed.tick, tick));
}

static void tell_root(const struct telling *telling, const struct cause_case *self,
                      uint32_t index) {
    const struct root *root = &self->roots.root[index];
    char text[WAIT_WORDS_BYTES], since[QUANTITY_TEXT_SIZE];
    wait_words_root_sentence(&self->waits, root, text);
    fprintf(telling->out, "  %s", text);
    if (root->since != NOT_GIVEN)
        fprintf(telling->out, "%s %s", since_word(root->kind),
                clock_of(telling, root->since, since));
    fprintf(telling->out, "  (%s%s)\n", wait_words_root_word(root->kind),
            self->cures[index] ? ", proven" : "");
    tell_deed(telling, root);
}

static void tell_roots(const struct telling *telling, const struct cause_case *self) {
    fputs("Why\n", telling->out);
    for (uint32_t i = 0; i < self->roots.count && i < ROOTS_MOST; i++)
        tell_root(telling, self, i);
    if (self->roots.count == 0)
        fputs("  Nobody waits for ever: the waits end with what is under way or still to come.\n",
              telling->out);
    if (self->roots.count > 0 && self->cures[0])
        fputs("  Proven: with a change against it alone, the run has no such trouble.\n",
              telling->out);
}

/* ---- who waits for whom ---- */

static void tell_lane(const struct telling *telling, const struct cause_case *self) {
    if (self->kind == EVENT_STARVED)
        return;
    const struct scenario *scenario = telling->scenario;
    uint32_t cells = scenario->loop[scenario->lane[self->index].loop].cell_count;
    fprintf(telling->out, "  On %s %lld of %u cells are held:", subject_of(telling, self),
            (long long)self->cells_held, cells);
    for (uint32_t i = 0; i < self->held.count && i < KINDS_MOST; i++)
        fprintf(telling->out, "%s %lld %s", i > 0 ? "," : "", (long long)self->held.entry[i].count,
                scenario->item[self->held.entry[i].item].name);
    fputs(self->held.count > KINDS_MOST ? ", ...\n" : "\n", telling->out);
}

static void tell_wait(const struct telling *telling, const struct cause_case *self, uint32_t edge) {
    char text[WAIT_WORDS_BYTES], since[QUANTITY_TEXT_SIZE];
    const struct waits_edge *self_edge = &self->waits.edge[edge];
    if (telling->said[edge])
        return;
    telling->said[edge] = true;
    fprintf(telling->out, "  %s", wait_words_sentence(&self->waits, self_edge, text));
    if (self_edge->since != NOT_GIVEN)
        fprintf(telling->out, ", since %s", clock_of(telling, self_edge->since, since));
    fputc('\n', telling->out);
}

static uint32_t edge_between(const struct waits *waits, uint32_t from, uint32_t to) {
    for (uint32_t i = waits->first[from]; i < waits->first[from + 1]; i++)
        if (waits->edge[i].to == to)
            return i;
    return NO_INDEX;
}

static void tell_placers(const struct telling *telling, const struct cause_case *self) {
    const struct waits *waits = &self->waits;
    uint32_t told = 0, more = 0;
    if (self->kind == EVENT_STARVED)
        return;
    for (uint32_t i = 0; i < waits->edge_count; i++) {
        if (waits->edge[i].why != WAITS_FOR_CELL || waits->edge[i].to != cause_case_vertex(self))
            continue;
        if (told < PLACERS_MOST)
            tell_wait(telling, self, i);
        else
            more++;
        told++;
    }
    if (more > 0)
        fprintf(telling->out, "  and %u more wait for a cell there\n", more);
}

static void tell_ring(const struct telling *telling, const struct cause_case *self) {
    if (self->roots.ring_length == 0)
        return;
    fputs("  It is a circle:\n", telling->out);
    for (uint32_t i = 0; i < self->roots.ring_length && i < WAITS_MOST; i++) {
        uint32_t next = self->roots.ring[(i + 1) % self->roots.ring_length];
        tell_wait(telling, self, edge_between(&self->waits, self->roots.ring[i], next));
    }
    if (self->roots.ring_length > WAITS_MOST)
        fprintf(telling->out, "  and so on, %u in all, back to the first\n",
                self->roots.ring_length);
}

/* What is not in the circle, from the lane or station on. */
static void tell_chain(const struct telling *telling, const struct cause_case *self) {
    const struct roots *roots = &self->roots;
    uint32_t most = roots->ring_length == 0 ? WAITS_MOST : WAITS_BESIDE_MOST, told = 0, more = 0;
    for (uint32_t i = 0; i < roots->chain_length; i++) {
        if (telling->said[roots->chain[i]])
            continue;
        if (told == 0 && roots->ring_length > 0)
            fputs("  Beside it:\n", telling->out);
        if (told < most)
            tell_wait(telling, self, roots->chain[i]);
        else
            more++;
        told++;
    }
    if (more > 0)
        fprintf(telling->out, "  and %u more: --json or --dot FILE show all of it\n", more);
}

static void tell_waits(struct telling *telling, const struct cause_case *self) {
    telling->said = require_memory(self->waits.edge_count, sizeof *telling->said);
    fputs("\nWho waits for whom\n", telling->out);
    tell_lane(telling, self);
    tell_placers(telling, self);
    tell_ring(telling, self);
    tell_chain(telling, self);
    free(telling->said);
}

/* ---- until when; what would have prevented it ---- */

static void tell_turning(const struct telling *telling, const struct cause_case *self) {
    char text[QUANTITY_TEXT_SIZE];
    if (self->turning_tick == NOT_GIVEN)
        return;
    clock_of(telling, self->turning_tick, text);
    fprintf(telling->out,
            "\nPoint of no return: %s. Had all feeders of %s stopped by then, it would still have\n"
            "run empty.\n",
            text, subject_of(telling, self));
}

static bool needs_quotes(const char *text) {
    return strpbrk(text, " {}[]*?$&;|<>()`\"\\!#~") != NULL;
}

static void tell_change(const struct telling *telling, const struct trial *trial) {
    fputs("  ", telling->out);
    for (uint32_t i = 0; i < trial->set_count; i++) {
        const char *quote = needs_quotes(trial->set[i]) ? "'" : "";
        fprintf(telling->out, "%s--set %s%s%s", i > 0 ? " " : "", quote, trial->set[i], quote);
    }
    fputc('\n', telling->out);
}

static void tell_gain(const struct telling *telling, const struct trial *trial) {
    const struct scenario *scenario = telling->scenario;
    double minutes = (double)(scenario->run_ticks - scenario->warm_up_ticks) /
                     (60 * (double)scenario->ticks_per_second);
    uint32_t told = 0;
    for (uint32_t i = 0; i < scenario->item_count && minutes > 0 && told < 3; i++)
        if (telling->report->remedies->product[i]) {
            fprintf(telling->out, "%s %.1f %s", told > 0 ? "," : ";",
                    (double)trial->made[i] / minutes, scenario->item[i].name);
            told++;
        }
    fputs(told > 0 ? " a minute\n" : "\n", telling->out);
}

static void tell_remedy(const struct telling *telling, const struct cause_case *self,
                        const struct remedy *remedy) {
    const struct trial *trial = &telling->report->remedies->trial[remedy->trial];
    char text[QUANTITY_TEXT_SIZE];
    int64_t jam = remedies_jam_of(telling->report->cases, self, trial);
    bool clogged = self->kind == EVENT_CLOGGED;
    tell_change(telling, trial);
    if (!remedy->cures && jam != NOT_GIVEN)
        fprintf(telling->out, "      jams%s later, at %s", clogged ? " or clogs" : "",
                clock_of(telling, jam, text));
    else if (self->kind == EVENT_STARVED)
        fputs("      starves no more", telling->out);
    else
        fprintf(telling->out, "      no jam%s%s", clogged ? " and no clog" : "",
                trial->some_starved ? ", but a station starves" : "");
    tell_gain(telling, trial);
}

static void tell_remedies(const struct telling *telling, uint32_t index) {
    const struct remedy *remedy;
    uint32_t count = remedies_of(telling->report->remedies, index, &remedy);
    if (count == 0 && telling->report->cases->one[index].roots.count == 0)
        return;
    if (count == 0) {
        fputs("\nNone of the single changes that were tried would have prevented it.\n",
              telling->out);
        return;
    }
    fputs("\nWhat would have prevented it, each tried by running again, the best first\n",
          telling->out);
    for (uint32_t i = 0; i < count; i++)
        tell_remedy(telling, &telling->report->cases->one[index], &remedy[i]);
}

/* ---- all of it ---- */

static void tell_case(struct telling *telling, uint32_t index) {
    const struct cause_case *self = &telling->report->cases->one[index];
    tell_heads(telling, index);
    fputc('\n', telling->out);
    tell_roots(telling, self);
    tell_waits(telling, self);
    tell_turning(telling, self);
    tell_remedies(telling, index);
    fputc('\n', telling->out);
}

static void tell_kinds(struct telling *telling, enum event_kind one, enum event_kind other) {
    const struct cause_cases *cases = telling->report->cases;
    for (uint32_t i = 0; i < cases->count; i++)
        if (!telling->told[i] && (cases->one[i].kind == one || cases->one[i].kind == other))
            tell_case(telling, i);
}

/* Starvations beside a jam are mostly its work, so that they are only counted. */
static void tell_starvations(struct telling *telling, uint32_t count) {
    const struct cause_cases *cases = telling->report->cases;
    fprintf(telling->out, "and %u starvation%s:", count, count == 1 ? "" : "s");
    for (uint32_t i = 0, told = 0; i < cases->count && told < NAMED_MOST; i++)
        if (cases->one[i].kind == EVENT_STARVED)
            fprintf(telling->out, "%s --event %llu", told++ > 0 ? "," : "",
                    (unsigned long long)cases->one[i].row);
    fputs(count > NAMED_MOST ? ", ...\n" : "\n", telling->out);
}

/* How to see it happen. */
static void tell_next(const struct telling *telling) {
    const struct cause_cases *cases = telling->report->cases;
    char text[QUANTITY_TEXT_SIZE];
    if (cases->count == 0)
        return;
    const struct cause_case *self = &cases->one[0];
    for (uint32_t i = 0; i < cases->count && self->kind == EVENT_STARVED; i++)
        self = &cases->one[i];
    int64_t tick = self->turning_tick != NOT_GIVEN ? self->turning_tick : self->since_tick;
    fprintf(telling->out, "To see it happen: loopwright replay %s --from %s\n",
            telling->report->path, clock_of(telling, tick, text));
}

static void tell_nothing(const struct telling *telling) {
    const struct cause_report *report = telling->report;
    struct faults faults = {0};
    char text[QUANTITY_TEXT_SIZE];
    fputs("Nothing to explain: ", telling->out);
    if (report->event != NULL) {
        fprintf(telling->out, "row %s of events.csv is no jam, deadlock, clog or starvation.\n",
                report->event);
        return;
    }
    if (report->at != NULL)
        fprintf(telling->out, "at %s ",
                clock_of(telling,
                         read_duration(report->at, telling->scenario->ticks_per_second, &faults),
                         text));
    faults_free(&faults);
    fputs("no jam, no clog, and no starvation that lasted.\n", telling->out);
}

void cause_report_text(const struct cause_report *report, FILE *out) {
    const struct cause_cases *cases = report->cases;
    uint32_t starvations = 0;
    struct telling telling = {.report = report, .scenario = cases->scenario, .out = out};
    telling.told = require_memory(cases->count, sizeof *telling.told);
    for (uint32_t i = 0; i < cases->count; i++)
        starvations += cases->one[i].kind == EVENT_STARVED;
    if (cases->count == 0)
        tell_nothing(&telling);
    tell_kinds(&telling, EVENT_JAM, EVENT_DEADLOCK);
    tell_kinds(&telling, EVENT_CLOGGED, EVENT_CLOGGED);
    if (starvations == cases->count)
        tell_kinds(&telling, EVENT_STARVED, EVENT_STARVED);
    else if (starvations > 0)
        tell_starvations(&telling, starvations);
    tell_next(&telling);
    if (report->remedies->left_out > 0)
        fprintf(out, "%u more changes were thought of and not tried.\n",
                report->remedies->left_out);
    free(telling.told);
}
