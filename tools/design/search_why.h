/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_why.h - what stands in the way, when no design was found. */
#pragma once

#include "tools/design/search.h"

/* Writes search.why, by what failed of the best so far. */
void search_why(struct search *search);
/* Whether the disturbed nights fail, and nothing else, because orders of several at once come by
 * chance: no design helps then. */
bool search_why_only_batches(const struct search *search);
