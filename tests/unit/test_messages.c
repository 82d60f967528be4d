/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_messages.c - the exact words for each kind of mistake. A text that begins with +
 * goes on after `base`, which by itself is without fault. A message is written here as
 * "line:column+width grade: what | note | help: help"; an override stands in place of its line. */
#include "model/reader/read.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

static const char base[] =
    "items: [comb, spring, tray]\n"
    "loops: [{name: ring, cells: 10, rate: 8, lanes: [outer, inner]}, {name: mono, cells: 5, "
    "rate: 1}]\n"
    "lines: [{name: queue, cells: 3, rate: 1}]\n"
    "chests: [{name: bin, start: {comb: 5}}, {name: shelf}]\n"
    "stations: [{name: bench, takes: {comb: 1}, makes: {tray: 2}, time: 4}]\n"
    "arms:\n"
    "- {name: in, from: bin, to: bench, swing: 1}\n"
    "- {name: out, from: bench, to: shelf, items: [tray], swing: 1}\n";

struct message_case {
    const char *text;
    const char *override; /* NULL: none */
    const char *expected;
};

/* ---- the file ---- */
static const struct message_case the_file[] = {
    {"", NULL,
     "1:1+1 error: the file is empty | a scenario is a map with sections such as `items`, "
     "`loops` and `arms`"},
    {"# nothing but a comment\n", NULL,
     "1:1+1 error: the file is empty | a scenario is a map with sections such as `items`, "
     "`loops` and `arms`"},
    {"null\n", NULL,
     "1:1+1 error: the file is empty | a scenario is a map with sections such as `items`, "
     "`loops` and `arms`"},
    {"- a\n", NULL, "1:1+1 error: a scenario is written as a map, not a list"},
    {"just words\n", NULL,
     "1:1+10 error: a scenario is written as a map, not the text `just words` | help: a scenario "
     "has sections such as `items:`, `loops:` and `arms:`"},
    {"items: [comb\n", NULL,
     "2:1+1 error: not YAML: did not find expected ',' or ']' | while parsing a flow sequence, "
     "from line 1 on | help: a [ or { is not closed, or a comma is missing"},
    {"items:\n"
     "\t- comb\n",
     NULL,
     "2:1+1 error: not YAML: found character that cannot start any token | while scanning for "
     "the next token, from line 2 on | help: indent with blanks, not with tabs"},
    {"items: [comb]\n"
     "loops: {a: b: c}\n",
     NULL,
     "2:13+1 error: not YAML: did not find expected ',' or '}' | while parsing a flow mapping, "
     "from line 2 on | help: a [ or { is not closed, or a comma is missing"},
    {"items: 'comb\n", NULL,
     "2:1+1 error: not YAML: found unexpected end of stream | while scanning a quoted scalar, "
     "from line 1 on"},
    {"a: 1\n"
     "--- \n"
     "b: 2\n",
     NULL, "2:1+3 error: a second document begins here; a scenario is one document"},
    {"%YAML 1.1\n"
     "---\n"
     "items: [comb]\n",
     NULL,
     "1:1+1 error: a line may not begin with `%`: directives are not used here | byte 0x25, "
     "number 1 of the text"},
    {"items: [c\001mb]\n", NULL,
     "1:10+1 error: a control character in the text | byte 0x01, number 10 of the text"},
    {"items: [comb]\rtitle: x\n", NULL,
     "1:14+1 error: a carriage return without a line feed | byte 0x0D, number 14 of the text"},
    {"items: [\342\200\250comb]\n", NULL,
     "1:9+1 error: a Unicode line or paragraph separator in the text | byte 0xE2, number 9 of "
     "the text"},
    {"items: [\377comb]\n", NULL, "1:9+1 error: not UTF-8 | byte 0xFF, number 9 of the text"},
    /* A byte order mark is no character of the first line. */
    {"\357\273\277items: [comb, comb]\n", NULL,
     "1:15+4 error: item `comb` is in the list already | first on line 1"},
    {"items: [\300\257comb]\n", NULL, "1:9+1 error: not UTF-8 | byte 0xC0, number 9 of the text"},
    {"items: [a]\nchests: [{name: bin, start: {b: 1}}]\n", NULL,
     "2:30+1 error: unknown item `b` | known: a | help: did you mean `a`?"},
    {"title: \302\205\n", NULL,
     "1:8+1 error: a control character in the text | byte 0xC2, number 8 of the text"},
    {"items: [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]\n", NULL,
     "1:39+1 error: lists and maps are nested too deeply | at most 32 levels"},
    {"title: &t x\n"
     "items: [*t]\n",
     NULL,
     "1:8+4 error: anchors are not used here | help: write the value out wherever it is "
     "wanted\n"
     "2:9+2 error: aliases are not used here | help: write the value out wherever it is wanted"},
    {"items: !!set [comb]\n", NULL,
     "1:8+7 error: tags are not used here | help: leave the `!` part out"},
    {"run: {<<: {for: 1}, for: 2}\n", NULL,
     "1:7+2 error: merge keys are not used here | help: write the keys out where they are "
     "wanted"},
    {"run: {for: 1, [a]: 2}\n", NULL, "1:15+1 error: a key must be a word, not a list or a map"},
    {"title: \"a\\0b\"\n", NULL, "1:8+6 error: a text holds a NUL character"},
    {"run: {for: 1, seed: 2, for: 3}\n", NULL,
     "1:24+3 error: key `for` is given twice | first given on line 1, column 7"},
    {"items:\n"
     "  comb: {}\n"
     "  spring: {}\n"
     "  comb: {}\n",
     NULL, "4:3+4 error: key `comb` is given twice | first given on line 2, column 3"},
};

/* ---- keys ---- */
static const struct message_case keys[] = {
    {"itmes: [comb]\n", NULL,
     "1:1+5 error: unknown key `itmes` in a scenario | keys of a scenario: title, clock, run, "
     "watch, items, loops, lines, chests, stations, arms, supplies, demands, incidents, expect, "
     "may | help: did you mean `items`?"},
    {"colour: red\n", NULL,
     "1:1+6 error: unknown key `colour` in a scenario | keys of a scenario: title, clock, run, "
     "watch, items, loops, lines, chests, stations, arms, supplies, demands, incidents, expect, "
     "may"},
    {"clock: {ticks_per_secnd: 5}\n", NULL,
     "1:9+15 error: unknown key `ticks_per_secnd` in `clock` | keys of `clock`: "
     "ticks_per_second | help: did you mean `ticks_per_second`?"},
    {"loops: [{name: ring}]\n", NULL,
     "1:9+1 error: a loop lacks `cells` | `cells`: a whole number, 1 to 1,000,000; cells in "
     "the ring\n"
     "1:9+1 error: a loop lacks `rate` | `rate`: a number, more than 0, at most 1,000,000; cells a "
     "second, at most one a tick"},
    {"loops: [ring]\n", NULL,
     "1:9+4 error: a loop is written as a map, not the text `ring` | help: write {name: ..., ...}"},
    {"loops: {name: ring, cells: 5, rate: 1}\n", NULL,
     "1:8+1 error: `loops` wants a list of maps, not a map"},
    {"loops:\n", NULL,
     "1:7+1 error: `loops` is left empty | help: take the section out, or write `loops: []`"},
    {"items:\n", NULL,
     "1:7+1 error: `items` is left empty | help: take the section out, or write `items: []`"},
    {"items: comb\n", NULL,
     "1:8+4 error: `items` wants a list of names or a map, not the text `comb`"},
    {"items: {comb: }\n", NULL,
     "1:15+1 error: an item is written as a map, not nothing | help: an empty map is written {}"},
    {"clock: 100\n", NULL,
     "1:8+3 error: `clock` is written as a map, not the number 100 | help: write "
     "{ticks_per_second: ...}"},
    {"run: []\n", NULL, "1:6+1 error: `run` is written as a map, not a list"},
    {"chests: [{name: a}, 5, {name: b, size: 3}]\n", NULL,
     "1:21+1 error: a chest is written as a map, not the number 5 | help: write {name: ..., "
     "...}\n1:34+4 error: unknown key `size` in a chest | keys of a chest: name, capacity, start, "
     "limits"},
};

/* ---- names ---- */
static const struct message_case names[] = {
    {"items: [comb, 9th]\n", NULL,
     "1:15+3 error: `9th` can't be a name | a name is at most 64 letters, digits, - and _, and "
     "starts with a letter"},
    {"items: [co mb]\n", NULL,
     "1:9+5 error: `co mb` can't be a name | a name is at most 64 letters, digits, - and _, "
     "and starts with a letter"},
    {"items: [true]\n", NULL,
     "1:9+4 error: `items` wants a name, not true | help: as a name it is written with quotes, "
     "\"true\""},
    {"items: [comb, Comb, comb]\n", NULL,
     "1:21+4 error: item `comb` is in the list already | first on line 1"},
    {"items: [abbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb]\n", NULL,
     "1:9+65 error: a name is too long: 65 letters | a name is at most 64 letters, digits, - "
     "and _, and starts with a letter"},
    {"chests: [{name: 5}]\n", NULL, "1:17+1 error: `name` wants a name, not the number 5"},
    {"chests: [{name: [a]}]\n", NULL, "1:17+1 error: `name` wants a name, not a list"},
    {"chests: [{name: a}]\n"
     "lines: [{name: a, cells: 1, rate: 1}]\n",
     NULL, "2:16+1 error: the name `a` is taken | by a chest, line 1"},
    {"chests: [{name: null}]\n", NULL,
     "1:17+4 error: `name` wants a name, not null | help: as a name it is written with quotes, "
     "\"null\""},
    {"+supplies: [{name: s, chest: bni, item: combs, every: 1}]\n", NULL,
     "9:29+3 error: there is no `bni`; expected a chest | known: bin, shelf | help: did you "
     "mean `bin`?\n"
     "9:40+5 error: unknown item `combs` | known: comb, spring, tray | help: did you mean "
     "`comb`?"},
    {"+supplies: [{name: s, chest: bench, item: bin, every: 1}]\n", NULL,
     "9:29+5 error: `bench` is a station; expected a chest\n"
     "9:42+3 error: unknown item `bin` | known: comb, spring, tray"},
    {"+supplies: [{name: s, chest: SHELF, item: Tray, every: 1}]\n", NULL,
     "9:29+5 error: there is no `SHELF`; expected a chest | known: bin, shelf | help: did you "
     "mean `shelf`?\n"
     "9:42+4 error: unknown item `Tray` | known: comb, spring, tray | help: did you mean "
     "`tray`?"},
    {"items: [abcd, abce]\n"
     "chests: [{name: a, start: {abcf: 1}}]\n",
     NULL, "2:28+4 error: unknown item `abcf` | known: abcd, abce"},
};

/* ---- numbers and times ---- */
static const struct message_case numbers_and_times[] = {
    {"clock: {ticks_per_second: 0}\n", NULL,
     "1:27+1 error: `ticks_per_second` is out of range: 0 | allowed: 1 to 1,000,000"},
    {"clock: {ticks_per_second: 1000001}\n", NULL,
     "1:27+7 error: `ticks_per_second` is out of range: 1000001 | allowed: 1 to 1,000,000"},
    {"clock: {ticks_per_second: 1,5}\n", NULL,
     "1:29+1 error: unknown key `5` in `clock` | keys of `clock`: ticks_per_second | help: "
     "decimals have a point, as in 1.5"},
    {"clock:\n"
     "  ticks_per_second: 1,5\n",
     NULL,
     "2:21+3 error: `ticks_per_second` wants a whole number, not the text `1,5` | a number is "
     "written with digits and at most one point between them | help: decimals have a point, as in "
     "1.5"},
    {"run:\n"
     "  for: 1,5 min\n",
     NULL,
     "2:8+7 error: `for` wants a duration, not the text `1,5 min` | a duration is a number of "
     "seconds, a number with ms, s, min, h or d, or a clock time H:MM:SS | help: decimals have a "
     "point, as in 1.5"},
    {"clock: {ticks_per_second: 1.5}\n", NULL,
     "1:27+3 error: `ticks_per_second` wants a whole number, not the number 1.5"},
    {"clock: {ticks_per_second: '5'}\n", NULL,
     "1:27+3 error: `ticks_per_second` wants a whole number, not the text `5` | help: remove the "
     "quotes"},
    {"clock: {ticks_per_second: 012}\n", NULL,
     "1:27+3 error: `ticks_per_second` wants a whole number, not the text `012` | a number is "
     "written with digits and at most one point between them"},
    {"clock: {ticks_per_second: 1_000}\n", NULL,
     "1:27+5 error: `ticks_per_second` wants a whole number, not the text `1_000` | a number "
     "is written with digits and at most one point between them"},
    {"clock: {ticks_per_second: ten}\n", NULL,
     "1:27+3 error: `ticks_per_second` wants a whole number, not the text `ten`"},
    {"clock: {ticks_per_second: [5]}\n", NULL,
     "1:27+1 error: `ticks_per_second` wants a whole number, not a list"},
    {"clock: {ticks_per_second: ~}\n", NULL,
     "1:27+1 error: `ticks_per_second` wants a whole number, not ~"},
    {"clock: {ticks_per_second: }\n", NULL,
     "1:27+1 error: `ticks_per_second` wants a whole number, not nothing"},
    {"run: {seed: 9007199254740992}\n", NULL,
     "1:13+16 error: `seed` is out of range: 9007199254740992 | allowed: 0 to "
     "9,007,199,254,740,991"},
    {"run: {seed: 99999999999999999999}\n", NULL,
     "1:13+20 error: `seed` is out of range: 99999999999999999999 | at most "
     "9,007,199,254,740,991"},
    {"run: {seed: -1}\n", NULL,
     "1:13+2 error: `seed` is out of range: -1 | allowed: 0 to 9,007,199,254,740,991"},
    {"run: {for: 10 mins}\n", NULL,
     "1:12+7 error: `for` wants a duration, not the text `10 mins` | a duration is a number of "
     "seconds, a number with ms, s, min, h or d, or a clock time H:MM:SS"},
    {"run: {for: 1:62:00}\n", NULL,
     "1:12+7 error: `for` wants a duration, not the text `1:62:00` | a duration is a number of "
     "seconds, a number with ms, s, min, h or d, or a clock time H:MM:SS"},
    {"run: {for: -3}\n", NULL, "1:12+2 error: `for` is less than 0"},
    {"run: {for: {exponential: 3}}\n", NULL,
     "1:12+1 error: `for` wants a duration, not a map | a duration is a number of seconds, a "
     "number with ms, s, min, h or d, or a clock time H:MM:SS"},
    {"run: {for: 2000000000000 min}\n", NULL,
     "1:12+17 error: `for` is too long | at most 2^53 ticks, at 100 ticks a second"},
    {"run: {for: 1234567890123456789}\n", NULL,
     "1:12+19 error: `for` is too long | at most 2^53 ticks, at 100 ticks a second"},
    {"run: {for: 0.1234567890123456789}\n", NULL,
     "1:12+21 warning: `for` has more than 18 digits after the point | it is rounded to whole "
     "ticks, exactly as written"},
    {"run: {for: 1 min, warm_up: 60}\n", NULL,
     "1:28+2 warning: `warm_up` is not shorter than the run: nothing is left to sum up"},
    {"watch: {every: 0}\n", NULL, "1:16+1 error: `every` must be more than 0"},
    {"watch: {congested_at: 0}\n", NULL,
     "1:23+1 error: `congested_at` is out of range: 0 | allowed: more than 0, at most 1"},
    {"watch: {congested_at: 0.1234567890123456789}\n", NULL,
     "1:23+21 warning: `congested_at` has more digits after the point than are kept | it is "
     "rounded to 18"},
    {"watch: {congested_at: 1.01}\n", NULL,
     "1:23+4 error: `congested_at` is out of range: 1.01 | allowed: more than 0, at most 1"},
    {"title: 5\n", NULL,
     "1:8+1 error: `title` wants a text, not the number 5 | help: put it in quotes"},
    {"title: true\n", NULL, "1:8+4 error: `title` wants a text, not true | help: put it in quotes"},
    {"title: \"a\\nb\"\n", NULL, "1:8+6 error: `title` is one line, without control characters"},
};

/* ---- distributions ---- */
static const struct message_case distributions[] = {
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: 0}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:50+1 error: `time` must be more than 0"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: 0.000}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:50+5 error: `time` must be more than 0"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {exponetial: 3}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL,
     "2:51+10 error: unknown key `exponetial` in a distribution | keys of a distribution: "
     "exponential, uniform, normal, lognormal, gamma, weibull, triangular, geometric | help: "
     "did you mean `exponential`?"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:50+1 error: a distribution is one key, as {exponential: 6 s}"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {exponential: 3, normal: [1, 2]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:50+1 error: a distribution is one key, as {exponential: 6 s}"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {exponential: [3]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL,
     "2:64+1 error: `exponential` wants a duration, not a list | a duration is a number of "
     "seconds, a number with ms, s, min, h or d, or a clock time H:MM:SS"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {exponential: 0}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:64+1 error: `exponential` wants a time of more than 0"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {uniform: 3}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:60+1 error: `uniform` wants [LOW, HIGH]"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {uniform: [3, 2]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:60+1 error: `uniform` wants [LOW, HIGH] in rising order"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {uniform: [0, 0]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:60+1 error: `uniform` wants a time of more than 0"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {normal: [1 s, -2]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:65+2 error: `normal` is less than 0"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {normal: [1]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:59+1 error: `normal` wants [MEAN, SD]"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {normal: [0, 1]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:59+1 error: `normal` wants a time of more than 0"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {lognormal: [1, 0]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL,
     "2:66+1 error: a coefficient of variation is out of range: 0 | allowed: more than 0, at "
     "most 1000"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {lognormal: [1, 1001]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL,
     "2:66+4 error: a coefficient of variation is out of range: 1001 | allowed: more than 0, "
     "at most 1000"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {gamma: [1, x]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:62+1 error: `gamma` wants a number, not the text `x`"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {weibull: [1, 0.04]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:64+4 error: a shape is out of range: 0.04 | allowed: 0.05 to 1000"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {weibull: [0, 1]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:60+1 error: `weibull` wants a time of more than 0"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {triangular: [1, 3, 2]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:63+1 error: `triangular` wants [LOW, MODE, HIGH] in rising order"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {triangular: [2, 2, 2]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:63+1 error: `triangular` has no width"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {geometric: 0}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:62+1 error: `geometric` is out of range: 0 | allowed: more than 0, at most 1"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {geometric: 1.5}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:62+3 error: `geometric` is out of range: 1.5 | allowed: more than 0, at most 1"},
    {"items: [tray]\n"
     "stations: [{name: bench, makes: {tray: 1}, time: {weibull: [100 d, 0.05]}}]\n"
     "arms: [{name: out, from: bench, to: shelf, swing: 1}]\n"
     "chests: [{name: shelf}]\n",
     NULL, "2:60+1 error: `time` is too long | at most 2^53 ticks, at 100 ticks a second"},
};

/* ---- items, loops and lines ---- */
static const struct message_case items_loops_and_lines[] = {
    {"items: {comb: {lenght: 2}}\n", NULL,
     "1:16+6 error: unknown key `lenght` in an item | keys of an item: length | help: did you "
     "mean `length`?"},
    {"items: {comb: {length: 0}}\n", NULL,
     "1:24+1 error: `length` is out of range: 0 | allowed: 1 to 1,000,000"},
    {"items: {comb: {length: 1000001}}\n", NULL,
     "1:24+7 error: `length` is out of range: 1000001 | allowed: 1 to 1,000,000"},
    {"loops: [{name: ring, cells: 0, rate: 1}]\n", NULL,
     "1:29+1 error: `cells` is out of range: 0 | allowed: 1 to 1,000,000"},
    {"loops: [{name: ring, cells: 1000001, rate: 1}]\n", NULL,
     "1:29+7 error: `cells` is out of range: 1000001 | allowed: 1 to 1,000,000"},
    {"loops: [{name: ring, cells: 5, rate: 101}]\n", NULL,
     "1:38+3 error: `rate` is above the tick rate: 101 | a belt makes at most one step a tick, "
     "100 a second | help: raise `ticks_per_second` of `clock`"},
    {"loops: [{name: ring, cells: 5, rate: 100.000000001}]\n", NULL,
     "1:38+13 error: `rate` is above the tick rate: 100.000000001 | a belt makes at most one "
     "step a tick, 100 a second | help: raise `ticks_per_second` of `clock`"},
    {"loops: [{name: ring, cells: 5, rate: 0}]\n", NULL,
     "1:38+1 error: `rate` is out of range: 0 | allowed: more than 0, at most 1,000,000"},
    {"loops: [{name: ring, cells: 5, rate: 3.33333333333333333}]\n", NULL,
     "1:38+19 warning: `rate` has more digits after the point than are kept | it is rounded to "
     "16"},
    {"loops: [{name: ring, cells: 5, rate: 1/3}]\n", NULL,
     "1:38+3 error: `rate` wants a number, not the text `1/3` | a number is written with "
     "digits and at most one point between them"},
    {"loops: [{name: ring, cells: 5, rate: 1, lanes: []}]\n", NULL,
     "1:48+1 error: `lanes` is an empty list"},
    {"loops: [{name: ring, cells: 5, rate: 1, lanes: outer}]\n", NULL,
     "1:48+5 error: `lanes` wants a list, not the text `outer` | help: a list of one is "
     "written [outer]"},
    {"loops: [{name: ring, cells: 5, rate: 1, lanes: [a, b, c, d, e, f, g, h, i]}]\n", NULL,
     "1:48+1 error: a loop has 1 to 8 lanes, not 9"},
    {"loops: [{name: ring, cells: 5, rate: 1, lanes: [a, a]}]\n", NULL,
     "1:52+1 error: there is already a lane `a`"},
    {"lines: [{name: queue, cells: 5, rate: 1, lanes: [a]}]\n", NULL,
     "1:42+5 error: unknown key `lanes` in a line | keys of a line: name, cells, rate, breaks"},
    {"loops: [{name: ring, cells: 5, rate: 1, breaks: {after: 0}}]\n", NULL,
     "1:49+1 error: `breaks` lacks `repair` | `repair`: a duration or a distribution, more "
     "than 0; from breakdown to repair\n"
     "1:57+1 error: `after` must be more than 0"},
};

/* ---- chests ---- */
static const struct message_case chests[] = {
    {"items: [comb]\n"
     "chests: [{name: a, capacity: -1}]\n",
     NULL, "2:30+2 error: `capacity` is out of range: -1 | allowed: 0 to 1,000,000,000,000"},
    {"items: [comb]\n"
     "chests: [{name: a, capacity: null}]\n",
     NULL,
     "2:30+4 error: `capacity` wants a whole number, not null | help: leave `capacity` out for "
     "a chest without bound"},
    {"items: [comb]\n"
     "chests: [{name: a, capacity: 1000000000001}]\n",
     NULL,
     "2:30+13 error: `capacity` is out of range: 1000000000001 | allowed: 0 to "
     "1,000,000,000,000"},
    {"items: [comb]\n"
     "chests: [{name: a, start: [comb]}]\n",
     NULL, "2:27+1 error: `start` wants a map of items and counts, not a list"},
    {"items: [comb]\n"
     "chests: [{name: a, start: {comb: many}}]\n",
     NULL, "2:34+4 error: `comb` wants a whole number, not the text `many`"},
    {"items: [comb, tray]\n"
     "chests: [{name: a, capacity: 5, start: {comb: 4, tray: 2}}]\n",
     NULL,
     "2:40+1 error: `start` holds more than the chest: 6 items | its capacity is 5 | help: raise "
     "`capacity`, or start with less"},
    {"items: [comb]\n"
     "chests: [{name: a, limits: {comb: 3}, start: {comb: 4}}]\n",
     NULL, "2:53+1 error: `start` has more `comb` than the chest may hold: 4 | its limit is 3"},
};

/* ---- stations ---- */
static const struct message_case stations[] = {
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1}]\n",
     NULL,
     "2:12+1 error: a station that takes and makes nothing | `takes` or `makes` must name an "
     "item"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, takes: {}, makes: {}}]\n",
     NULL,
     "2:12+1 error: a station that takes and makes nothing | `takes` or `makes` must name an "
     "item"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, takes: {comb: 0}, makes: {tray: 1}}]\n",
     NULL, "2:49+1 error: `comb` is out of range: 0 | allowed: 1 to 1,000,000,000,000"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: [tray]}]\n",
     NULL, "2:42+1 error: `makes` wants a map of items and counts, not a list"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: {chance: 0.5}}}]\n",
     NULL,
     "2:49+1 error: an output lacks `count` | `count`: a whole number, from 1; how many a "
     "batch gives"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: {count: 1, chance: 1.01}}}]\n",
     NULL, "2:68+4 error: `chance` is out of range: 1.01 | allowed: 0 to 1"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: {count: 1, chance: likely}}}]\n",
     NULL, "2:68+6 error: `chance` wants a number, not the text `likely`"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: 3}, room: 0}]\n",
     NULL, "2:59+1 error: `room` is out of range: 0 | allowed: 1 to 1,000,000,000,000"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: 3}, room: {tray: 2}}]\n",
     NULL, "2:66+1 error: `room` is below one batch of `tray` | a batch makes 3"},
    {"items: [comb]\n" /* of what is no number nothing more is said */
     "chests: [{name: bin, start: {comb: 5}, limits: {comb: many}}]\n"
     "stations: [{name: bench, time: 1, makes: {comb: 3}, room: {comb: few}}]\n",
     NULL,
     "2:55+4 error: `comb` wants a whole number, not the text `many`\n"
     "3:66+3 error: `comb` wants a whole number, not the text `few`"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: 3}, room: {comb: 2}}]\n",
     NULL, "2:60+4 error: station `bench` does not make `comb`"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: 3}, room: [2]}]\n",
     NULL, "2:59+1 error: `room` wants a whole number or a map of counts, not a list"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, makes: {tray: 3}, room: 1000000000000}]\n",
     NULL,
     "2:59+13 error: room for 1000000000000 batches of `tray` is too much | at most "
     "1,000,000,000,000 items"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, takes: {comb: 3}, makes: {tray: 3}, ahead: "
     "1000000000000}]\n",
     NULL,
     "2:78+13 error: stock for 1000000000000 batches of `comb` is too much | at most "
     "1,000,000,000,000 items"},
    {"items: [comb, tray]\n"
     "stations: [{name: bench, time: 1, takes: {comb: 3}, makes: {tray: 3}, ahead: 0}]\n",
     NULL, "2:78+1 error: `ahead` is out of range: 0 | allowed: 1 to 1,000,000,000,000"},
};

/* ---- arms and places ---- */
static const struct message_case arms_and_places[] = {
    {"+- {name: a, from: bin, to: shelf}\n", NULL,
     "9:3+1 error: an arm lacks `swing` | `swing`: a duration or a distribution; the time for out "
     "and back; 0 is a diverter, a merge or a hand-over"},
    {"+- {name: a, from: ring@3, to: shelf, swing: 1}\n", NULL,
     "9:19+6 error: loop `ring` has 2 lanes: which one? | help: write `ring/outer` or "
     "`ring/inner`"},
    {"+- {name: a, from: ring/outr@3, to: shelf, swing: 1}\n", NULL,
     "9:19+11 error: loop `ring` has no lane `outr` | known: outer, inner | help: did you mean "
     "`outer`?"},
    {"+- {name: a, from: mono/outer@3, to: shelf, swing: 1}\n", NULL,
     "9:19+12 error: loop `mono` has no lane `outer` | known: lane"},
    {"+- {name: a, from: ring/outer, to: shelf, swing: 1}\n", NULL,
     "9:19+10 error: which cell of `ring/outer`? | help: write the cell after an @, as in "
     "`ring/outer@0`"},
    {"+- {name: a, from: queue, to: shelf, swing: 1}\n", NULL,
     "9:19+5 error: which cell of `queue`? | help: write the cell after an @, as in `queue@0`"},
    {"+- {name: a, from: queue/a@1, to: shelf, swing: 1}\n", NULL,
     "9:19+9 error: line `queue` has no lanes"},
    {"+- {name: a, from: ring/outer@10, to: shelf, swing: 1}\n", NULL,
     "9:19+13 error: there is no cell 10 on `ring` | its cells are 0 to 9"},
    {"+- {name: a, from: queue@-1, to: shelf, swing: 1}\n", NULL,
     "9:19+8 error: there is no cell -1 on `queue` | its cells are 0 to 2"},
    {"+- {name: a, from: queue@one, to: shelf, swing: 1}\n", NULL,
     "9:19+9 error: a cell is a whole number, not `one`"},
    {"+- {name: a, from: bin@1, to: shelf, swing: 1}\n", NULL,
     "9:19+5 error: `bin` is a chest: it has no lanes or cells"},
    {"+- {name: a, from: bin/a, to: shelf, swing: 1}\n", NULL,
     "9:19+5 error: `bin` is a chest: it has no lanes or cells"},
    {"+- {name: a, from: in, to: shelff, swing: 1}\n", NULL,
     "9:19+2 error: `in` is an arm; expected a chest, a station, or a cell of a loop or line\n"
     "9:27+6 error: there is no `shelff`; expected a chest, a station, or a cell of a loop or "
     "line | known: ring, mono, queue, bin, shelf, bench | help: did you mean `shelf`?"},
    {"+- {name: a, from: 5, to: [shelf], swing: 1}\n", NULL,
     "9:19+1 error: `from` wants a name, not the number 5\n"
     "9:26+1 error: `to` wants a name, not a list"},
    {"+- {name: a, from: bin, to: shelf, items: comb, swing: 1}\n", NULL,
     "9:42+4 error: `items` wants a list, not the text `comb` | help: a list of one is written "
     "[comb]"},
    {"+- {name: a, from: bin, to: shelf, items: [], swing: 1}\n", NULL,
     "9:42+1 error: `items` is an empty list"},
    {"+- {name: a, from: bin, to: shelf, items: [comb, comb], swing: 1}\n", NULL,
     "9:49+4 error: `comb` is in the list already"},
    {"+- {name: a, from: bin, to: bench, items: [comb, spring], swing: 1}\n", NULL,
     "9:49+6 error: station `bench` does not take `spring`"},
    {"+- {name: a, from: bin, to: shelf, hand: 0, swing: 1}\n", NULL,
     "9:41+1 error: `hand` is out of range: 0 | allowed: 1 to 10,000"},
    {"+- {name: a, from: bin, to: shelf, hand: 10001, swing: 1}\n", NULL,
     "9:41+5 error: `hand` is out of range: 10001 | allowed: 1 to 10,000"},
    {"+- {name: a, from: bin, to: shelf, swing: -1}\n", NULL,
     "9:42+2 error: `swing` is less than 0"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, linger: {exponential: 1}}\n", NULL,
     "9:53+1 error: `linger` wants a duration, not a map | a duration is a number of seconds, "
     "a number with ms, s, min, h or d, or a clock time H:MM:SS"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, choose: randm}\n", NULL,
     "9:53+5 error: `choose` wants one of its words, not the text `randm` | known: in_turn, "
     "random | help: did you mean `random`?"},
    {"items: {case: {length: 4}}\n"
     "lines: [{name: queue, cells: 3, rate: 1}]\n"
     "chests: [{name: bin}]\n"
     "arms: [{name: a, from: bin, to: queue@2, swing: 1}]\n",
     NULL,
     "4:8+1 error: arm `a` has no item that it could carry | at most 3 cells are free for one "
     "there"},
    {"items: {case: {length: 4}}\n"
     "lines: [{name: queue, cells: 9, rate: 1}]\n"
     "chests: [{name: bin}]\n"
     "arms: [{name: a, from: bin, to: queue@2, items: [case], swing: 1}]\n",
     NULL,
     "4:50+4 error: `case` is too long for where the arm works | it is 4 cells long, and at "
     "most 3 fit"},
    {"chests: [{name: bin}]\n"
     "arms: [{name: a, from: bin, to: bin, swing: 1}]\n",
     NULL, "2:8+1 error: arm `a` has no item that it could carry | the scenario has no items"},
    {"items: [tray]\n"
     "chests: [{name: bin}]\n"
     "stations: [{name: s, makes: {tray: 1}, time: 1}]\n"
     "arms: [{name: a, from: bin, to: s, swing: 1}]\n",
     NULL, "4:8+1 error: arm `a` has no item that it could carry | station `s` takes nothing"},
};

/* ---- gates ---- */
static const struct message_case gates[] = {
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {below: 3}}\n", NULL,
     "9:51+1 error: a gate lacks what it reads: `chest`, `station`, `loop`, `lane` or `line` | "
     "help: for example {chest: shelf, below: 20}: open while fewer than 20 items lie there"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin}}\n", NULL,
     "9:51+1 error: a gate lacks `below` or `at_least` | help: `below: 20` is open while the count "
     "is less than 20, `at_least: 20` from 20 on"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 3, at_least: 2}}\n",
     NULL, "9:74+8 error: `below` and `at_least` exclude each other | help: keep one of them"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, loop: ring, below: 3}}\n",
     NULL, "9:64+4 error: `chest` and `loop` exclude each other | help: keep one of them"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 3, reopen_below: "
     "4}}\n",
     NULL,
     "9:88+1 error: `reopen_below` is above `below`: 4 | `below` is 3 | help: the gate shuts at "
     "`below`, and opens again under `reopen_below`, the less"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 3, "
     "reopen_below: 2}}\n",
     NULL,
     "9:77+12 error: `reopen_below` does not go with `at_least` | help: only `below` can have a "
     "second threshold"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, input: comb, below: 3}}\n",
     NULL,
     "9:64+5 error: `input` does not go with `chest` | help: write `item` with the item's name"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {station: bench, below: 3}}\n", NULL,
     "9:51+1 error: a gate lacks `input` or `output` | help: write the item whose stock is read: "
     "of what the station takes, or what it makes"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {station: bench, item: comb, input: "
     "comb, below: 3}}\n",
     NULL,
     "9:68+4 error: `item` does not go with `station` | help: write `input` or `output` with "
     "the item's name"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {station: bench, input: tray, below: "
     "3}}\n",
     NULL, "9:75+4 error: station `bench` does not take `tray`"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {station: bench, output: comb, below: "
     "3}}\n",
     NULL, "9:76+4 error: station `bench` does not make `comb`"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {lane: ring, below: 3}}\n", NULL,
     "9:58+4 error: loop `ring` has 2 lanes: which one? | help: write `ring/outer` or "
     "`ring/inner`"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {lane: queue, below: 3}}\n", NULL,
     "9:58+5 error: `queue` is a line; expected a lane, LOOP/LANE"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {lane: ring/outer@3, below: 3}}\n", NULL,
     "9:58+12 error: this must be a whole lane, without `@3`"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {loop: ring/outer, below: 3}}\n", NULL,
     "9:58+10 error: there is no `ring/outer`; expected a loop | known: ring, mono"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {line: queue, item: comd, below: 3}}\n",
     NULL,
     "9:71+4 error: unknown item `comd` | known: comb, spring, tray | help: did you mean "
     "`comb`?"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {all: []}}\n", NULL,
     "9:57+1 error: `all` is an empty list"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {all: {chest: bin, below: 3}}}\n", NULL,
     "9:57+1 error: `all` wants a list, not a map"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {any: [{chest: bin, below: 3}, "
     "{chest: bin}], below: 4}}\n",
     NULL,
     "9:82+1 error: a gate lacks `below` or `at_least` | help: `below: 20` is open while the count "
     "is less than 20, `at_least: 20` from 20 on\n9:97+5 error: `below` does not go with `any` | "
     "help: write it into the gates of the list"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: [{chest: bin, below: 3}]}\n", NULL,
     "9:51+1 error: a gate is written as a map, not a list"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 0}}\n", NULL,
     "9:71+1 warning: a gate with `below: 0` never opens"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 0}}\n", NULL,
     "9:74+1 warning: a gate with `at_least: 0` is always open"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 3, reopen_below: "
     "0}}\n",
     NULL, "9:88+1 warning: a gate with `reopen_below: 0` never opens again"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {any: [{chest: shelf, below: 9}, "
     "{chest: shelf, below: 10}]}}\n",
     "chests.shelf.capacity=9",
     "9:51+1 warning: a gate with `below: 10` never shuts | `shelf` holds 9 of that at most"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: shelf, item: comb, at_least: "
     "5}}\n",
     "chests.shelf.limits={comb: 4}",
     "9:51+1 warning: a gate with `at_least: 5` never opens | `shelf` holds 4 of that at most"},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: shelf, below: 10}}\n"
     "incidents: [{at: 1, set: {gate: a, below: 3}}]\n",
     "chests.shelf.capacity=9", ""},
};

/* ---- supplies and demands ---- */
static const struct message_case supplies_and_demands[] = {
    {"+supplies: [{name: s, chest: bin, item: comb, every: 0}]\n", NULL,
     "9:53+1 error: `every` must be more than 0"},
    {"+supplies: [{name: s, chest: bin, item: comb, every: 1, batch: 0}]\n", NULL,
     "9:63+1 error: `batch` is out of range: 0 | allowed: 1 to 1,000,000"},
    {"+supplies: [{name: s, chest: bin, item: comb, every: 1, when_full: backlog}]\n", NULL,
     "9:67+7 error: `when_full` wants one of its words, not the text `backlog` | known: hold, "
     "lose"},
    {"+supplies: [{name: s, chest: bin, item: comb, every: 1, until: 5, from: 6}]\n", NULL,
     "9:63+1 warning: `s` ends before it begins"},
    {"+supplies: [{name: s, chest: bin, item: comb, every: 0.123}]\n", NULL,
     "9:53+5 warning: rounding to ticks makes `every` 0.12 s, more than 0.5 % off | help: "
     "raise `ticks_per_second`, now 100"},
    {"+demands: [{name: d, chest: shelf, item: tray, every: 1, when_short: hold}]\n", NULL,
     "9:69+4 error: `when_short` wants one of its words, not the text `hold` | known: backlog, "
     "lose"},
    {"+demands: [{name: d, chest: shelf, item: tray, every: 1, outlet: true, when_short: lose}]\n",
     NULL,
     "9:71+10 error: `when_short` is not for an outlet | an outlet takes what is there, and owes "
     "and "
     "loses nothing"},
    {"+demands: [{name: d, chest: shelf, item: tray, every: 1, outlet: 1}]\n", NULL,
     "9:65+1 error: `outlet` wants true or false, not the number 1"},
    {"+demands: [{name: d, chest: shelf, item: tray, every: 1, gate: {chest: bin, below: 1}}]\n",
     NULL,
     "9:57+4 error: unknown key `gate` in a demand | keys of a demand: name, chest, item, "
     "every, batch, first, from, until, when_short, outlet"},
    {"+demands: [{name: d, chest: shelf, item: tray, every: 1, breaks: {after: 1, repair: "
     "1}}]\n",
     NULL,
     "9:57+6 error: unknown key `breaks` in a demand | keys of a demand: name, chest, item, "
     "every, batch, first, from, until, when_short, outlet"},
};

/* ---- incidents ---- */
static const struct message_case incidents[] = {
    {"+incidents:\n"
     "- {stop: in}\n",
     NULL,
     "10:3+1 error: an incident lacks `at` or `every` | help: `at: 10 min` is once, `every: 2 h` "
     "again and again"},
    {"+incidents:\n"
     "- {at: 1}\n",
     NULL,
     "10:3+1 error: an incident lacks what happens: `drop`, `clear`, `stop`, `start` or `set` | "
     "help: for example `stop: ARM`, or drop: {item: ITEM, count: 5, lane: LOOP/LANE}"},
    {"+incidents:\n"
     "- {at: 1, every: 2, stop: in}\n",
     NULL, "10:11+5 error: `at` and `every` exclude each other | help: keep one of them"},
    {"+incidents:\n"
     "- {at: 1, first: 2, stop: in}\n",
     NULL,
     "10:11+5 error: `first` does not go with `at` | help: `at` says when it happens; `first` goes "
     "with `every`"},
    {"+incidents:\n"
     "- {at: 1, stop: in, start: in}\n",
     NULL, "10:21+5 error: `stop` and `start` exclude each other | help: keep one of them"},
    {"+incidents:\n"
     "- {at: 1, stop: *in}\n",
     NULL,
     "10:17+3 error: aliases are not used here | help: write the value out wherever it is "
     "wanted"},
    {"+incidents:\n"
     "- {at: 1, stop: bin}\n",
     NULL,
     "10:17+3 error: `bin` is a chest; expected an arm, station, supply, demand, loop or line"},
    {"+incidents:\n"
     "- {at: 1, stop: inn}\n",
     NULL,
     "10:17+3 error: there is no `inn`; expected an arm, station, supply, demand, loop or "
     "line | known: ring, mono, queue, bench, in, out | help: did you mean `in`?"},
    {"+incidents:\n"
     "- {at: 1, drop: {item: comb, lane: ring/outer}}\n",
     NULL, "10:17+1 error: `drop` lacks `count` | `count`: a whole number, from 1; how many"},
    {"+incidents:\n"
     "- {at: 1, drop: {item: comb, count: 3}}\n",
     NULL, "10:17+1 error: `drop` lacks `lane` or `line`"},
    {"+incidents:\n"
     "- {at: 1, drop: {item: comb, count: 0, lane: ring}}\n",
     NULL,
     "10:37+1 error: `count` is out of range: 0 | allowed: 1 to 1,000,000,000,000\n"
     "10:46+4 error: loop `ring` has 2 lanes: which one? | help: write `ring/outer` or "
     "`ring/inner`"},
    {"+incidents:\n"
     "- {at: 1, drop: {item: comb, count: 3, line: mono}}\n",
     NULL, "10:46+4 error: `mono` is a loop; expected a line"},
    {"+incidents:\n"
     "- {at: 1, clear: ring/outer}\n",
     NULL,
     "10:18+10 error: `clear` is written as a map, not the text `ring/outer` | help: write {item: "
     "..., ...}"},
    {"+incidents:\n"
     "- {at: 1, clear: {lane: ring/outer, line: queue}}\n",
     NULL, "10:37+4 error: `lane` and `line` exclude each other | help: keep one of them"},
    {"+incidents:\n"
     "- {at: 1, set: {}}\n",
     NULL,
     "10:16+1 error: `set` lacks `chest` or `gate` | help: for example {chest: CHEST, capacity: "
     "30}, or {gate: ARM, below: 12}"},
    {"+incidents:\n"
     "- {at: 1, set: {chest: bin}}\n",
     NULL,
     "10:16+1 error: `set` lacks `capacity` | help: for example `capacity: 30`; null is no bound"},
    {"+incidents:\n"
     "- {at: 1, set: {chest: bin, capacity: }}\n",
     NULL, "10:39+1 error: `capacity` wants a whole number, not nothing"},
    {"+incidents:\n"
     "- {at: 1, set: {chest: bin, below: 3}}\n",
     NULL,
     "10:29+5 error: `below` does not go with `chest` | help: a chest has a `capacity`; to set the "
     "threshold of a gate write `gate: ARM`"},
    {"+incidents:\n"
     "- {at: 1, set: {gate: in, below: 3}}\n",
     NULL, "10:23+2 error: `in` has no gate"},
    {"+incidents:\n"
     "- {at: 1, set: {gate: bin, below: 3}}\n",
     NULL, "10:23+3 error: `bin` is a chest; expected an arm, station or supply with a gate"},
    {"+incidents:\n"
     "- {at: 1, set: {gate: in}}\n",
     NULL, "10:16+1 error: `set` lacks a threshold: `below`, `at_least` or `reopen_below`"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: both, below: 3}}\n",
     NULL,
     "13:23+4 error: the gate of `both` is made of several gates: its thresholds cannot be set"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: plain, below: 3}}\n",
     NULL, "13:30+5 error: the gate of `plain` has `at_least`, not `below`"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: plain, reopen_below: 3}}\n",
     NULL, "13:30+12 error: the gate of `plain` is no latch: it has no `reopen_below`"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, at_least: 3}}\n",
     NULL, "13:30+8 error: the gate of `latch` has `below`, not `at_least`"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, below: 3}}\n",
     NULL,
     "13:37+1 error: `reopen_below` could come to be above `below`: 4 and 3 | `reopen_below` "
     "may be 4 by then (line 9)"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, reopen_below: 10}}\n",
     NULL,
     "13:44+2 error: `reopen_below` could come to be above `below`: 10 and 9 | `below` may be "
     "9 by then (line 9)"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, reopen_below: 8}}\n"
     "- {at: 9, set: {gate: latch, below: 7}}\n",
     NULL,
     "14:37+1 error: `reopen_below` could come to be above `below`: 8 and 7 | `reopen_below` "
     "may be 8 by then (line 13)"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, below: 5, reopen_below: 6}}\n",
     NULL, "11:54+1 error: `reopen_below` could come to be above `below`: 6 and 5"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, below: 30, reopen_below: 20}}\n"
     "- {at: 2, set: {gate: latch, below: 12}}\n",
     NULL,
     "12:37+2 error: `reopen_below` could come to be above `below`: 20 and 12 | `reopen_below` "
     "may be 20 by then (line 11)"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, reopen_below: 7}}\n"
     "- {at: 2, set: {gate: latch, below: 6, reopen_below: 2}}\n",
     NULL,
     "12:37+1 error: `reopen_below` could come to be above `below`: 7 and 6 | `reopen_below` "
     "may be 7 by then (line 11)"},
    {"+- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: plain, below: 6, reopen_below: 2}}\n",
     NULL, "11:40+12 error: the gate of `plain` is no latch: it has no `reopen_below`"},
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "- {name: both, from: bin, to: shelf, swing: 1, gate: {all: [{chest: bin, below: 9}]}}\n"
     "- {name: plain, from: bin, to: shelf, swing: 1, gate: {chest: bin, at_least: 9}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, capacity: 5}}\n",
     NULL,
     "13:30+8 error: `capacity` does not go with `gate` | help: a gate has thresholds; to set the "
     "capacity of a chest write `chest: CHEST`"},
    {"items: {case: {length: 6}}\n"
     "loops: [{name: mono, cells: 5, rate: 1}]\n"
     "incidents: [{at: 1, drop: {item: case, count: 1, lane: mono}}]\n"
     "chests: [{name: bin}]\n"
     "arms: [{name: a, from: mono@1, to: bin, items: [case], swing: 1}]\n",
     NULL,
     "3:34+4 warning: `case` is longer than the lane or line it is dropped on: none appears | it "
     "is 6 cells long, "
     "there are 5\n"
     "5:49+4 error: `case` is too long for where the arm works | it is 6 cells long, and at "
     "most 5 fit"},
};

/* ---- expectations ---- */
static const struct message_case expectations[] = {
    {"+expect: {jam: no}\n", NULL, "9:15+2 error: `jam` wants true or false, not the text `no`"},
    {"+expect: {jam: 'true'}\n", NULL,
     "9:15+6 error: `jam` wants true or false, not the text `true`"},
    {"+expect: {starved: bench}\n", NULL,
     "9:19+5 error: `starved` wants a list, not the text `bench` | help: a list of one is "
     "written [bench]"},
    {"+expect: {starved: [bench, bench, bin]}\n", NULL,
     "9:27+5 error: `bench` is in the list already\n"
     "9:34+3 error: `bin` is a chest; expected a station"},
    {"+expect: {made: [tray]}\n", NULL,
     "9:16+1 error: `made` wants a map, not a list | ITEM: {at_least: x, at_most: y}, either "
     "or both"},
    {"+expect: {made: {tray: 5}}\n", NULL,
     "9:23+1 error: a bound is written as a map, not the number 5 | help: write {at_least: ..., "
     "...}"},
    {"+expect: {made: {tray: {}}}\n", NULL, "9:23+1 error: a bound lacks `at_least` or `at_most`"},
    {"+expect: {made: {tray: {at_least: 5, at_most: 4}}}\n", NULL,
     "9:46+1 error: `at_most` is below `at_least`"},
    {"+expect: {made: {tray: {at_least: -5}}}\n", NULL,
     "9:34+2 error: `at_least` is out of range: -5 | allowed: 0 to 1,000,000,000,000"},
    {"+expect: {made: {comb: {at_least: 5}}}\n", NULL, "9:17+4 warning: no station makes `comb`"},
    {"+expect: {demand_met: {tray: {at_least: 0.98}}}\n", NULL,
     "9:23+4 warning: no demand takes `tray`"},
    {"+expect: {on_lane: {ring: {at_most: 3}}}\n", NULL,
     "9:20+4 error: loop `ring` has 2 lanes: which one? | help: write `ring/outer` or "
     "`ring/inner`"},
    {"+expect: {on_lane: {mono: {at_most: 3}, mono/lane: {at_most: 3}}}\n", NULL,
     "9:40+9 error: lane `mono/lane` has a bound already"},
    {"+expect: {on_lane: {queue: {at_most: 3}}}\n", NULL,
     "9:20+5 error: `queue` is a line; expected a lane, LOOP/LANE"},
    {"+expect: {emptied: true}\n", NULL,
     "9:10+7 error: unknown key `emptied` in `expect` | keys of `expect`: jam, deadlock, "
     "drained, rest, clogged, starved, made, demand_met, on_lane"},
};

/* ---- what is useless ---- */
static const struct message_case what_is_useless[] = {
    {"+- {name: a, from: bin, to: mono@1, items: [comb], swing: 1}\n"
     "- {name: b, from: mono@1, to: shelf, swing: 1}\n",
     NULL,
     "10:19+6 warning: arms `a` and `b` work at the same cell, `mono@1` | the one that is declared "
     "first acts first"},
    {"+- {name: a, from: bin, to: mono@1, items: [comb], swing: 1}\n"
     "- {name: b, from: mono@1, to: shelf, swing: 1}\n"
     "- {name: d, from: mono@1, to: shelf, swing: 1}\n",
     NULL, "10:19+6 warning: arms `a` and `b` work at the same cell, `mono@1` | and 1 more"},
    {"+- {name: a, from: bin, to: mono@1, items: [comb], swing: 1}\n"
     "- {name: b, from: mono@1, to: shelf, swing: 1}\n"
     "- {name: d, from: bin, to: mono@3, items: [comb], swing: 1}\n"
     "- {name: e, from: mono@3, to: shelf, swing: 1}\n"
     "- {name: f, from: mono@4, to: shelf, swing: 1}\n"
     "- {name: g, from: mono@4, to: shelf, swing: 1}\n",
     NULL,
     "10:19+6 warning: arms `a` and `b` work at the same cell, `mono@1` | the one that is declared "
     "first acts first; at 2 more cells several do"},
    {"+- {name: a, from: bin, to: mono@1, items: [comb], swing: 1}\n", NULL,
     "9:28+6 warning: nothing takes anything off `mono/lane`"},
    {"+- {name: a, from: bin, to: mono@1, items: [comb], swing: 1}\n"
     "- {name: b, from: mono@2, to: shelf, items: [spring], swing: 1}\n",
     NULL,
     "9:28+6 warning: `comb` can get on `mono/lane`, and nothing takes it off\n"
     "10:19+6 warning: arm `b` never finds anything to carry"},
    {"+incidents: [{at: 1, drop: {item: spring, count: 1, line: queue}}]\n", NULL,
     "9:34+6 warning: nothing takes anything off `queue`"},
    {"+- {name: a, from: shelf, to: bin, items: [spring], swing: 1}\n", NULL,
     "9:19+5 warning: arm `a` never finds anything to carry"},
    {"items: [comb, spring, tray]\n"
     "chests: [{name: bin, start: {comb: 1}}]\n"
     "stations: [{name: bench, takes: {comb: 1, spring: 1}, makes: {tray: 1}, time: 1}, {name: "
     "idle, takes: {comb: 1}, time: 1}]\n"
     "arms: [{name: in, from: bin, to: bench, items: [comb], swing: 1}]\n",
     NULL,
     "3:43+6 warning: no arm brings `spring` to station `bench`\n"
     "3:63+4 warning: nothing takes `tray` away from station `bench` | it stops when its room "
     "is full\n"
     "3:90+4 warning: nothing feeds station `idle`"},
    {"items: [comb, spring, tray]\n"
     "chests: [{name: bin, start: {comb: 1}}]\n"
     "stations: [{name: bench, takes: {comb: 1, spring: 1}, makes: {tray: 1}, time: 1}]\n"
     "arms: [{name: in, from: bin, to: bench, swing: 1},\n"
     "       {name: out, from: bench, to: bin, items: [tray], swing: 1}]\n",
     NULL,
     "3:43+6 warning: nothing brings `spring` to where station `bench` gets it | no start, supply, "
     "station or drop on the way to it has any"},
    {"items: [NA, Nan, none, \"true\", INF, natal, \"null\"]\n", NULL,
     "1:9+2 warning: programs that read the tables may take `NA` for a missing value | another "
     "name for the item is safe\n"
     "1:13+3 warning: programs that read the tables may take `Nan` for a missing value | another "
     "name for the item is safe\n"
     "1:18+4 warning: programs that read the tables may take `none` for a missing value | another "
     "name for the item is safe\n"
     "1:24+6 warning: programs that read the tables may take `true` for a value | another name for "
     "the item is safe\n"
     "1:32+3 warning: programs that read the tables may take `INF` for a value | another name for "
     "the item is safe\n"
     "1:44+6 warning: programs that read the tables may take `null` for a missing value | another "
     "name for the item is safe"},
};

/* ---- what is allowed ---- */
static const struct message_case what_is_allowed[] = {
    /* Both at once cross nothing that is not set alone. */
    {"+- {name: latch, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 9, "
     "reopen_below: 4}}\n"
     "incidents:\n"
     "- {at: 1, set: {gate: latch, below: 30, reopen_below: 20}}\n"
     "- {at: 2, set: {gate: latch, below: 3, reopen_below: 2}}\n",
     NULL, ""},
    {"+- {name: a, from: shelf, to: bench, items: [comb], swing: 1}\n"
     "supplies: [{name: s, chest: shelf, item: comb, every: 1}]\n",
     NULL, ""},
    {"items: {comb: {}, case: {length: 9}}\n"
     "lines: [{name: queue, cells: 3, rate: 1}]\n"
     "chests: [{name: bin, start: {comb: 1, case: 1}}]\n"
     "arms:\n"
     "- {name: a, from: bin, to: queue@1, swing: 1}\n"
     "- {name: b, from: queue@2, to: bin, items: [comb], swing: 1}\n",
     NULL, ""},
    {"+- {name: a, from: bin, to: shelf, swing: 1, gate: {chest: bin, below: 3, reopen_below: "
     "3}}\n",
     NULL, ""},
    {"+", "stations.bench.room={tray: 2}", ""},
    {"+", "chests.bin.capacity=5", ""},
    {"+", "loops.ring.rate=100", ""},
    {"+", "chests.shelf.limits.tray=0", ""},
    {"+supplies: [{name: s, chest: bin, item: comb, every: 0:00:01.25, first: 0, until: "
     "'1:00:00'}]\n",
     NULL, ""},
    {"+incidents:\n"
     "- {every: 1, first: 0, clear: {lane: queue}}\n",
     NULL, ""},
};

/* ---- overrides ---- */
static const struct message_case overrides[] = {
    {"+", "run.seed",
     "--set run.seed 1+8 error: a change is written PATH=VALUE | help: loopwright paths SCENARIO "
     "lists all paths"},
    {"+", "=5", "--set =5 1+1 error: a path is section.name.key, with no piece left empty"},
    {"+", "run..seed=5",
     "--set run..seed=5 5+1 error: a path is section.name.key, with no piece left empty"},
    {"+", "run.seed=",
     "--set run.seed= 1+9 error: there is no value after `=` | help: `null` removes what "
     "the path names"},
    {"+", "run.seed=[",
     "--set run.seed=[ 11+1 error: not YAML: did not find expected node content | while parsing a "
     "flow node | help: a [ or { is not closed, or a comma is missing"},
    {"+", "runs.seed=5",
     "--set runs.seed=5 1+4 error: unknown section `runs` | help: did you mean `run`?"},
    {"+", "run.sed=5",
     "--set run.sed=5 5+3 error: unknown key `sed` in `run` | keys of `run`: for, seed, "
     "warm_up | help: did you mean `seed`?"},
    {"+", "run.seed=-5",
     "--set run.seed=-5 10+2 error: `seed` is out of range: -5 | allowed: 0 to "
     "9,007,199,254,740,991"},
    {"+", "run.seed=null", "--set run.seed=null 5+4 error: there is no `seed` to remove"},
    {"+", "run.for.x=5",
     "--set run.for.x=5 5+3 error: `for` wants a duration, not a map | a duration is a number "
     "of seconds, a number with ms, s, min, h or d, or a clock time H:MM:SS"},
    {"+", "title=[a]", "--set title=[a] 7+1 error: `title` wants a text, not a list"},
    {"+", "title.x=a", "--set title.x=a 1+5 error: `title` wants a text, not a map"},
    {"+", "chests.shelf.capcity=5",
     "--set chests.shelf.capcity=5 14+7 error: unknown key `capcity` in a chest | keys of a "
     "chest: name, capacity, start, limits | help: did you mean `capacity`?"},
    {"+", "chests.shef.capacity=5",
     "--set chests.shef.capacity=5 8+4 error: there is no `shef` in `chests` | known: bin, "
     "shelf | help: did you mean `shelf`?"},
    {"+", "chests.shelf=5",
     "--set chests.shelf=5 14+1 error: a part is written as a map, not the number 5"},
    {"+", "chests.shelf=null",
     "8:32+5 error: there is no `shelf`; expected a chest, a station, or a cell of a loop or "
     "line | known: ring, mono, queue, bin, bench"},
    {"+", "chests.nothing=null",
     "--set chests.nothing=null 8+7 error: there is no `nothing` in `chests` | known: bin, "
     "shelf"},
    {"+", "chests.bin={name: other}",
     "--set chests.bin={name: other} 19+5 error: the path and `name` differ"},
    {"+", "chests.9lives={}",
     "--set chests.9lives={} 8+6 error: `9lives` can't be a name | a name is at most 64 "
     "letters, digits, - and _, and starts with a letter"},
    {"+", "arms.new={from: bin, to: shelff, swing: 1}",
     "--set arms.new={from: bin, to: shelff, swing: 1} 26+6 error: there is no `shelff`; "
     "expected a chest, a station, or a cell of a loop or line | known: ring, mono, queue, "
     "bin, shelf, bench | help: did you mean `shelf`?"},
    {"+", "arms.in.items.1=tray",
     "--set arms.in.items.1=tray 9+5 error: `items` wants a list, not a map"},
    {"+", "arms.out.items.0=combs",
     "--set arms.out.items.0=combs 18+5 error: unknown item `combs` | known: comb, spring, "
     "tray | help: did you mean `comb`?"},
    {"+", "arms.in.swing.exponential=3",
     "--set arms.in.swing.exponential=3 15+11 error: `swing` has no parts: it is the number 1 "
     "here"},
    {"+", "incidents.0.at=3", "--set incidents.0.at=3 11+1 error: there is no `0` in `incidents`"},
    {"+", "items.glue.length=2",
     "--set items.glue.length=2 7+4 error: there is no `glue` in `items` | known: comb, "
     "spring, tray"},
    {"+", "items.comb.length=0",
     "--set items.comb.length=0 19+1 error: `length` is out of range: 0 | allowed: 1 to "
     "1,000,000"},
    {"+", "items.comb=null",
     "4:30+4 error: unknown item `comb` | known: spring, tray\n"
     "5:34+4 error: unknown item `comb` | known: spring, tray"},
    {"+", "items.comb=5",
     "--set items.comb=5 12+1 error: a part is written as a map, not the number 5"},
    {"+", "lines.queue.lanes=[a]",
     "--set lines.queue.lanes=[a] 13+5 error: unknown key `lanes` in a line | keys of a line: "
     "name, cells, rate, breaks"},
    {"+", "expect.made.tray=5",
     "--set expect.made.tray=5 18+1 error: a bound is written as a map, not the number 5 | help: "
     "write {at_least: ..., ...}"},
    {"+", "chests.bin.start.comb=&a 5",
     "--set chests.bin.start.comb=&a 5 23+4 error: anchors are not used here | help: write the "
     "value out wherever it is wanted"},
};

static const struct message_section {
    const char *name;
    const struct message_case *cases;
    size_t count;
} sections[] = {
    {"the file", the_file, LENGTH(the_file)},
    {"keys", keys, LENGTH(keys)},
    {"names", names, LENGTH(names)},
    {"numbers and times", numbers_and_times, LENGTH(numbers_and_times)},
    {"distributions", distributions, LENGTH(distributions)},
    {"items, loops and lines", items_loops_and_lines, LENGTH(items_loops_and_lines)},
    {"chests", chests, LENGTH(chests)},
    {"stations", stations, LENGTH(stations)},
    {"arms and places", arms_and_places, LENGTH(arms_and_places)},
    {"gates", gates, LENGTH(gates)},
    {"supplies and demands", supplies_and_demands, LENGTH(supplies_and_demands)},
    {"incidents", incidents, LENGTH(incidents)},
    {"expectations", expectations, LENGTH(expectations)},
    {"what is useless", what_is_useless, LENGTH(what_is_useless)},
    {"what is allowed", what_is_allowed, LENGTH(what_is_allowed)},
    {"overrides", overrides, LENGTH(overrides)},
};

/* All messages of a reading, one a line. */
static void write_messages(char *out, size_t size, const struct faults *faults) {
    size_t used = 0;
    out[0] = '\0';
    for (uint32_t i = 0; i < faults->count && used < size; i++) {
        const struct fault *fault = &faults->fault[i];
        char place[256];
        if (fault->line > 0)
            snprintf(place, sizeof place, "%u:%u", fault->line, fault->column);
        else
            snprintf(place, sizeof place, "%s %u", fault->source, fault->column);
        used += (size_t)snprintf(
            out + used, size - used, "%s%s+%u %s: %s%s%s%s%s", i > 0 ? "\n" : "", place,
            fault->width, fault->grade == FAULT_ERROR ? "error" : "warning", fault->what,
            fault->note != NULL ? " | " : "", fault->note != NULL ? fault->note : "",
            fault->help != NULL ? " | help: " : "", fault->help != NULL ? fault->help : "");
    }
}

static void try_case(const struct message_case *one) {
    char text[4096], messages[8192];
    bool goes_on = one->text[0] == '+';
    snprintf(text, sizeof text, "%s%s", goes_on ? base : "", one->text + goes_on);
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "test.yaml", &one->override,
                                              one->override != NULL, &faults);
    write_messages(messages, sizeof messages, &faults);
    ck_assert_msg(strcmp(messages, one->expected) == 0, "%s\nfound:\n%s\nexpected:\n%s", text,
                  messages, one->expected);
    ck_assert((scenario == NULL) == faults_failed(&faults));
    scenario_free(scenario);
    faults_free(&faults);
}

START_TEST(messages_are_exactly_so) {
    for (size_t i = 0; i < sections[_i].count; i++)
        try_case(&sections[_i].cases[i]);
}
END_TEST

START_TEST(what_others_go_on_from_is_without_fault) {
    const struct message_case silent = {base, NULL, ""};
    try_case(&silent);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("messages");
    TCase *tests = tcase_create("messages");
    tcase_add_loop_test(tests, messages_are_exactly_so, 0, LENGTH(sections));
    tcase_add_test(tests, what_others_go_on_from_is_without_fault);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
