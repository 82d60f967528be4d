/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/new/kinds.h - the texts of the scenarios to start from, which are part of the program. They
 * are made from their files by tools/new/texts.sh when the program is built. */
#pragma once

struct kind {
    const char *name, *text;
};

extern const struct kind kinds_table[];
extern const unsigned kinds_count;
