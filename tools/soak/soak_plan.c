/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_plan.c - writes and reads a plan as JSON. It holds the scenarios as they were
 * read, with overrides applied, so that the result depends on nothing outside the plan. */
#include "tools/soak/soak_plan.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "sim/estimate.h"
#include "sim/require.h"
#include "sim/sealed_file.h"
#include "tools/base/json_text.h"
#include "tools/base/version.h"

static const char *const variant_key[SOAK_VARIANTS_MAX] = {"scenario", "against"};
static const char *const name_key[SOAK_VARIANTS_MAX] = {"name", "against_name"};

enum { CHECKSUM_BYTES = 17 };

/* Adds the checksum of the text without it. */
static void put_checksum(json_t *object) {
    char checksum[CHECKSUM_BYTES];
    char *text = json_text_of(json_incref(object), JSON_TEXT_DIGITS);
    snprintf(checksum, sizeof checksum, "%016" PRIx64, sealed_checksum(0, text, strlen(text)));
    free(text);
    json_text_put(object, "checksum", json_string(checksum));
}

void soak_plan_write(struct soak_plan *plan) {
    json_t *object = json_object();
    json_text_put(object, "version", json_string(LOOPWRIGHT_VERSION));
    json_text_put(object, "runs", json_integer((json_int_t)plan->run_count));
    json_text_put(object, "shards", json_integer((json_int_t)plan->shard_count));
    json_text_put(object, "keep", json_integer((json_int_t)plan->keep));
    json_text_put(object, "until_jam", json_boolean(plan->until_jam));
    json_text_put(object, "disturb", json_boolean(plan->disturb));
    require(plan->variant_count <= sizeof name_key / sizeof *name_key);
    for (uint32_t i = 0; i < plan->variant_count; i++) {
        json_text_put(object, name_key[i], json_string(plan->name[i]));
        json_text_put(object, variant_key[i], json_string(plan->scenario[i]->text));
    }
    put_checksum(object);
    plan->text = json_text_of(object, JSON_TEXT_DIGITS);
}

static bool wrong(struct faults *faults, const char *source, const char *what) {
    struct fault *fault = faults_add(faults, FAULT_ERROR, "%s", what);
    free(fault->source);
    fault->source = require_text(source);
    return false;
}

static bool read_count(const json_t *object, const char *key, int64_t least, int64_t most,
                       uint64_t *count) {
    const json_t *value = json_object_get(object, key);
    if (!json_is_integer(value) || json_integer_value(value) < least ||
        json_integer_value(value) > most)
        return false;
    *count = (uint64_t)json_integer_value(value);
    return true;
}

static bool read_flag(const json_t *object, const char *key, bool *flag) {
    const json_t *value = json_object_get(object, key);
    *flag = json_is_true(value);
    return json_is_boolean(value);
}

static bool read_fields(struct soak_plan *plan, const json_t *object) {
    return read_flag(object, "until_jam", &plan->until_jam) &&
           read_flag(object, "disturb", &plan->disturb) &&
           read_count(object, "runs", 1, ESTIMATE_TRIALS_MAX, &plan->run_count) &&
           read_count(object, "shards", 0, (int64_t)plan->run_count, &plan->shard_count) &&
           read_count(object, "keep", 0, ESTIMATE_TRIALS_MAX, &plan->keep);
}

static bool read_scenarios(struct soak_plan *plan, const json_t *object, const char *source,
                           struct faults *faults) {
    for (uint32_t i = 0; i < SOAK_VARIANTS_MAX; i++) {
        const json_t *text = json_object_get(object, variant_key[i]);
        if (text == NULL)
            break;
        const char *name = json_string_value(json_object_get(object, name_key[i]));
        if (!json_is_string(text) || name == NULL)
            return false;
        plan->name[i] = require_text(name);
        plan->scenario[i] = read_scenario(json_string_value(text), json_string_length(text), source,
                                          NULL, 0, faults);
        if (plan->scenario[i] == NULL)
            return false;
        plan->variant_count++;
    }
    return plan->variant_count > 0;
}

/* True when the plan, written again, is this text: then nothing in it was changed or added. */
static bool is_as_written(struct soak_plan *plan, const char *text, size_t length) {
    soak_plan_write(plan);
    return strlen(plan->text) == length && memcmp(plan->text, text, length) == 0;
}

static bool read_object(struct soak_plan *plan, const json_t *object, const char *text,
                        size_t length, const char *source, struct faults *faults) {
    const char *version = json_string_value(json_object_get(object, "version"));
    if (version == NULL)
        return wrong(faults, source, "is not the plan of a soak");
    if (strcmp(version, LOOPWRIGHT_VERSION) != 0)
        return wrong(faults, source, "is a plan of another version of the program");
    struct faults ignored = {0}; /* the warnings were reported when the plan was made */
    bool read = read_fields(plan, object) && read_scenarios(plan, object, source, &ignored) &&
                is_as_written(plan, text, length);
    faults_free(&ignored);
    return read || wrong(faults, source, "is damaged: it is not as the program wrote it");
}

bool soak_plan_read(struct soak_plan *plan, const char *text, size_t length, const char *source,
                    struct faults *faults) {
    *plan = (struct soak_plan){0};
    json_t *object = json_loadb(text, length, JSON_REJECT_DUPLICATES, NULL);
    bool read = read_object(plan, object, text, length, source, faults);
    json_decref(object);
    if (!read)
        soak_plan_free(plan);
    return read;
}

void soak_plan_free(struct soak_plan *plan) {
    for (uint32_t i = 0; i < SOAK_VARIANTS_MAX; i++) {
        scenario_free(plan->scenario[i]);
        free(plan->name[i]);
    }
    free(plan->text);
    *plan = (struct soak_plan){0};
}

uint64_t soak_plan_seed(const struct soak_plan *plan, uint64_t run) {
    return (plan->scenario[0]->seed + run) & (uint64_t)LIMIT_SEED;
}

bool soak_plan_has_chance(const struct soak_plan *plan, uint32_t variant) {
    return plan->disturb || scenario_has_chance(plan->scenario[variant]);
}

uint64_t soak_plan_units(const struct soak_plan *plan) {
    return plan->run_count * plan->variant_count;
}

bool soak_plan_has(const struct soak_plan *plan, uint64_t shard, uint64_t run) {
    return shard == SOAK_NO_SHARD || run % plan->shard_count == shard;
}
