/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/design_sheet.h - what a design is made of, how busy its parts are, and how its
 * trials went, for people and as data. */
#pragma once

#include <stdio.h>

#include "model/scenario/scenario.h"
#include "sim/fault.h"
#include "tools/design/tolerance.h"
#include "tools/design/trials.h"

struct design_sheet {
    bool found;
    uint32_t tries;
    const struct scenario *scenario; /* NULL: there is not even a nearest one */
    const struct may *may;
    const struct trials *trials;        /* of the scenario */
    const struct tolerances *tolerance; /* NULL: not asked for */
    char **changed;                     /* PATH=VALUE, of a scenario that was changed */
    uint32_t changed_count;
    const char *why; /* what stands in the way, when nothing was found */
};

void design_sheet_print(const struct design_sheet *sheet, FILE *out);
/* As JSON; freed by the caller. */
char *design_sheet_json(const struct design_sheet *sheet);
/* What its trials showed, lines for the head of the scenario; freed by the caller. */
char *design_sheet_evidence(const struct design_sheet *sheet);
