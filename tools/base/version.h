/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/version.h - the version of the program, as files and `--version` name it, and the date
 * of it, as manual pages have it. */
#pragma once

#define LOOPWRIGHT_VERSION "0.1.0"
#define LOOPWRIGHT_DATE "November 28, 2026"
