/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/mended_text.h - a scenario's text with changes made where they belong, so that its
 * comments and its layout stay. */
#pragma once

#include <stdint.h>

/* Makes the changes, each as --set takes it, in the text of a scenario that can be read with them.
 * It can be done where the parts concerned are written as flow maps, `- {name: bin, ...}` in a list
 * or `[{name: bin, ...}]`, or with a line for each key. The result means the same as the text with
 * the changes; NULL: it can't be done. Freed with free(). */
char *mended_text(const char *text, const char *const *set, uint32_t set_count);
