/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_plan.h - what a soak is to run: one scenario, or two against each other, with
 * many seeds. The plan as text holds all of it, so that two soaks with the same text are the same.
 * Its last key is a checksum of what the text would be without it. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "model/scenario/scenario.h"
#include "sim/fault.h"

enum { SOAK_VARIANTS_MAX = 2 };

struct soak_plan {
    /* owned; the second one NULL when there is none */
    struct scenario *scenario[SOAK_VARIANTS_MAX];
    char *name[SOAK_VARIANTS_MAX]; /* owned; how each is called, as on the command line */
    uint32_t variant_count;
    uint64_t run_count; /* runs of each variant */
    uint64_t keep;      /* jammed runs of the first variant of which capsules are kept */
    bool until_jam, disturb;
    uint64_t shard_count; /* 0: the plan is not cut */
    char *text;           /* JSON, made by soak_plan_write */
};

/* Writes the text of a plan whose other fields are set. */
void soak_plan_write(struct soak_plan *plan);
/* Reads a plan from its text, which must be to the byte what soak_plan_write makes. False: a fault
 * was added, whose source is `source`. */
bool soak_plan_read(struct soak_plan *plan, const char *text, size_t length, const char *source,
                    struct faults *faults);
void soak_plan_free(struct soak_plan *plan);

/* The seed of a run: that of the scenario for run 0, then upward, within 0 .. 2^53 - 1. It depends
 * on the number of the run alone, so that however many runs there are, run k is the same. */
uint64_t soak_plan_seed(const struct soak_plan *plan, uint64_t run);

/* Whether the runs of a variant differ by anything but their seeds. */
bool soak_plan_has_chance(const struct soak_plan *plan, uint32_t variant);

/* A unit is a run of one variant. They are numbered run by run, variants side by side. */
uint64_t soak_plan_units(const struct soak_plan *plan);

/* True when the units of a run belong to this shard; NO_SHARD: all do. */
#define SOAK_NO_SHARD UINT64_MAX
bool soak_plan_has(const struct soak_plan *plan, uint64_t shard, uint64_t run);
