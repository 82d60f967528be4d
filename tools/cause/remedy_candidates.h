/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_candidates.h - changes that may help against a root of a jam or starvation. */
#pragma once

#include "model/cause/roots.h"
#include "tools/cause/cause_case.h"
#include "tools/cause/remedy_search.h"

/* Thinks of changes against root number `root` of a case, the likely ones first, and gives each to
 * `add`. */
void remedy_candidates_find(const struct cause_case *self, uint32_t root, remedy_sink *add,
                            void *sink);
