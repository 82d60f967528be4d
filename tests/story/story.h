/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/story.h - runs the program on a scenario, as a user would, and reads what it wrote.
 *
 * The program is the one that the variable LOOPWRIGHT names. What it writes goes to a directory of
 * its own, which story_free removes. Whatever should be there and is not fails the test at once. */
#pragma once

#include <stdbool.h>
#include <stddef.h>

struct json_t;

/* A CSV file in memory; fields hold no commas in what we ask of it. */
struct table {
    char *text;   /* the file, cut into fields */
    char **field; /* [rows * columns], pointers into text; row 0 is the header */
    size_t columns, rows;
};

struct story {
    int status; /* exit status of the program */
    char directory[64];
    struct json_t *summary; /* what --json printed; jansson's json_t */
    struct table events, occupancy, lanes, levels;
};

/* One row of events.csv. */
struct happening {
    double start_s, end_s;
    bool open; /* lasted still when the run ended */
    const char *detail;
};

/* Runs `scenario`, with the changes `set`, a NULL-terminated list of PATH=VALUE; NULL: none. */
struct story story_run(const char *scenario, const char *const *set);
void story_free(struct story *story);

/* A number of the summary by its keys, up to a NULL: "items", "movement", "made", NULL. Booleans
 * count as 0 and 1. */
double story_number(const struct story *story, ...) __attribute__((sentinel));

/* How many rows of events.csv are of this event; subject NULL: of anybody. */
size_t story_count(const struct story *story, const char *event, const char *subject);
/* The n-th of them, from 0; must be there. */
struct happening story_event(const struct story *story, const char *event, const char *subject,
                             size_t n);

/* Items on a lane ("ring", "lane") at the sample of `time_s`; item "" is all of them. Where an item
 * never rides on the lane the answer is 0. */
double story_on_lane(const struct story *story, const char *loop, const char *lane,
                     const char *item, double time_s);
/* Occupied share of a lane at the sample of `time_s`. */
double story_share(const struct story *story, const char *loop, const char *lane, double time_s);
/* The least and greatest occupied share from one sample to another. */
double story_share_least(const struct story *story, const char *loop, const char *lane,
                         double from_s, double to_s);
double story_share_most(const struct story *story, const char *loop, const char *lane,
                        double from_s, double to_s);

/* Items in a chest or stock ("shelf", "bench/in") as of the sample of `time_s`. */
double story_level(const struct story *story, const char *place, const char *item, double time_s);
/* The most that was in it at any sample. */
double story_level_most(const struct story *story, const char *place, const char *item);

/* A whole file as text; freed by the caller. */
char *story_text(const char *path);
