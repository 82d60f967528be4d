/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/assets.h - the files of the page that the program carries in itself: its frame, styles
 * and scripts from tools/page, and the chart library. tools/page/embed.sh makes them into the table
 * below when the program is built. Without the chart library it is empty. */
#pragma once

#include <stddef.h>

struct assets_file {
    const char *name; /* as in tools/page, or as its package calls it */
    const char *text; /* ends with a zero byte */
};

/* The last one has no name. Made by embed.sh. */
extern const struct assets_file assets_data[];

/* The text of a file; NULL: the program was built without. */
const char *assets_text(const char *name);
