/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/limits.h - the bounds of what a scenario may hold. A fault about one names its
 * number. They keep sums and products of the engine within 64 bits for as long as anybody can wait,
 * and a hostile file from taking the machine. */
#pragma once

#include <stdint.h>

/* ---- the file ---- */
#define LIMIT_FILE_BYTES (INT64_C(64) << 20)   /* of one scenario file */
#define LIMIT_DEPTH 32                         /* lists and maps one in another */
#define LIMIT_EVENTS INT64_C(16000000)         /* names and values; a list or map counts two */
#define LIMIT_SCALAR_BYTES (INT64_C(64) << 10) /* of one text or number */
#define LIMIT_KEY_BYTES 256                    /* of one key */
#define LIMIT_NAME_LENGTH 64                   /* letters of a name */

/* ---- how many, how long ---- */
#define LIMIT_THINGS INT64_C(1000000)      /* items; parts of one section; gates */
#define LIMIT_CELLS INT64_C(1000000)       /* of a loop, a line or an item's length */
#define LIMIT_HAND INT64_C(10000)          /* items in one swing */
#define LIMIT_HANDS INT64_C(10000000)      /* hands together of arms that pick from belts */
#define LIMIT_ARM_ITEMS INT64_C(20000000)  /* `items` of all arms, equal defaults counted once */
#define LIMIT_BATCH INT64_C(1000000)       /* of one delivery or order, so that sums last */
#define LIMIT_COUNT INT64_C(1000000000000) /* any count, capacity, threshold, or stock */

/* ---- time and chance ---- */
#define LIMIT_TICKS_PER_SECOND INT64_C(1000000)
#define LIMIT_TICKS (INT64_C(1) << 53)      /* of a run and of every other duration */
#define LIMIT_SEED ((INT64_C(1) << 53) - 1) /* greatest seed */
#define LIMIT_PLACES 18                     /* digits after the point of any number */
#define LIMIT_VARIATION 1000                /* greatest coefficient of variation */
#define LIMIT_SHAPE 1000                    /* greatest shape of `weibull`; the least is 1/20 */
