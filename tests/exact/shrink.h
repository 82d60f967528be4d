/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/exact/shrink.h - makes a scenario for which something fails smaller while it still
 * fails: a shorter run, fewer parts, plainer numbers. */
#pragma once

#include <stdbool.h>

/* Does it still go wrong? */
typedef bool shrink_question(const char *text, void *self);

/* The smallest scenario found that starts at `text` and for which `wrong` is true, as YAML text
 * freed with free(). `wrong` is true of `text`, and is asked at most `tries` times. */
char *shrink_scenario(const char *text, shrink_question *wrong, void *self, int tries);
