/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/drive.h - lets a run go on under the eyes of its record: samples, the end of the
 * warm-up, moments that are kept. */
#pragma once

#include <stdint.h>

#include "tools/base/progress.h"
#include "tools/checkpoint/replay_view.h"
#include "tools/record/record.h"

/* Advances the record's world up to and including `last_tick`, with a sample at each multiple of
 * watch.every behind where it is. Stops early at a signal or when a file can't be written. `show`
 * (NULL: nobody) looks on behind every tick in which something happens. */
void drive_until(struct record *record, struct progress *progress, struct replay_view *show,
                 int64_t last_tick);
