/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/assets.c - looks a file up by its name. */
#include "tools/page/assets.h"

#include <string.h>

const char *assets_text(const char *name) {
    for (const struct assets_file *file = assets_data; file->name != NULL; file++)
        if (strcmp(file->name, name) == 0)
            return file->text;
    return NULL;
}
