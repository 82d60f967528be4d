/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/errand.h - runs the program with a command line in a temporary directory and
 * examines its output and files. The program is the one that the variable LOOPWRIGHT names.
 * Whatever should be there and is not fails the test at once. */
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

struct json_t;

/* Makes a directory and goes there; removes it again. For checked fixtures. */
void errand_begin(void);
void errand_end(void);

/* The path of the program, from any directory; good until errand_end. */
const char *errand_program(void);

void errand_write(const char *path, const char *text);

/* Runs the program with what follows its name on a command line of a shell. What it prints is
 * then in the file `out`, what it complains of in `err`. Returns its status, 128 + n for signal
 * n. */
int errand_run(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The same with something before the program's name ("ulimit -f 8;"). */
int errand_run_after(const char *before, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Starts it and does not wait; the number is that of the program itself. */
pid_t errand_start(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* Waits for its end; status as above. */
int errand_wait(pid_t child);

/* The bytes of a file; 0 where there is none. */
long errand_bytes(const char *file);
/* Waits until a file has so many bytes, or `child` has ended; how long that takes is no matter. */
void errand_await_bytes(pid_t child, const char *file, long bytes);

/* The most memory that any program so far has had in use, in KiB. */
long errand_memory_kib(void);

bool errand_exists(const char *path);
/* True when the file holds these words. */
bool errand_says(const char *file, const char *words);
/* True when both files hold the same bytes. */
bool errand_same(const char *first, const char *second);
/* True when both directories hold files of the same names with the same bytes. */
bool errand_same_directory(const char *first, const char *second);

/* What a file holds as JSON; freed with json_decref. */
struct json_t *errand_json(const char *file);
/* A number of it by its keys, up to a NULL; booleans count as 0 and 1, null as NAN. */
double errand_number(const struct json_t *json, ...) __attribute__((sentinel));

/* The field of a CSV file (no quotes in it) in a row, from 0, and a column by its name; good until
 * the second call from here. "" where there is no such row. */
const char *errand_field(const char *file, size_t row, const char *column);
