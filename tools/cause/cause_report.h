/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/cause_report.h - prints what was found about the cases of a run: as text, as JSON,
 * and as a graph for Graphviz. */
#pragma once

#include <stdio.h>

#include "tools/cause/case_remedies.h"
#include "tools/cause/cause_case.h"
#include "tools/cause/short_case.h"
#include "tools/cause/short_remedies.h"

struct cause_report {
    const char *path;          /* as the user named it */
    const char *scenario_path; /* of the scenario that was run again */
    const char *event, *at;    /* the row or time asked for, as on the command line; NULL */
    const struct cause_cases *cases;
    const struct case_remedies *remedies;
    const struct short_cases *shorts; /* products that are short */
    const struct short_remedies *short_remedies;
};

/* Sentences to read. */
void cause_report_text(const struct cause_report *report, FILE *out);
/* The text of one JSON object, LF at its end; freed with free(). */
char *cause_report_json(const struct cause_report *report);
/* The wait-for graph of one case for Graphviz; the circular wait in colour and bold. */
char *cause_report_dot(const struct cause_case *self);
