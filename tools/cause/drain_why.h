/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/drain_why.h - why an item is still where it is, in words, from who waits for whom. */
#pragma once

#include <stdint.h>

#include "model/cause/waits.h"

/* Why items of a kind do not leave a lane or line. To be freed. */
char *drain_why_on_track(const struct waits *waits, const struct world *world, struct place track,
                         uint32_t item);
/* Why an arm still holds an item. To be freed. */
char *drain_why_in_hand(const struct waits *waits, const struct world *world, uint32_t arm);
