/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/arm_plain.h - the acts of plain arms: those that take one item a swing, which always
 * takes as long, and neither take from a line nor put onto one. Where an act is not one of a whole
 * swing it goes on as that of any arm (arm_general.h), and so do all while an arm is stopped or
 * observed. */
#pragma once

#include <stdbool.h>

#include "model/engine/parts.h"

/* Whether an arm is plain. */
bool arm_plain_is(const struct world *world, const struct arm_record *self);

/* The act of one that is reaching or returning; that of one that is carrying. */
void arm_plain_pick_stock_to_stock(struct world *world, struct arm_record *self);
void arm_plain_pick_stock_to_lane(struct world *world, struct arm_record *self);
void arm_plain_pick_lane_to_stock(struct world *world, struct arm_record *self);
void arm_plain_pick_lane_to_lane(struct world *world, struct arm_record *self);
void arm_plain_place_stock_to_stock(struct world *world, struct arm_record *self);
void arm_plain_place_stock_to_lane(struct world *world, struct arm_record *self);
void arm_plain_place_lane_to_stock(struct world *world, struct arm_record *self);
void arm_plain_place_lane_to_lane(struct world *world, struct arm_record *self);

/* That of one that is placing onto a lane, which had no cell for it so far. */
void arm_plain_place_late_from_stock(struct world *world, struct arm_record *self);
void arm_plain_place_late_from_lane(struct world *world, struct arm_record *self);
