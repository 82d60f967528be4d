/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_line.h - a sweep over one path as lines: how a measure changes with the value. */
#pragma once

#include <stdio.h>

#include "tools/page/page_grid.h"

/* Draws a measure over the one axis of the grid, with a band for its interval, and with a second
 * line for the most at any time where there is one. */
void page_line_write(const struct page_grid *grid, const struct page_grid_measure *measure,
                     FILE *out);
