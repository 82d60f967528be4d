/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_chests.h - which chest an item is put into: one of the scenario, or a new one.
 * Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* Puts an item into a chest: that of the scenario that is for it, else the last one of a kind
 * (`*last`; NO_INDEX: none), one of the scenario that is free, or a new one of a name. Its limit is
 * cut to what that can hold. Returns the chest. */
uint32_t draw_chests_put(struct drawing *drawing, uint32_t *last, const char *name,
                         struct plan_stock stock);
/* The chest of the plan that is a chest of the scenario; draws it, if it was not drawn yet. */
uint32_t draw_chests_use_given(struct drawing *drawing, uint32_t given);
