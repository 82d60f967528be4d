/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/short_report.h - why demand is not met, as text and as data. */
#pragma once

#include <jansson.h>
#include <stdio.h>

#include "tools/cause/short_case.h"
#include "tools/cause/short_remedies.h"

/* The entry of a product that is short, as an object. */
json_t *short_report_json(const struct short_cases *cases, const struct short_remedies *remedies,
                          uint32_t index);
/* Sentences to read: what is short, why, the way to what limits, what would help. */
void short_report_text(const struct short_cases *cases, const struct short_remedies *remedies,
                       uint32_t index, FILE *out);
/* Two lines: what is short, and the first root. */
void short_report_line(const struct short_cases *cases, uint32_t index, FILE *out);
/* The same where the reason has been given already: of a lane or station with the same cause. */
void short_report_same(const struct short_cases *cases, uint32_t index, const char *other,
                       FILE *out);
