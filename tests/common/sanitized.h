/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/common/sanitized.h - whether the tests and the program are built with sanitizers, which
 * take several times as long and keep memory that was freed: tests then do less of the same. */
#pragma once

#ifdef __SANITIZE_ADDRESS__ /* gcc */
enum { SANITIZED = 1 };
#elif defined __has_feature /* clang */
#if __has_feature(address_sanitizer)
enum { SANITIZED = 1 };
#else
enum { SANITIZED = 0 };
#endif
#else
enum { SANITIZED = 0 };
#endif
