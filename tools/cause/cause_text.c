/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_text.c - prints the report of `loopwright cause` as text: what happened,
 * why, who waits for whom, until when it could have been saved, and what would have prevented
 * it. Cases with the same first root are reported together. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/quantity.h"
#include "sim/require.h"
#include "tools/cause/cause_report.h"
#include "tools/cause/drain_left.h"
#include "tools/cause/remedy_words.h"
#include "tools/cause/short_report.h"
#include "tools/cause/wait_words.h"
#include "tools/record/event_kinds.h"

enum {
    HEADS_MOST = 6,
    ROOTS_MOST = 4,
    WAITS_MOST = 14,
    WAITS_BESIDE_MOST = 6,
    KINDS_MOST = 6,
    PLACERS_MOST = 4,
    NAMED_MOST = 5,
    SHORTS_LINES_MOST = 8
};

struct telling {
    const struct cause_report *report;
    const struct scenario *scenario;
    FILE *out;
    bool is_first_told; /* a case has been reported in full: others briefly */
    bool *reported;     /* of each case */
    bool *said;         /* edges of the case at work, as printed */
};

static const char *clock_of(const struct telling *telling, int64_t tick,
                            char text[QUANTITY_TEXT_SIZE]) {
    return quantity_clock(tick, telling->scenario->ticks_per_second, text);
}

static const char *subject_of(const struct telling *telling, const struct cause_case *self) {
    return self->kind == EVENT_STARVED ? telling->scenario->station[self->index].name
                                       : telling->scenario->lane[self->index].full_name;
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
    else if (self->kind == EVENT_DEADLOCK)
        fprintf(telling->out, ", and such help came at %s\n",
                clock_of(telling, self->end_tick, end));
    else
        fprintf(telling->out, ", until %s\n", clock_of(telling, self->end_tick, end));
}

/* All that belong to the first of them, the jams before the deadlocks that they became. */
static void tell_heads(struct telling *telling, uint32_t first) {
    const struct cause_cases *cases = telling->report->cases;
    uint32_t shown = 0, more = 0;
    for (uint32_t i = first; i < cases->count; i++) {
        if (telling->reported[i] ||
            !cause_case_is_alike(&cases->jam_case[first], &cases->jam_case[i]))
            continue;
        telling->reported[i] = true;
        if (shown < HEADS_MOST)
            tell_head(telling, &cases->jam_case[i]);
        else
            more++;
        shown++;
    }
    if (more > 0)
        fprintf(telling->out, "and %u more of the same kind: --json lists them all\n", more);
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
        fputs(
            "  Nobody waits for ever: each wait ends with something under way or still to come.\n",
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
    uint32_t shown = 0, more = 0;
    if (self->kind == EVENT_STARVED)
        return;
    for (uint32_t i = 0; i < waits->edge_count; i++) {
        if (waits->edge[i].why != WAITS_FOR_CELL || waits->edge[i].to != cause_case_vertex(self))
            continue;
        if (shown < PLACERS_MOST)
            tell_wait(telling, self, i);
        else
            more++;
        shown++;
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
    uint32_t most = roots->ring_length == 0 ? WAITS_MOST : WAITS_BESIDE_MOST, shown = 0, more = 0;
    for (uint32_t i = 0; i < roots->chain_length; i++) {
        if (telling->said[roots->chain[i]])
            continue;
        if (shown == 0 && roots->ring_length > 0)
            fputs("  Beside it:\n", telling->out);
        if (shown < most)
            tell_wait(telling, self, roots->chain[i]);
        else
            more++;
        shown++;
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
            "run empty; a second later %s would have been left over.\n",
            text, subject_of(telling, self), telling->scenario->item[self->turning_item].name);
}

/* Of a drain: that nothing jams is not all that was asked for. */
static void tell_left(const struct telling *telling, const struct trial *trial) {
    char *left = drain_left_by(telling->report->remedies->book, trial);
    if (left != NULL)
        fprintf(telling->out, "      still leaves %s when the demands stop\n", left);
    free(left);
}

static void tell_remedy(const struct telling *telling, const struct cause_case *self,
                        const struct remedy *remedy) {
    const struct trial_book *book = telling->report->remedies->book;
    const struct trial *trial = &book->trial[remedy->trial];
    const struct cause_cases *cases = telling->report->cases;
    char text[QUANTITY_TEXT_SIZE];
    int64_t failed = case_remedies_failed(cases, self, trial);
    bool starves = case_remedies_starved(cases, self, trial);
    remedy_words_change(trial, telling->out);
    if (failed != NOT_GIVEN) {
        fprintf(telling->out, "      jams%s later, at %s",
                failed == trial->run.first_jam ? "" : " or clogs", clock_of(telling, failed, text));
    } else if (self->kind == EVENT_STARVED) {
        fputs(starves ? "      starves later" : "      starves no more", telling->out);
        remedy_words_proof(book, trial, telling->out);
    } else {
        fputs("      no jam", telling->out);
        remedy_words_proof(book, trial, telling->out);
        fputs(starves ? ", but a station starves" : "", telling->out);
    }
    if (remedy->worth.class == REMEDY_COSTS)
        fprintf(telling->out, ", %s keeps less than nine tenths of what could be had",
                starves && self->kind != EVENT_STARVED ? "and it" : "but it");
    remedy_words_rates(book, trial, telling->out);
    fputc('\n', telling->out);
    remedy_words_growth(book, trial, telling->out);
    tell_left(telling, trial);
}

/* What was had without any change, to compare with. */
static void tell_unchanged(const struct telling *telling) {
    const struct case_remedies *remedies = telling->report->remedies;
    const struct trial *trial = &remedies->book->trial[remedies->unchanged];
    if (!trial->done || (trial_made(remedies->book, trial) == 0 && isnan(trial->met)))
        return;
    fputs("  (as it was", telling->out);
    remedy_words_rates(remedies->book, trial, telling->out);
    fputs(")\n", telling->out);
}

/* Beside cures, of those that only put it off. */
enum { DELAYS_MOST = 2 };

static void tell_remedies(const struct telling *telling, uint32_t index) {
    const struct remedy_list *list = &telling->report->remedies->list[index];
    uint32_t count = remedy_list_shown(list);
    if (count == 0 && telling->report->cases->jam_case[index].roots.count == 0)
        return;
    if (count == 0) {
        fputs("\nNone of the changes that were tried would have prevented it.\n", telling->out);
        return;
    }
    fputs("\nWhat would have prevented it, each tried by running again, the best first\n",
          telling->out);
    tell_unchanged(telling);
    bool cured = list->remedy[0].worth.class == REMEDY_CURES;
    uint32_t delays = 0;
    for (uint32_t i = 0; i < count; i++) {
        delays += list->remedy[i].worth.class == REMEDY_HELPS;
        if (!cured || delays <= DELAYS_MOST)
            tell_remedy(telling, &telling->report->cases->jam_case[index], &list->remedy[i]);
    }
    if (cured && delays > DELAYS_MOST)
        fprintf(telling->out, "  and %u more that only put it off: --json lists them\n",
                delays - DELAYS_MOST);
}

/* ---- all of it ---- */

/* What has another cause than what was reported first: its cause, and how to ask for more. */
static void tell_briefly(struct telling *telling, uint32_t index) {
    const struct cause_case *self = &telling->report->cases->jam_case[index];
    const struct remedy_list *list = &telling->report->remedies->list[index];
    tell_heads(telling, index);
    if (self->roots.count > 0)
        tell_root(telling, self, 0);
    if (list->count > 0 && list->remedy[0].worth.class == REMEDY_CURES)
        remedy_words_change(&telling->report->remedies->book->trial[list->remedy[0].trial],
                            telling->out);
    fprintf(telling->out, "  More: loopwright cause %s --event %llu\n\n", telling->report->path,
            (unsigned long long)self->row);
}

static void tell_case(struct telling *telling, uint32_t index) {
    const struct cause_case *self = &telling->report->cases->jam_case[index];
    if (telling->is_first_told) {
        tell_briefly(telling, index);
        return;
    }
    telling->is_first_told = true;
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
        if (!telling->reported[i] &&
            (cases->jam_case[i].kind == one || cases->jam_case[i].kind == other))
            tell_case(telling, i);
}

/* Starvations beside a jam are mostly its work, so that they are only counted. */
static void tell_starvations(struct telling *telling, uint32_t count) {
    const struct cause_cases *cases = telling->report->cases;
    fprintf(telling->out, "and %u starvation%s:", count, count == 1 ? "" : "s");
    for (uint32_t i = 0, shown = 0; i < cases->count && shown < NAMED_MOST; i++)
        if (cases->jam_case[i].kind == EVENT_STARVED)
            fprintf(telling->out, "%s --event %llu", shown++ > 0 ? "," : "",
                    (unsigned long long)cases->jam_case[i].row);
    fputs(count > NAMED_MOST ? ", ...\n" : "\n", telling->out);
}

enum { BEFORE_SECONDS = 50, SHOWN_SECONDS = 60 };

/* The minute in which it comes to what is reported first. */
static void tell_next(const struct telling *telling) {
    const struct cause_case *self = cause_cases_first(telling->report->cases);
    char text[QUANTITY_TEXT_SIZE];
    if (self == NULL)
        return;
    int64_t begin =
        telling->report->cases->begin != NULL ? world_tick(telling->report->cases->begin) : 0;
    int64_t from = self->since_tick - BEFORE_SECONDS * telling->scenario->ticks_per_second;
    fprintf(telling->out, "To see it happen: loopwright replay %s --from %s --for %d --show\n",
            telling->report->path, clock_of(telling, from > begin ? from : begin, text),
            SHOWN_SECONDS);
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

/* ---- what is hardly worth a word ---- */

enum { BRIEF_SECONDS = 60 };

/* A clog that ended within a minute. */
static bool is_brief(const struct telling *telling, const struct cause_case *self) {
    return self->kind == EVENT_CLOGGED && !self->open &&
           self->end_tick - self->start_tick < BRIEF_SECONDS * telling->scenario->ticks_per_second;
}

/* Beside what matters all of them together take one line. */
static void tell_brief_clogs(const struct telling *telling) {
    const struct cause_cases *cases = telling->report->cases;
    const struct cause_case *first = NULL;
    char at[QUANTITY_TEXT_SIZE], all[QUANTITY_TEXT_SIZE];
    uint32_t count = 0;
    int64_t ticks = 0;
    for (uint32_t i = 0; i < cases->count; i++) {
        const struct cause_case *self = &cases->jam_case[i];
        if (telling->reported[i] || !is_brief(telling, self))
            continue;
        telling->reported[i] = true;
        first = first != NULL ? first : self;
        ticks += self->end_tick - self->start_tick;
        count++;
    }
    if (first == NULL)
        return;
    clock_of(telling, first->start_tick, at);
    if (count == 1)
        fprintf(telling->out, "and one clog, at %s, that ended within a minute: --event %llu\n", at,
                (unsigned long long)first->row);
    else
        fprintf(telling->out,
                "and %u clogs, each of which ended within a minute, %s in all; the first at %s: "
                "--event %llu\n",
                count, clock_of(telling, ticks, all), at, (unsigned long long)first->row);
}

/* A jam, or what lasts, that has been reported and has the same first root; NULL: there is none. */
static const struct cause_case *same_cause(const struct telling *telling,
                                           const struct short_case *one) {
    const struct cause_cases *cases = telling->report->cases;
    for (uint32_t i = 0; i < cases->count && one->shortage.roots.count > 0; i++)
        if (telling->reported[i] && !is_brief(telling, &cases->jam_case[i]) &&
            cases->jam_case[i].roots.count > 0 &&
            root_is_same(&cases->jam_case[i].roots.root[0], &one->shortage.roots.root[0]))
            return &cases->jam_case[i];
    return NULL;
}

static void tell_shorts(const struct telling *telling) {
    const struct cause_report *report = telling->report;
    for (uint32_t i = 0; i < report->shorts->count; i++) {
        const struct cause_case *other = same_cause(telling, &report->shorts->short_case[i]);
        if (i >= SHORTS_LINES_MOST)
            break;
        else if (i >= SHORT_REMEDIES_SEARCHED)
            short_report_line(report->shorts, i, telling->out);
        else if (other == NULL)
            short_report_text(report->shorts, report->short_remedies, i, telling->out);
        else
            short_report_same(report->shorts, i, subject_of(telling, other), telling->out);
    }
    if (report->shorts->count > SHORTS_LINES_MOST)
        fprintf(telling->out, "and %u more products are short: --json tells all\n",
                report->shorts->count - SHORTS_LINES_MOST);
    if (report->shorts->count > SHORT_REMEDIES_SEARCHED)
        fputc('\n', telling->out);
}

/* A jam, or what lasts to the end, is reported before what is short for want of something else. */
static bool is_serious(const struct cause_cases *cases) {
    for (uint32_t i = 0; i < cases->count; i++)
        if (cases->jam_case[i].kind == EVENT_JAM || cases->jam_case[i].kind == EVENT_DEADLOCK ||
            (cases->jam_case[i].kind == EVENT_CLOGGED && cases->jam_case[i].open))
            return true;
    return false;
}

void cause_report_text(const struct cause_report *report, FILE *out) {
    const struct cause_cases *cases = report->cases;
    uint32_t starvations = 0;
    struct telling telling = {.report = report, .scenario = cases->scenario, .out = out};
    telling.reported = require_memory(cases->count, sizeof *telling.reported);
    for (uint32_t i = 0; i < cases->count; i++)
        starvations += cases->jam_case[i].kind == EVENT_STARVED;
    bool chosen = report->event != NULL || report->at != NULL;
    bool shorts_first = !chosen && !is_serious(cases);
    if (cases->count == 0 && (chosen || report->shorts->count == 0))
        tell_nothing(&telling);
    if (shorts_first)
        tell_shorts(&telling);
    tell_kinds(&telling, EVENT_JAM, EVENT_DEADLOCK);
    if (!chosen && (is_serious(cases) || report->shorts->count > 0))
        tell_brief_clogs(&telling);
    tell_kinds(&telling, EVENT_CLOGGED, EVENT_CLOGGED);
    if (starvations == cases->count)
        tell_kinds(&telling, EVENT_STARVED, EVENT_STARVED);
    else if (starvations > 0)
        tell_starvations(&telling, starvations);
    if (!shorts_first && !chosen)
        tell_shorts(&telling);
    tell_next(&telling);
    if (report->remedies->left_out > 0)
        fprintf(out, "%u more possible changes were not tried.\n", report->remedies->left_out);
    free(telling.reported);
}
