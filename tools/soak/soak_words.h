/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_words.h - what came of a soak, to be read: the verdict first, then what it rests
 * on, and at last the command to go on with. */
#pragma once

#include <stdio.h>

#include "tools/soak/soak_journal.h"

/* What was asked for. */
struct soak_words {
    const char *path;     /* the directory of the files, NULL: none were written */
    const char *scenario; /* what names the first scenario on a command line, with all changes */
};

void soak_words_print(const struct soak_journal *book, const struct soak_words *asked, FILE *out);
