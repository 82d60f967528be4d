/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/plural.h - the ending of a noun behind its number. */
#pragma once

#include <stdint.h>

static inline const char *plural(uint64_t count) { return count == 1 ? "" : "s"; }
