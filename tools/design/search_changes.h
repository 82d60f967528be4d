/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_changes.h - what may mend a failure. */
#pragma once

#include "tools/design/search_race.h"

/* Enters the changes of the best so far that suit what failed in its trials, those that cost no
 * part first. */
void search_changes(struct search_race *race, const struct search *search);
