/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/elapsed.h - the time that passes while a command is at work. No result depends on it.
 */
#pragma once

#include <stdint.h>

/* Milliseconds of a clock that only goes on, from no particular time. */
int64_t elapsed_ms(void);
