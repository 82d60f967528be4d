/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/random.h - one stream of random numbers for each random element, and what is drawn from it.
 *
 * A stream is 24 bytes of plain data: it saves, compares and copies like any number. Its generator
 * is GSL's taus2 (P. L'Ecuyer, "Maximally equidistributed combined Tausworthe generators",
 * Mathematics of Computation 65 (1996) 203-213, with the seeding of 1999). Its start depends on the
 * run's seed and the element's name alone, so that adding an element leaves the draws of the others
 * alone.
 *
 * Distributions are computed from integers and + - * / sqrt alone: the mathematics library of the
 * machine is not asked, because the last bit of its log and exp differs from processor to
 * processor. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

struct random_stream {
    unsigned long word[3]; /* the generator's state, each within 32 bits */
};

/* Starts the stream of element `owner` (a name of the scenario) for purpose `purpose` ("swing",
 * "time", ...) in the run with seed `seed`. Different triples give unrelated streams. */
void random_start(struct random_stream *chance, uint64_t seed, const char *owner,
                  const char *purpose);

/* The next number of the stream: a multiple of 2^-32, 0 <= u < 1. */
double random_uniform(struct random_stream *chance);

/* One of 0 .. count-1, each equally likely (by rejection, so exactly); count >= 1. */
uint32_t random_below(struct random_stream *chance, uint32_t count);

/* True with probability `probability` (0 .. 1); always takes one number. */
bool random_hits(struct random_stream *chance, double probability);

/* How long something takes: always the same, or drawn anew each time. */
enum span_kind {
    SPAN_FIXED,       /* `ticks` */
    SPAN_EXPONENTIAL, /* a: mean */
    SPAN_UNIFORM,     /* a: low, b: high */
    SPAN_NORMAL,      /* a: mean, b: standard deviation; below 0 counts as 0 */
    SPAN_LOGNORMAL,   /* a: mean, b: coefficient of variation (of the variable itself) */
    SPAN_GAMMA,       /* a: mean, b: coefficient of variation */
    SPAN_WEIBULL,     /* a: scale, b: shape */
    SPAN_TRIANGULAR,  /* a: low, b: mode, c: high */
    SPAN_GEOMETRIC    /* a: probability; in ticks, from 1 */
};

struct span {
    enum span_kind kind;
    int32_t least_ticks; /* 0, or 1 where a length of 0 is not allowed */
    int64_t ticks;       /* SPAN_FIXED: the length in ticks, already rounded */
    double a, b, c;      /* parameters, times in seconds */
    int64_t mean_ticks;  /* the mean of the distribution as written, rounded to ticks */
};

/* The longest span that a draw can give, in ticks; longer draws are cut to it. */
#define SPAN_TICKS_MAX (INT64_C(1) << 53)

/* The length in ticks: `ticks` when fixed (no number is taken), else drawn in seconds and rounded
 * as every duration is, floor(d * ticks_per_second + 1/2), a positive one never less than 1 tick, a
 * negative one 0, none less than `least_ticks` nor more than SPAN_TICKS_MAX. */
int64_t span_draw(const struct span *span, struct random_stream *chance, int64_t ticks_per_second);

/* True when span_draw takes numbers from the stream. */
bool span_is_random(const struct span *span);
