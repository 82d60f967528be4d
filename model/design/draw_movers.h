/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_movers.h - arms that work without a belt. Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* Arms that hand an item from the stations of one recipe to the only station of another. */
void draw_direct_movers(struct drawing *drawing, uint32_t item);
/* Arms that bring what stations make for shelves to their chests. */
void draw_shelvers(struct drawing *drawing);
