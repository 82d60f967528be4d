/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_words.c - one line for what is changed, one for what came of it. */
#include "tools/cause/remedy_words.h"

#include <math.h>
#include <string.h>

#include "model/scenario/quantity.h"

enum { RATES_MOST = 3, GROWTHS_MOST = 2 };
/* A proof that met so much more or less of the demand than the run is given beside it. */
static const double MET_MOVES = 0.05;

static bool needs_quotes(const char *text) {
    return strpbrk(text, " {}[]*?$&;|<>()`\"\\!#~") != NULL;
}

void remedy_words_change(const struct trial *trial, FILE *out) {
    fputs("  ", out);
    for (uint32_t i = 0; i < trial->set_count; i++) {
        const char *quote = needs_quotes(trial->set[i]) ? "'" : "";
        fprintf(out, "%s--set %s%s%s", i > 0 ? " " : "", quote, trial->set[i], quote);
    }
    fputc('\n', out);
}

/* "12 h", "45 min", "0:30:05". */
static const char *length_of(const struct scenario *scenario, int64_t ticks,
                             char text[QUANTITY_TEXT_SIZE]) {
    int64_t minute = 60 * scenario->ticks_per_second;
    if (ticks % (60 * minute) == 0)
        snprintf(text, QUANTITY_TEXT_SIZE, "%lld h", (long long)(ticks / (60 * minute)));
    else if (ticks % minute == 0)
        snprintf(text, QUANTITY_TEXT_SIZE, "%lld min", (long long)(ticks / minute));
    else
        quantity_clock(ticks, scenario->ticks_per_second, text);
    return text;
}

/* All of it only where nothing is lacking. */
static int percent_met(double share) { return share < 1 ? (int)floor(100 * share) : 100; }

void remedy_words_rates(const struct trial_book *book, const struct trial *trial, FILE *out) {
    uint32_t shown = 0;
    for (uint32_t i = 0; i < book->scenario->item_count && shown < RATES_MOST; i++) {
        double rate = book->product[i] ? trial_per_minute(book, trial, i) : NAN;
        if (!isnan(rate))
            fprintf(out, "%s %.1f %s", shown++ > 0 ? "," : ";", rate, book->scenario->item[i].name);
    }
    fputs(shown > 0 ? " a minute" : "", out);
    double in_run = trial_met_in_run(book, trial);
    if (isnan(in_run))
        return;
    fprintf(out, ", %d %% of what is asked for", percent_met(in_run));
    if (fabs(trial->met - in_run) > MET_MOVES)
        fprintf(out, "; in %s %d %%",
                length_of(book->scenario, trial->proved_ticks, (char[QUANTITY_TEXT_SIZE]){0}),
                percent_met(trial->met));
}

/* Through what it came: "in 12 h", "in 8 nights of 12 h". */
void remedy_words_proof(const struct trial_book *book, const struct trial *trial, FILE *out) {
    char text[QUANTITY_TEXT_SIZE];
    length_of(book->scenario, trial->proved_ticks, text);
    if (trial->seeds == 1)
        fprintf(out, " in %s", text);
    else
        fprintf(out, " in %u %s of %s", trial->seeds,
                trial->proved_ticks == 12 * 3600 * book->scenario->ticks_per_second ? "nights"
                                                                                    : "runs",
                text);
    if (trial->proved_ticks < book->prove_ticks)
        fputs(" (no further: too much happens)", out);
}

void remedy_words_growth(const struct trial_book *book, const struct trial *trial, FILE *out) {
    for (uint32_t i = 0; i < trial->growth_count && i < GROWTHS_MOST; i++)
        fprintf(out, "      %s goes on filling with %s, %.3g a minute\n", trial->growth[i].name,
                book->scenario->item[trial->growth[i].item].name, trial->growth[i].per_minute);
    if (trial->ran_out && trial->failed_tick == NOT_GIVEN)
        fputs("      what lies there at the start runs out by then: proved as well with enough of "
              "it\n",
              out);
}
