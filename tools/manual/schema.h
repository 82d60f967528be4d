/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/schema.h - a JSON Schema of scenarios, made of the catalogue of keys. */
#pragma once

#include <jansson.h>

/* The schema by draft-07 (A. Wright, H. Andrews, "JSON Schema Validation: A Vocabulary for
 * Structural Validation of JSON", draft-handrews-json-schema-validation-01, 2018). It accepts
 * whatever the reader accepts; names that must be there, and keys that exclude each other, are the
 * reader's alone. Freed by the caller. */
json_t *schema_make(void);
