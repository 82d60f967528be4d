/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_map.h - a sweep over two paths as a map: a table with a number in each cell, the
 * darker the greater. */
#pragma once

#include <stdio.h>

#include "tools/page/page_grid.h"

/* Writes a measure over the last two axes of the grid; `at` has a place for each axis and says
 * which values those before have. */
void page_map_write(const struct page_grid *grid, const struct page_grid_measure *measure,
                    size_t *at, FILE *out);
