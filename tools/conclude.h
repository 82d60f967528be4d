/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/conclude.h - what commands that run one scenario to its end have in common: their files and
 * what they say in the end. */
#pragma once

#include <stdbool.h>

#include "tools/directory.h"
#include "tools/options.h"
#include "tools/record.h"

/* False: an option was given that needs --out, without it, and that was told. */
bool conclude_may_write(const struct options *options, const char *command);

/* The run is over: reaches the verdict, writes all files into `directory` (NULL: none) and puts it
 * in its place, then prints the summary, or with `shown` only the verdict. Returns the exit status.
 */
int conclude_run(const struct options *options, struct record *record, struct directory *directory,
                 bool shown);
