/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_carriers.h - what goes round and is made of nothing else.
 * Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* Puts as many carriers as are under way at once onto a shelf, after `*last`; what is dropped
 * beyond these goes out. */
void draw_carriers(struct drawing *drawing, uint32_t item, uint32_t *last, uint32_t *surplus);
