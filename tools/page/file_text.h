/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/file_text.h - a whole file as text. */
#pragma once

#include "sim/fault.h"

/* The text of a file, to be freed; NULL: a fault was added, because it cannot be read or holds a
 * zero byte. */
char *file_text(const char *path, struct faults *faults);
