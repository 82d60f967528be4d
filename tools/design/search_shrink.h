/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/search_shrink.h - without what is not needed after all. */
#pragma once

#include "tools/design/search.h"

/* Takes back what was added, one by one, as long as all trials hold. */
void search_shrink(struct search *search);
/* Then tries fewer cells, with an arm on each side, and fewer chests, with bins and shelves in
 * one. */
void search_shrink_room(struct search *search);
