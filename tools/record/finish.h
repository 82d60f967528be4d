/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/finish.h - what commands that run one scenario to its end have in common: their
 * files and what they say in the end. */
#pragma once

#include <stdbool.h>

#include "tools/base/directory.h"
#include "tools/base/options.h"
#include "tools/record/record.h"

/* False: an option was given that needs --out, without it, and that was reported. */
bool finish_may_write(const struct options *options, const char *command);

/* How a run ends. Nothing is owned. */
struct finish {
    const struct options *options;
    struct directory *directory; /* begun; NULL: no files are written */
    const char *explained;       /* where `cause` finds this run already; NULL: nowhere */
    bool is_part;                /* the run goes on after what was followed */
    bool shown;                  /* it was shown as it went: only the verdict is printed */
};

/* The run is over: reaches the verdict, writes all files and puts the directory in its place, then
 * prints the summary. Returns the exit status. */
int finish_run(const struct finish *finish, struct record *record);
