/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/fuzz/scratch.h - one file in memory, for what is read by its path. */
#pragma once

#include <stddef.h>

/* Makes the file hold `length` bytes and returns its path, which lasts. */
const char *scratch_file(const void *data, size_t length);
/* The open directory in which it is, and its name there. */
int scratch_directory(void);
const char *scratch_name(void);
