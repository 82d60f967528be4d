/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/again.h - a run again, for its page: recorded tick by tick, drawn together for charts,
 * and cut down to what a page may hold. */
#pragma once

#include <stdbool.h>

#include "tools/page/recording.h"
#include "tools/page/series.h"
#include "tools/page/source.h"

struct again {
    struct world *world; /* at the end of the run */
    struct recording recording;
    struct series *series;
    uint32_t whole_pieces, thinned_pieces;
};

/* Runs it. False: a signal was noted, or it is not the run that the directory tells of, which was
 * reported; nothing to free then. */
bool again_run(struct again *again, const struct source *source, bool show_progress);
void again_free(struct again *again);
