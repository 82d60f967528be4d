/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/engine/build.h - makes the parts of a world from its scenario: plans, initial state, lists.
 */
#pragma once

struct world;

/* Fills a zeroed world whose `scenario` is set, before tick 0; all memory that it will ever
 * need. */
void build_world(struct world *world);

/* Gives that memory back. */
void build_free(struct world *world);
