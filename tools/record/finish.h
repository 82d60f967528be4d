/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/finish.h - what commands that run one scenario to its end have in common: their
 * files and what they say in the end. */
#pragma once

#include <stdbool.h>

#include "tools/base/directory.h"
#include "tools/base/options.h"
#include "tools/record/record.h"

/* False: an option was given that needs --out, without it, and that was told. */
bool finish_may_write(const struct options *options, const char *command);

/* The run is over: reaches the verdict, writes all files into `directory` (NULL: none) and puts it
 * in its place, then prints the summary, or with `shown` only the verdict. Returns the exit status.
 */
int finish_run(const struct options *options, struct record *record, struct directory *directory,
               bool shown);
