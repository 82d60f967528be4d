/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/completion.h - what bash and zsh need to complete command lines: commands, options,
 * files of the right kind, and for --set the paths of the scenario that stands on the line. */
#pragma once

#include <stdio.h>

void completion_bash(FILE *out);
void completion_zsh(FILE *out);
