/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/capsules.h - the capsules in the directory of a run, by the times in their
 * names. */
#pragma once

#include <stdbool.h>
#include <stdint.h>

/* False, and told: the directory is that of a soak, which is no run that could be explained or
 * replayed, but keeps capsules of several. */
bool capsules_are_of_a_run(const char *directory);
/* The path of the last capsule in a directory that is not behind `microseconds`; of all, the first
 * one, where they are behind it; the caller frees it. NULL: it holds none, or errno, else 0, says
 * why it cannot be read. Those kept for jams are not looked at. */
char *capsules_before(const char *directory, int64_t microseconds);
/* DIRECTORY/FILE; the caller frees it. */
char *capsules_path(const char *directory, const char *file);
