/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_sweep.h - what happens as numbers change: the best combination, a line or a map
 * of each measure, and all combinations as a table. */
#pragma once

#include <stdio.h>

#include "tools/page/source.h"

void page_sweep_write(const struct source *source, FILE *out);
