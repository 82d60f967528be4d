/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_verdict.h - what came of it, in a sentence, then the figures that matter: from
 * the files of the directory, so that they are those that the command has printed. */
#pragma once

#include <stdio.h>

#include "tools/page/source.h"

void page_verdict_write(const struct source *source, FILE *out);
