/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_span.c - reads durations, the distributions that may stand in their place,
 * and breakdowns. */
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* ---- durations ---- */
static void tell_no_duration(struct reading *reading, const struct node *node, const char *key,
                             const char *wanted) {
    struct fault *fault = reading_error(reading, node, "`%s` wants %s, not %s", key, wanted,
                                        reading_found(node).text);
    fault_note(fault, "a duration is a number of seconds, a number with ms, s, min, h or d, or a "
                      "clock time H:MM:SS");
    if (node->kind == NODE_SCALAR)
        reading_comma_help(fault, node->text);
}

static void tell_too_long(struct reading *reading, const struct node *node, const char *key) {
    fault_note(reading_error(reading, node, "`%s` is too long", key),
               "at most 2^53 ticks, at %lld ticks a second",
               (long long)reading->scenario->ticks_per_second);
}

/* Reads a duration of which `wanted` is the name. */
static bool read_duration_of(struct reading *reading, const struct node *node, const char *key,
                             const char *wanted, struct duration *duration, int64_t *ticks) {
    if (reading_told(node))
        return false;
    enum quantity_fit fit = QUANTITY_NO_NUMBER;
    if (node->kind == NODE_SCALAR)
        fit = quantity_duration(node->text, duration);
    *ticks = NOT_GIVEN;
    if (fit == QUANTITY_FITS && !duration->number.negative)
        *ticks = quantity_ticks(duration, reading->scenario->ticks_per_second);
    if (fit == QUANTITY_NO_NUMBER)
        tell_no_duration(reading, node, key, wanted);
    else if (fit == QUANTITY_FITS && duration->number.negative)
        reading_error(reading, node, "`%s` is less than 0", key);
    else if (*ticks == NOT_GIVEN)
        tell_too_long(reading, node, key);
    else if (duration->number.places > LIMIT_PLACES)
        fault_note(reading_warning(reading, node, "`%s` has more than %d digits after the point",
                                   key, LIMIT_PLACES),
                   "it is rounded to whole ticks, exactly as written");
    return *ticks != NOT_GIVEN;
}

bool read_span_duration(struct reading *reading, const struct node *node, const char *key,
                        struct duration *duration, int64_t *ticks) {
    return read_duration_of(reading, node, key, "a duration", duration, ticks);
}

bool read_span_ticks(struct reading *reading, const struct node *node, const char *key,
                     int64_t *ticks) {
    struct duration duration;
    int64_t found;
    if (!read_span_duration(reading, node, key, &duration, &found))
        return false;
    *ticks = found;
    return true;
}

/* ---- distributions ---- */
enum parameter { PARAMETER_NONE, PARAMETER_TIME, PARAMETER_VARIATION, PARAMETER_SHAPE };

static const struct span_form {
    const char *key;
    enum span_kind kind;
    enum parameter parameter[3];
    uint32_t parameter_count; /* 1: written without a list */
    uint32_t mean_of;         /* how many times in front have the mean of all; 0: another rule */
} form_table[] = {
    {"exponential", SPAN_EXPONENTIAL, {PARAMETER_TIME}, 1, 1},
    {"uniform", SPAN_UNIFORM, {PARAMETER_TIME, PARAMETER_TIME}, 2, 2},
    {"normal", SPAN_NORMAL, {PARAMETER_TIME, PARAMETER_TIME}, 2, 1},
    {"lognormal", SPAN_LOGNORMAL, {PARAMETER_TIME, PARAMETER_VARIATION}, 2, 1},
    {"gamma", SPAN_GAMMA, {PARAMETER_TIME, PARAMETER_VARIATION}, 2, 1},
    {"weibull", SPAN_WEIBULL, {PARAMETER_TIME, PARAMETER_SHAPE}, 2, 0},
    {"triangular", SPAN_TRIANGULAR, {PARAMETER_TIME, PARAMETER_TIME, PARAMETER_TIME}, 3, 3},
};
enum { FORMS = sizeof form_table / sizeof *form_table };

/* A distribution being read: its parameters as written. */
struct written_span {
    const struct node *node; /* of all parameters */
    const struct span_form *form;
    struct duration time[3]; /* those that are times, at their positions */
    double value[3];
};

/* The gamma function at 1 + x, x >= 0, from + - * / alone so that it is the same on every machine:
 * 1 / gamma(z) = sum of c[k] z^k for 0 < z <= 1 (M. Abramowitz and I. A. Stegun, Handbook of
 * Mathematical Functions, 1964, 6.1.34), and gamma(z + 1) = z gamma(z). */
static double gamma_of_one_plus(double x) {
    static const double c[] = {1.0,
                               0.5772156649015329,
                               -0.6558780715202538,
                               -0.0420026350340952,
                               0.1665386113822915,
                               -0.0421977345555443,
                               -0.0096219715278770,
                               0.0072189432466630,
                               -0.0011651675918591,
                               -0.0002152416741149,
                               0.0001280502823882,
                               -0.0000201348547807,
                               -0.0000012504934821,
                               0.0000011330272320,
                               -0.0000002056338417,
                               0.0000000061160950,
                               0.0000000050020075,
                               -0.0000000011812746,
                               0.0000000001043427,
                               0.0000000000077823,
                               -0.0000000000036968,
                               0.0000000000005100,
                               -0.0000000000000206,
                               -0.0000000000000054,
                               0.0000000000000014,
                               0.0000000000000001};
    double factor = 1;
    for (; x > 1; x -= 1)
        factor *= x;
    double sum = 0;
    for (int k = (int)(sizeof c / sizeof *c) - 1; k >= 0; k--)
        sum = sum * x + c[k];
    return factor / sum; /* c begins with the coefficient of z, so that z gamma(z) = 1 / sum */
}

static bool read_variation(struct reading *reading, const struct node *node, const char *key,
                           double *value) {
    struct decimal decimal;
    if (!read_value_decimal(reading, node, key, &decimal))
        return false;
    *value = quantity_double(&decimal);
    if (*value > 0 && *value <= LIMIT_VARIATION)
        return true;
    fault_note(reading_error(reading, node, "a coefficient of variation is out of range: %s",
                             yaml_tree_shown(node->text).text),
               "allowed: more than 0, at most %d", LIMIT_VARIATION);
    return false;
}

static bool read_shape(struct reading *reading, const struct node *node, const char *key,
                       double *value) {
    struct decimal decimal;
    if (!read_value_decimal(reading, node, key, &decimal))
        return false;
    *value = quantity_double(&decimal);
    if (20 * *value >= 1 && *value <= LIMIT_SHAPE)
        return true;
    fault_note(reading_error(reading, node, "a shape is out of range: %s",
                             yaml_tree_shown(node->text).text),
               "allowed: 0.05 to %d", LIMIT_SHAPE);
    return false;
}

static bool read_parameter(struct reading *reading, struct written_span *written, uint32_t index,
                           const struct node *node) {
    const char *key = written->form->key;
    int64_t ticks;
    switch (written->form->parameter[index]) {
    case PARAMETER_TIME:
        if (!read_span_duration(reading, node, key, &written->time[index], &ticks))
            return false;
        written->value[index] = quantity_duration_double(&written->time[index]);
        return true;
    case PARAMETER_VARIATION: return read_variation(reading, node, key, &written->value[index]);
    case PARAMETER_SHAPE: return read_shape(reading, node, key, &written->value[index]);
    case PARAMETER_NONE: break;
    }
    require(false);
    return false;
}

/* "[LOW, HIGH]" */
static const char *form_wants(const struct span_form *form, char text[CATALOGUE_WANTS_SIZE]) {
    return catalogue_wants(catalogue_key(catalogue_map(CATALOGUE_SPAN), form->key), text);
}

static bool read_parameters(struct reading *reading, struct written_span *written) {
    char wants[CATALOGUE_WANTS_SIZE];
    const struct node *node = written->node;
    if (reading_told(node))
        return false;
    uint32_t count = written->form->parameter_count;
    if (count == 1)
        return read_parameter(reading, written, 0, node);
    if (node->kind != NODE_LIST || node->count != count) {
        reading_error(reading, node, "`%s` wants %s", written->form->key,
                      form_wants(written->form, wants));
        return false;
    }
    bool good = true;
    for (uint32_t i = 0; i < count; i++)
        good &= read_parameter(reading, written, i, node->child[i]);
    return good;
}

/* LOW, MODE and HIGH in order; of a triangle not all the same. */
static bool check_order(struct reading *reading, const struct written_span *written) {
    char wants[CATALOGUE_WANTS_SIZE];
    enum span_kind kind = written->form->kind;
    if (kind != SPAN_UNIFORM && kind != SPAN_TRIANGULAR)
        return true;
    uint32_t last = written->form->parameter_count - 1;
    bool ordered = true;
    for (uint32_t i = 0; i < last; i++)
        ordered &= quantity_compare_durations(&written->time[i], &written->time[i + 1]) <= 0;
    if (!ordered)
        reading_error(reading, written->node, "`%s` wants %s in rising order", written->form->key,
                      form_wants(written->form, wants));
    else if (kind == SPAN_TRIANGULAR &&
             quantity_compare_durations(&written->time[0], &written->time[last]) == 0)
        reading_error(reading, written->node, "`%s` has no width", written->form->key);
    else
        return true;
    return false;
}

/* Mean, scale or greatest value above 0, where the sampler divides by it or could draw nothing. */
static bool check_size(struct reading *reading, const struct written_span *written,
                       enum span_least least) {
    enum span_kind kind = written->form->kind;
    uint32_t size = kind == SPAN_UNIFORM ? 1 : 0;
    bool may_be_zero = kind == SPAN_TRIANGULAR ||
                       (least == SPAN_MAY_BE_ZERO && (kind == SPAN_UNIFORM || kind == SPAN_NORMAL));
    if (may_be_zero || !quantity_is_zero(&written->time[size]))
        return true;
    reading_error(reading, written->node, "`%s` wants a time of more than 0", written->form->key);
    return false;
}

static int64_t written_mean_ticks(const struct written_span *written, int64_t ticks_per_second) {
    if (written->form->mean_of > 0)
        return quantity_mean_ticks(written->time, written->form->mean_of, ticks_per_second);
    double ticks =
        written->value[0] * gamma_of_one_plus(1 / written->value[1]) * (double)ticks_per_second;
    if (ticks > (double)LIMIT_TICKS)
        return NOT_GIVEN;
    int64_t rounded = (int64_t)(ticks + 0.5);
    return rounded > 0 ? rounded : 1;
}

static bool read_written_span(struct reading *reading, const struct span_form *form,
                              const struct node *node, const char *key, enum span_least least,
                              struct span *span) {
    struct written_span written = {.node = node, .form = form};
    if (!read_parameters(reading, &written) || !check_order(reading, &written) ||
        !check_size(reading, &written, least))
        return false;
    *span = (struct span){.kind = form->kind,
                          .a = written.value[0],
                          .b = written.value[1],
                          .c = written.value[2],
                          .least_ticks = least == SPAN_POSITIVE};
    span->mean_ticks = written_mean_ticks(&written, reading->scenario->ticks_per_second);
    if (span->mean_ticks == NOT_GIVEN)
        tell_too_long(reading, node, key);
    return span->mean_ticks != NOT_GIVEN;
}

/* A number of ticks from 1, each further one with probability 1 - P. */
static bool read_geometric(struct reading *reading, const struct node *node, enum span_least least,
                           struct span *span) {
    struct ratio chance;
    if (!read_value_ratio(reading, node, "geometric", 0, true, 1, &chance))
        return false;
    struct decimal decimal;
    quantity_decimal(node->text, &decimal);
    *span = (struct span){.kind = SPAN_GEOMETRIC,
                          .a = quantity_double(&decimal),
                          .least_ticks = least == SPAN_POSITIVE};
    span->mean_ticks = (2 * chance.denominator + chance.numerator) / (2 * chance.numerator);
    return true;
}

static bool read_distribution(struct reading *reading, struct node *node, const char *key,
                              enum span_least least, struct span *span) {
    struct fields fields;
    if (!reading_open(reading, node, CATALOGUE_SPAN, &fields))
        return false;
    if (node->count != 1) {
        reading_error(reading, node, "a distribution is one key, as {exponential: 6 s}");
        return false;
    }
    const struct node *geometric = reading_get(&fields, "geometric");
    if (geometric != NULL)
        return read_geometric(reading, geometric, least, span);
    for (uint32_t i = 0; i < FORMS; i++) {
        const struct node *parameters = reading_get(&fields, form_table[i].key);
        if (parameters != NULL)
            return read_written_span(reading, &form_table[i], parameters, key, least, span);
    }
    return false; /* an unknown key, reported */
}

/* Reads a span; *fixed is the duration when it is always the same, and its unit 0 else. */
static bool read_any_span(struct reading *reading, const struct node *node, const char *key,
                          enum span_least least, struct span *span, struct duration *fixed) {
    int64_t ticks;
    fixed->unit_ms = 0;
    if (reading_told(node))
        return false;
    if (node->kind == NODE_MAP)
        return read_distribution(reading, (struct node *)node, key, least, span);
    if (!read_duration_of(reading, node, key, "a duration or a distribution", fixed, &ticks))
        return false;
    if (ticks == 0 && least == SPAN_POSITIVE) {
        reading_error(reading, node, "`%s` must be more than 0", key);
        return false;
    }
    *span = (struct span){.kind = SPAN_FIXED,
                          .ticks = ticks,
                          .mean_ticks = ticks,
                          .least_ticks = least == SPAN_POSITIVE};
    return true;
}

bool read_span(struct reading *reading, const struct node *node, const char *key,
               enum span_least least, struct span *span) {
    struct duration fixed;
    return read_any_span(reading, node, key, least, span, &fixed);
}

enum { ROUNDING_PART = 200 }; /* 0.5 % */

bool read_span_interval(struct reading *reading, const struct node *node, struct span *span) {
    struct duration fixed;
    int64_t ticks_per_second = reading->scenario->ticks_per_second;
    if (!read_any_span(reading, node, "every", SPAN_POSITIVE, span, &fixed))
        return false;
    if (fixed.unit_ms == 0 || !quantity_rounds_by_more(&fixed, ticks_per_second, ROUNDING_PART))
        return true;
    char rounded[QUANTITY_TEXT_SIZE];
    struct fault *fault =
        reading_warning(reading, node, "rounding to ticks makes `every` %s s, more than 0.5 %% off",
                        quantity_seconds(span->ticks, ticks_per_second, rounded));
    fault_help(fault, "raise `ticks_per_second`, now %lld", (long long)ticks_per_second);
    return true;
}

const struct breaks *read_span_breaks(struct reading *reading, struct node *node) {
    struct fields fields;
    if (!reading_open(reading, node, CATALOGUE_BREAKS, &fields))
        return &scenario_never_breaks;
    struct breaks *breaks = require_memory(1, sizeof *breaks);
    breaks->present = true;
    read_key_span(reading, &fields, "after", &breaks->after);
    read_key_span(reading, &fields, "repair", &breaks->repair);
    return breaks;
}
