/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/annotate.h - puts what the trials showed of numbers into the text of a scenario, as
 * comments above the parts that have them; all else in the text stays. */
#pragma once

#include <stdint.h>

#include "model/budget/budget.h"
#include "model/reader/draft.h"
#include "tools/design/tolerance.h"

struct annotation {
    const struct draft *draft; /* as it was before the changes, with what it left open */
    char *const *changed;      /* PATH=VALUE */
    uint32_t changed_count;
    const char *why;             /* why a value is what it is: "the least with which it survives" */
    const struct budget *budget; /* of the text */
    const struct tolerances *tolerance; /* NULL: not known */
};

/* The text with a comment above each part of which something was changed or is known, in place of
 * one that was put there before; of numbers that were open it says what is needed there, too. It
 * reads as the same scenario. Freed by the caller. */
char *annotate_text(const char *text, const struct annotation *annotation);
