/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/utf8.c - the table of RFC 3629. */
#include "sim/utf8.h"

size_t utf8_bytes(const unsigned char *at, const unsigned char *end) {
    static const struct {
        unsigned char first, last; /* of the leading byte */
        unsigned char low, high;   /* of the byte after it */
        unsigned char bytes;
    } form[] = {{0xC2, 0xDF, 0x80, 0xBF, 2}, {0xE0, 0xE0, 0xA0, 0xBF, 3},
                {0xE1, 0xEC, 0x80, 0xBF, 3}, {0xED, 0xED, 0x80, 0x9F, 3},
                {0xEE, 0xEF, 0x80, 0xBF, 3}, {0xF0, 0xF0, 0x90, 0xBF, 4},
                {0xF1, 0xF3, 0x80, 0xBF, 4}, {0xF4, 0xF4, 0x80, 0x8F, 4}};
    for (size_t i = 0; i < sizeof form / sizeof *form; i++) {
        if (*at < form[i].first || *at > form[i].last)
            continue;
        if (end - at < form[i].bytes || at[1] < form[i].low || at[1] > form[i].high)
            return 0;
        for (size_t k = 2; k < form[i].bytes; k++)
            if ((at[k] & 0xC0) != 0x80)
                return 0;
        return form[i].bytes;
    }
    return 0;
}
