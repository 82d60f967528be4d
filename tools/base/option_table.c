/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/option_table.c - the rows, in the order of `enum option`. */
#include "tools/base/option_table.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "model/scenario/limits.h"
#include "sim/estimate.h"
#include "sim/require.h"

enum { KEEP_MOST = 1000, SHARDS_MOST = 100000, JOBS_MOST = 1024 };

static const struct option_row option_row[OPTIONS] = {
    [OPTION_OUT] = {.name = "--out",
                    .letter = 'o',
                    .kind = WORD_DIRECTORY,
                    .value = "DIR",
                    .examples = "run-1",
                    .says = "write the files of the run into DIR",
                    .more = "DIR must be new, empty, or an earlier run, which it then replaces."},
    [OPTION_SEED] = {.name = "--seed",
                     .kind = WORD_NUMBER,
                     .value = "N",
                     .most = LIMIT_SEED,
                     .examples = "7",
                     .preset = "the scenario's, else 1",
                     .says = "seed of all that is random"},
    [OPTION_FOR] = {.name = "--for",
                    .kind = WORD_DURATION,
                    .value = "DURATION",
                    .examples = "30min or --for 1:30:00",
                    .says = "how long to simulate",
                    .more = "A duration is 90, 500ms, 90s, 30min, 12h, 2d, or H:MM:SS."},
    [OPTION_SET] = {.name = "--set",
                    .kind = WORD_CHANGE,
                    .value = "PATH=VALUE",
                    .examples = "chests.shelf.capacity=30",
                    .says = "change the scenario in one place, for this run",
                    .more = "null removes a key or part. It may be given many times."},
    [OPTION_MOVES] = {.name = "--moves",
                      .says = "also write moves.csv, a row for each pick and place",
                      .more = "It needs --out."},
    [OPTION_KEEP_EVERY] = {.name = "--keep-every",
                           .kind = WORD_DURATION,
                           .value = "DURATION",
                           .examples = "10min",
                           .preset = "10 min",
                           .says = "simulated time between two capsules in --out",
                           .more = "Where they get too many, some are left out again."},
    [OPTION_AUDIT] = {.name = "--audit",
                      .says = "check the program's own state after each tick",
                      .more = "It takes long; where it is wrong the run ends with status 5."},
    [OPTION_FROM_TIME] = {.name = "--from",
                          .kind = WORD_TIME,
                          .value = "TIME",
                          .examples = "1:30:00",
                          .says = "where to begin",
                          .more = "Without it, at the capsule; for a directory, at the one before "
                                  "its first jam."},
    [OPTION_UNTIL] = {.name = "--until",
                      .kind = WORD_TIME,
                      .value = "TIME",
                      .examples = "2h",
                      .preset = "the end of the run",
                      .says = "where to end"},
    [OPTION_SHOW] = {.name = "--show",
                     .says = "print what happens, and how the loops look",
                     .more = "It does so in place of the summary."},
    [OPTION_AFTER] = {.name = "--after",
                      .kind = WORD_DURATION,
                      .value = "DURATION",
                      .examples = "12min",
                      .preset = "10 min after the warm-up",
                      .says = "when the demands stop"},
    [OPTION_WITHIN] = {.name = "--within",
                       .kind = WORD_DURATION,
                       .value = "DURATION",
                       .examples = "1h",
                       .preset = "1 h",
                       .says = "how long after that the loops may take"},
    [OPTION_SUPPLIES_TOO] = {.name = "--supplies-too", .says = "stop the supplies as well"},
    [OPTION_RESTART] = {.name = "--restart",
                        .says = "then start the demands again",
                        .more = "It says when the products are made as fast as before."},
    [OPTION_FLOOD] = {.name = "--flood",
                      .kind = WORD_OTHER,
                      .value = "HEAP",
                      .wants = "ITEM=N or a share",
                      .examples = "spring=40, --flood 0.5 or --flood ring/outer:0.8",
                      .says = "begin with a heap on every lane where it can lie",
                      .more = "HEAP is ITEM=N, so many of an item, or a share of the lane's cells "
                              "(0.5), of all kinds that arms place there; LANE: before it says on "
                              "which lane alone."},
    [OPTION_FLOOD_UNTIL_IT_FAILS] = {.name = "--flood-until-it-fails",
                                     .says = "look for the heap up to which the loop recovers",
                                     .more = "It tries 20 seeds."},
    [OPTION_RUNS] = {.name = "--runs",
                     .kind = WORD_NUMBER,
                     .value = "N",
                     .least = 1,
                     .most = ESTIMATE_TRIALS_MAX,
                     .examples = "200",
                     .says = "how many runs, each with a seed of its own"},
    [OPTION_JOBS] = {.name = "--jobs",
                     .kind = WORD_NUMBER,
                     .value = "N",
                     .least = 1,
                     .most = JOBS_MOST,
                     .examples = "4",
                     .preset = "as many as there are processors",
                     .says = "how many runs at once",
                     .more = "Results do not depend on it."},
    [OPTION_UNTIL_JAM] = {.name = "--until-jam", .says = "end each run with its first jam"},
    [OPTION_DISTURB] = {.name = "--disturb",
                        .says = "add random disturbances",
                        .more = "They are takers that stop, supplies that fail and come back with "
                                "a rush, heaps, and pauses of all demands."},
    [OPTION_KEEP] = {.name = "--keep",
                     .kind = WORD_NUMBER,
                     .value = "N",
                     .most = KEEP_MOST,
                     .examples = "50",
                     .preset = "20",
                     .says = "of how many jammed runs to keep a capsule and events"},
    [OPTION_RESUME] = {.name = "--resume",
                       .says = "continue where the same command line was stopped"},
    [OPTION_AGAINST] = {.name = "--against",
                        .kind = WORD_SCENARIO,
                        .value = "SCENARIO",
                        .examples = "b.yaml",
                        .says = "compare with this one, run with the same seeds"},
    [OPTION_AGAINST_SET] = {.name = "--against-set",
                            .kind = WORD_CHANGE,
                            .value = "PATH=VALUE",
                            .examples = "chests.shelf.capacity=30",
                            .says = "compare with the same scenario, with this change",
                            .more = "It may be given many times."},
    [OPTION_PLAN] = {.name = "--plan",
                     .kind = WORD_DIRECTORY,
                     .value = "DIR",
                     .examples = "night",
                     .says = "run nothing; write a plan into DIR, to be run in shards",
                     .more = "It needs --shards."},
    [OPTION_SHARDS] = {.name = "--shards",
                       .kind = WORD_NUMBER,
                       .value = "N",
                       .least = 1,
                       .most = SHARDS_MOST,
                       .examples = "16",
                       .says = "into how many shards the plan is divided"},
    [OPTION_FROM_PLAN] = {.name = "--from",
                          .kind = WORD_DIRECTORY,
                          .value = "DIR",
                          .wants = "the directory of a plan",
                          .examples = "night",
                          .says = "run a shard of the plan in DIR; no SCENARIO then"},
    [OPTION_SHARD] = {.name = "--shard",
                      .kind = WORD_NUMBER,
                      .value = "K",
                      .most = SHARDS_MOST,
                      .wants = "a whole number from 0 on",
                      .examples = "3",
                      .preset = "what SLURM_ARRAY_TASK_ID says",
                      .says = "which shard, from 0"},
    [OPTION_AT] = {.name = "--at",
                   .kind = WORD_TIME,
                   .value = "TIME",
                   .wants = "a time",
                   .examples = "41min or --at 0:41:00",
                   .says = "explain what was going on at that time"},
    [OPTION_EVENT] = {.name = "--event",
                      .kind = WORD_NUMBER,
                      .value = "N",
                      .least = 1,
                      .most = INT64_MAX,
                      .wants = "the number of a row of events.csv, from 1",
                      .examples = "12",
                      .says = "explain that row of events.csv"},
    [OPTION_DOT] = {.name = "--dot",
                    .kind = WORD_FILE,
                    .value = "FILE",
                    .examples = "waits.dot",
                    .says = "write who waits for whom into FILE, for Graphviz",
                    .more =
                        "It is the graph of the first trouble that is explained. FILE -: standard "
                        "output."},
    [OPTION_WRITE] = {.name = "--write",
                      .kind = WORD_FILE,
                      .value = "FILE",
                      .examples = "mended.yaml",
                      .says = "write the scenario with the best change into FILE",
                      .more = "FILE -: standard output."},
    [OPTION_PROVE] = {.name = "--prove",
                      .kind = WORD_DURATION,
                      .value = "DURATION",
                      .examples = "24h",
                      .preset = "12 h or ten times the run",
                      .says = "how long what helps must hold to be called a cure",
                      .more = "With 0 it is held against the run alone."},
    [OPTION_FORCE] = {.name = "--force",
                      .says = "replace a FILE that is not as this program wrote it",
                      .more = "Without it a FILE that this program did not write, or that was "
                              "changed since, is kept."},
    [OPTION_OUT_FILE] = {.name = "--out",
                         .kind = WORD_FILE,
                         .value = "FILE",
                         .examples = "night.html",
                         .preset = "DIR/report.html",
                         .says = "write the page into FILE"},
    [OPTION_QUIET] = {.name = "--quiet",
                      .letter = 'q',
                      .says = "print no text and no progress",
                      .more = "--json still prints."},
    [OPTION_JSON] = {.name = "--json", .says = "print the same as data, JSON, in place of text"},
    [OPTION_HELP] = {.name = "--help",
                     .letter = 'h',
                     .kind = WORD_ALL,
                     .value = "all",
                     .wants = "nothing or `all`",
                     .says = "say how it is used, and do nothing else",
                     .more = "--help=all says all of it."},
    [OPTION_VERSION] = {.name = "--version",
                        .letter = 'V',
                        .says = "say which version this is, and do nothing else"},
};

const struct option_row *option_table_row(enum option option) {
    require((int)option < OPTIONS && option_row[option].name != NULL);
    return &option_row[option];
}

static const char *word_noun(enum word_kind kind) {
    switch (kind) {
    case WORD_NUMBER: return "a whole number";
    case WORD_DURATION: return "a duration";
    case WORD_TIME: return "a time of the run";
    case WORD_DIRECTORY: return "a directory";
    case WORD_FILE: return "a file";
    case WORD_SCENARIO: return "a scenario";
    case WORD_RUN: return "the directory of a run, or a capsule";
    case WORD_CHANGE: return "a change";
    case WORD_COMMAND: return "a command";
    case WORD_SHELL: return "bash or zsh";
    case WORD_NONE:
    case WORD_ALL:
    case WORD_OTHER: break;
    }
    require(false);
    return NULL;
}

const char *option_table_wants(const struct option_row *row, char text[OPTION_TABLE_WANTS_SIZE]) {
    const char *noun = row->wants != NULL ? row->wants : word_noun(row->kind);
    if (row->wants != NULL || row->kind != WORD_NUMBER)
        snprintf(text, OPTION_TABLE_WANTS_SIZE, "%s", noun);
    else
        snprintf(text, OPTION_TABLE_WANTS_SIZE, "%s from %" PRId64 " to %" PRId64, noun, row->least,
                 row->most);
    return text;
}
