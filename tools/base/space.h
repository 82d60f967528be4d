/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/space.h - whether there is room on a disk for what is going to be written, asked
 * before hours of work. */
#pragma once

#include "tools/base/directory.h"

/* Warns on standard error where about `bytes` more than are free would be needed for the files of a
 * directory that is begun. Only a warning: the estimate may be too high, and room may be made. */
void space_check(const struct directory *directory, double bytes);
