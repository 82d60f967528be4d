/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/document.h - the page itself: a frame (page.html) of which each place to be filled is
 * written by a function of its own. The same source gives the same bytes.
 *
 * The room tools/page is the command `report`. What comes in: the directory of a run, a replay, a
 * drain or a soak (source.h). The run is run again (again.h) and recorded tick by tick
 * (recording.h) and over time (series.h). What goes out: one HTML file. Its scripts and styles are
 * files of their own here; the program carries them (assets.h). */
#pragma once

#include <stdio.h>

#include "tools/cause/explanation.h"
#include "tools/page/again.h"
#include "tools/page/source.h"

struct document {
    const struct source *source;
    const struct again *again;             /* NULL: of a soak */
    const struct explanation *explanation; /* NULL: of a soak */
};

/* Writes the page. */
void document_write(const struct document *document, FILE *out);
