/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/patch.h - puts numbers into the text of a draft, whose comments stay. */
#pragma once

#include "model/reader/draft.h"
#include "tools/design/variables.h"

/* A draft, and what the command line changed in it: PATH=VALUE, as --set takes it. */
struct patch_source {
    const struct draft *draft;
    const char *const *set;
    uint32_t set_count;
};

/* The text of the draft without `may`, with what was found in place of each `find` (list NULL:
 * there are none), and with the changes of the command line and of other numbers made where they
 * belong; written anew, without comments, where a part is written in a way that cannot be changed
 * in place (tools/cause/mended_text.h). Freed by the caller. */
char *patch_text(const struct patch_source *source, const struct variables *list);

/* The same with changes PATH=VALUE; `anew` is the result written anew. */
char *patch_changes(const struct patch_source *source, const char *anew, char *const *change,
                    uint32_t count);
