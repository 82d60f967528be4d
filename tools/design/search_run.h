/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_run.h - from a brief to a design that comes through its trials: the plan by
 * the rules first; where it fails, what may mend that is raced. */
#pragma once

#include "tools/design/search.h"

/* Looks for a design. The result depends on the draft and on wish->may alone. Freed with
 * search_free. */
void search_run(struct search *search, struct draft *draft, const struct trials_wish *wish,
                bool show_progress);
