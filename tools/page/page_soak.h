/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_soak.h - what many runs say together: how often they jam and how sure that is,
 * the runs that failed, and how each product's rate is spread over them. */
#pragma once

#include <stdio.h>

#include "tools/page/source.h"

void page_soak_write(const struct source *source, FILE *out);
