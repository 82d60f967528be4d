/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_overflow.h - how what nobody wants goes out. Private to this room. */
#pragma once

#include "model/design/drawing.h"

enum { OUTLET_SECONDS = 10 }; /* between takings of an outlet */

/* An outlet for what comes of an item to its shelf, `rate` items a second at most. */
void draw_outlet(struct drawing *drawing, uint32_t item, double rate);
/* A surplus of what is also wanted goes on from its shelf, where `from` of it lie there, to a chest
 * of its own, of those for surpluses after `*last`, and from there out. `why` is added to the
 * reason. */
void draw_overflow(struct drawing *drawing, uint32_t item, int64_t from, const char *why,
                   uint32_t *last);
