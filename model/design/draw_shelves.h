/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_shelves.h - where what is made lies, and where its stations stop. Private to
 * this room. */
#pragma once

#include "model/design/drawing.h"

/* Draws the shelves of all that is made and not handed on; `store` is the chest of the bins, if
 * these are shelves as well; NO_INDEX: they are not. */
void draw_shelves(struct drawing *drawing, uint32_t store);
