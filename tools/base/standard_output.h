/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/standard_output.h - whether what is printed arrives. It is buffered, so that an error
 * may show some time after the call that printed. */
#pragma once

#include <stdbool.h>

/* True when something that was printed could not be written: to print more is in vain. */
bool standard_output_failed(void);
/* True when it is a pipe that nobody reads any more. */
bool standard_output_is_unread(void);
/* At the end of the program: writes out what is left. Returns `status`, or STATUS_FILE, reported,
 * when it could not be written; but not where the reader has seen enough and gone. */
int standard_output_finish(int status);
