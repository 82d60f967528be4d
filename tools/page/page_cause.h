/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_cause.h - why it jammed or starved: what `cause` prints, its remedies as a table,
 * and the waits as data for the picture. */
#pragma once

#include <stdio.h>

#include "tools/cause/explanation.h"
#include "tools/page/source.h"

void page_cause_write(const struct source *source, const struct explanation *explanation,
                      FILE *out);
