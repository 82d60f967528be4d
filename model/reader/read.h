/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read.h - reads a scenario from YAML text and checks it.
 *
 * What comes in: text, with changes PATH=VALUE. What goes out: either a scenario in which every
 * index and number is valid, or a list of all that is wrong with it, each with its place. The
 * other headers of the room are private to it, but for yaml_tree.h, which reads and writes YAML,
 * and draft.h, a scenario that is still to be completed. */
#pragma once

#include <stddef.h>

#include "model/reader/draft.h"
#include "model/scenario/scenario.h"
#include "sim/fault.h"

/* Reads `length` bytes of YAML that came from `source` (a path, for messages) and applies the
 * `override_count` overrides, each "PATH=VALUE" as --set takes it, in the order given. Overrides
 * go through the same checks as the text. All errors and warnings found are added to `faults`,
 * sorted. Returns the scenario (freed with scenario_free), or NULL when there is at least one
 * error. */
struct scenario *read_scenario(const char *text, size_t length, const char *source,
                               const char *const *override, size_t override_count,
                               struct faults *faults);

/* The same from a file: "-" is standard input. A file that can't be read is an error of `faults`
 * too, and *unreadable is set true then (status 4 rather than 3). */
struct scenario *read_scenario_file(const char *path, const char *const *override,
                                    size_t override_count, struct faults *faults, bool *unreadable);

/* The same of a draft, in which numbers may be `find`, `may` says what can be used, and a brief
 * leaves out arms and chests (draft.h); of a complete scenario it reports the same as
 * read_scenario. Freed with draft_free; NULL when there is at least one error. */
struct draft *read_draft(const char *text, size_t length, const char *source,
                         const char *const *override, size_t override_count, struct faults *faults);
struct draft *read_draft_file(const char *path, const char *const *override, size_t override_count,
                              struct faults *faults, bool *unreadable);

/* Reads one duration as the command line takes it ("12h", "30 min", "1:02:03.5", "90") for a clock
 * of `ticks_per_second`; returns ticks, or NOT_GIVEN with an error in `faults`. */
int64_t read_duration(const char *text, int64_t ticks_per_second, struct faults *faults);
