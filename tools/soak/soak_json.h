/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/soak_json.h - what came of a soak, as data: the statistics of all runs, without clock
 * times and paths. */
#pragma once

#include <stdio.h>

#include "tools/soak/soak_journal.h"

/* The text of soak.json, LF at its end; freed by the caller. */
char *soak_json_text(const struct soak_journal *book);
/* Prints that. */
void soak_json_print(const struct soak_journal *book, FILE *out);
