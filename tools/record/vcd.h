/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/vcd.h - a run as a Value Change Dump (IEEE 1364-2005, 18): counts, levels and states
 * as they change, for programs that show waveforms.
 *
 * Scopes: `lanes`, a vector of the items on each lane and line; `levels`, one for each row of
 * levels.csv ("shelf/movement", "bench/in/comb"); `stations`, the state of each; `arms`, for each
 * its state and the items in its hand; `gates`, for each arm, station or supply that has one, 1
 * while it is open. A comment at the head lists the codes of the states. Each instant in which
 * something changed stands once, after all earlier ones; a tick is written exactly where the
 * decimal units of the format can, else rounded to a nanosecond. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

#include "model/engine/world.h"
#include "tools/base/output.h"

struct vcd_signal;

struct vcd {
    const struct scenario *scenario;
    const struct world *world;
    struct output output;
    struct samples *samples; /* whose rows the levels are */
    struct vcd_signal *signal;
    uint32_t signal_count;
    int64_t unit_divisor; /* units of the file in a second, */
    bool begun;           /* the first values are written */
};

/* Begins a file at `path` (tools/base/output.h) for a world before its first tick. All that is
 * given must outlive it. False: reported. */
bool vcd_open(struct vcd *vcd, const struct scenario *scenario, const struct world *world,
              const char *path, bool force);
/* Adds what has changed up to the world's last tick. False: the file cannot be written, so that
 * going on is in vain. */
bool vcd_look(struct vcd *vcd);
/* Ends the file with the world's last tick and puts it in its place. False: reported. */
bool vcd_close(struct vcd *vcd);
/* Gives up: no file comes of it. */
void vcd_discard(struct vcd *vcd);
