/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sim/utf8.h - characters of several bytes. */
#pragma once

#include <stddef.h>

/* Bytes of the UTF-8 character at `at`, which has at least two of them and lies before `end`; 0
 * when it is not well formed (RFC 3629, section 4). */
size_t utf8_bytes(const unsigned char *at, const unsigned char *end);
