/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/patch.h - puts numbers into the text of a draft, whose comments stay. */
#pragma once

#include "model/reader/draft.h"
#include "tools/design/variables.h"

/* The text of the draft without `may`, with what was found in place of each `find` (list NULL:
 * there are none) and other numbers that differ set; written anew, without comments, where the
 * command line or a number that is not open changed it. Freed by the caller. */
char *patch_text(const struct draft *draft, const struct variables *list);
