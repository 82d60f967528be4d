/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/item_roles.h - which items go round, are handed on, or lie on a shelf first. Private
 * to this room. */
#pragma once

#include "model/design/lanes.h"

/* Marks carriers: items that are used and cannot be had unless some are there already. Of each
 * round the first in the scenario's order. */
void item_roles_mark_carriers(struct lanes *lanes);
/* Then marks what goes from the stations of one recipe to the only station of another by arms
 * alone, as it is made by one, used by one, and wanted by nobody else; and what goes to a shelf
 * from the stations that make it. */
void item_roles_mark_direct(struct lanes *lanes);
