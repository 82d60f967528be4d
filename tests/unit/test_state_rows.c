/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_state_rows.c - saved states of which one number was changed: what no world can be
 * is refused, up to the bound at which it can be. */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "model/scenario/limits.h"
#include "model/state/state.h"
#include "model/state/state_table.h"
#include "tests/common/suite.h"

#define LENGTH(array) (sizeof(array) / sizeof *(array))

/* After a minute both feeders are placing onto a full lane, one after the other; the line is full;
 * the bench has a batch at work, the supply is stopped. */
static const char text[] =
    "watch: {blocked_after: 1 h, jam_after: 1 h}\n"
    "items: {wheel: {}, case: {length: 2}, comb: {}}\n"
    "loops: [{name: ring, cells: 12, rate: 4, lanes: [outer, inner]}]\n"
    "lines: [{name: slide, cells: 8, rate: 5}]\n"
    "chests: [{name: bin, start: {wheel: 50, case: 50}},\n"
    "         {name: tray, capacity: 30, limits: {wheel: 9}}]\n"
    "stations: [{name: bench, takes: {case: 1}, makes: {wheel: 1}, time: {uniform: [40 s, 50 s]},\n"
    "            gate: {chest: tray, item: wheel, below: 5, reopen_below: 3}}]\n"
    "arms:\n"
    "  - {name: feeder, from: bin, to: ring/outer@3, items: [wheel], swing: 1 s}\n"
    "  - {name: second, from: bin, to: ring/outer@9, items: [wheel], swing: 2 s}\n"
    "  - {name: slider, from: bin, to: slide@3, items: [case], swing: 1 s}\n"
    "  - {name: loader, from: bin, to: bench, swing: 2 s}\n"
    "  - {name: keeper, from: bench, to: bin, swing: 2 s}\n"
    "  - {name: taker, from: ring/inner@5, to: tray, swing: 1 s, hand: 3, linger: 1 h}\n"
    "  - {name: mover, from: bin, to: tray, items: [wheel], swing: 50 s}\n"
    "supplies: [{name: post, chest: bin, item: wheel, every: 100 s}]\n"
    "demands: [{name: orders, chest: tray, item: wheel, every: 100 s}]\n"
    "incidents: [{at: 1 s, stop: post}, {at: 2 s, drop: {item: wheel, count: 1, lane: "
    "ring/inner}}]\n";
enum { FEEDER, SECOND, SLIDER, LOADER, KEEPER, TAKER, MOVER };
enum { OUTER, INNER, SLIDE }; /* tracks */
enum { WHEEL, CASE, COMB };
enum { TICKS = 6000 };

/* A number of a state: a part's own, or of one of its rows, as model/state/state_*.c name it. */
struct where {
    const char *part, *rows;
    uint32_t owner, row;
    const char *field;
};

static uint32_t width_of(enum state_kind kind) {
    return kind == STATE_FLAG || kind == STATE_BYTE ? 1
           : kind == STATE_WORD                     ? 4
           : kind == STATE_WIDE                     ? 16
                                                    : 8;
}

/* The bytes of a part's row up to a field; of the whole row where there is none. */
static size_t bytes_up_to(const struct state_part *part, const char *field, uint32_t *width) {
    size_t bytes = 0;
    for (uint32_t i = 0; i < part->field_count; i++) {
        *width = width_of(part->field[i].kind);
        if (field != NULL && strcmp(part->field[i].name, field) == 0)
            return bytes;
        bytes += *width;
    }
    ck_assert_msg(field == NULL, "%s has no %s", part->name, field != NULL ? field : "");
    return bytes;
}

static bool is_part(const struct state_part *part, const struct where *where) {
    return strcmp(part->name, where->part) == 0 &&
           (where->rows == NULL
                ? part->rows_name == NULL
                : part->rows_name != NULL && strcmp(part->rows_name, where->rows) == 0);
}

/* Moves on over all owners of a part, or up to a number of it. True: it was there. */
static bool walk_part(const struct state_part *part, const struct world *world,
                      const struct where *where, size_t *at, uint32_t *width) {
    size_t row_bytes = bytes_up_to(part, NULL, width);
    *at += 4;
    for (uint32_t owner = 0; owner < part->owners(world); owner++) {
        uint32_t rows = part->rows == NULL ? 1 : part->rows(world, owner);
        *at += part->rows == NULL ? 0 : 4;
        if (is_part(part, where) && owner == where->owner) {
            ck_assert_msg(where->row < rows, "%s has %u rows", where->part, rows);
            *at += where->row * row_bytes + bytes_up_to(part, where->field, width);
            return true;
        }
        *at += rows * row_bytes;
    }
    return false;
}

/* Where a number stands among the bytes of a state, after the three of its head. */
static size_t place_of(const struct world *world, const struct where *where, uint32_t *width) {
    size_t at = 24;
    for (int group = 0; group < STATE_GROUPS; group++)
        for (uint32_t i = 0; i < state_table[group]->count; i++)
            if (walk_part(&state_table[group]->part[i], world, where, &at, width))
                return at;
    ck_abort_msg("there is no %s", where->part);
    return 0;
}

/* ---- a state, and changes of it ---- */

static struct scenario *scenario;
static struct world *world;
static struct bytes bytes;

static void begin(void) {
    struct faults faults = {0};
    scenario = read_scenario(text, strlen(text), "test", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    faults_free(&faults);
    world = world_new(scenario);
    world_advance(world, TICKS);
    state_save(world, &bytes);
}

static void end(void) {
    bytes_free(&bytes);
    world_free(world);
    scenario_free(scenario);
}

static uint64_t number_at(const struct where *where) {
    uint32_t width;
    struct bytes_reader reader = bytes_reader_of(bytes.data, bytes.length);
    reader.at = place_of(world, where, &width);
    return bytes_take(&reader, width < 8 ? width : 8);
}

static void put_number(const struct where *where, uint64_t number) {
    uint32_t width;
    unsigned char *at = bytes.data + place_of(world, where, &width);
    for (uint32_t i = 0; i < width && i < 8; i++)
        at[i] = (unsigned char)(number >> 8 * i);
}

static bool is_restored(void) {
    struct world *other = world_new(scenario);
    uint64_t before = state_hash(other);
    bool fits = state_restore(other, bytes.data, bytes.length);
    if (!fits)
        ck_assert_uint_eq(state_hash(other), before);
    world_free(other);
    return fits;
}

/* Whether the state fits with another number in one place; it is put back. */
static bool fits_with(const struct where *where, int64_t number) {
    uint64_t was = number_at(where);
    put_number(where, (uint64_t)number);
    bool fits = is_restored();
    put_number(where, was);
    return fits;
}

#define ASSERT_FITS(number, ...)                                                                   \
    ck_assert_msg(fits_with(&(struct where)__VA_ARGS__, number), "%s", #__VA_ARGS__)
#define ASSERT_REFUSED(number, ...)                                                                \
    ck_assert_msg(!fits_with(&(struct where)__VA_ARGS__, number), "%s", #__VA_ARGS__)
/* The greatest number that fits, and the least: those beyond do not. */
#define ASSERT_MOST(number, ...)                                                                   \
    do {                                                                                           \
        ASSERT_FITS(number, __VA_ARGS__);                                                          \
        ASSERT_REFUSED((number) + 1, __VA_ARGS__);                                                 \
    } while (0)
#define ASSERT_LEAST(number, ...)                                                                  \
    do {                                                                                           \
        ASSERT_FITS(number, __VA_ARGS__);                                                          \
        ASSERT_REFUSED((number)-1, __VA_ARGS__);                                                   \
    } while (0)

/* ---- what is refused ---- */

START_TEST(the_state_as_it_is_fits) {
    begin();
    ck_assert(is_restored());
    ck_assert_uint_eq(number_at(&(struct where){"world", NULL, 0, 0, "tick"}), TICKS);
    ck_assert_uint_eq(number_at(&(struct where){"arm", NULL, FEEDER, 0, "state"}), ARM_PLACING);
    ck_assert_uint_eq(number_at(&(struct where){"arm", NULL, SECOND, 0, "state"}), ARM_PLACING);
    ck_assert_uint_eq(number_at(&(struct where){"arm", NULL, SLIDER, 0, "state"}), ARM_PLACING);
    ck_assert_uint_eq(number_at(&(struct where){"station", NULL, 0, 0, "working"}), 1);
    ck_assert_uint_eq(number_at(&(struct where){"supply", NULL, 0, 0, "stops"}),
                      STOPPED_BY_INCIDENT);
    end();
}
END_TEST

/* Each kind of field within what it may be at all. */
START_TEST(fields_are_within_their_kinds) {
    begin();
    ASSERT_MOST(1, {"station", NULL, 0, 0, "working"});
    ASSERT_MOST(TICKS, {"world", NULL, 0, 0, "last_move"});
    ASSERT_LEAST(NOT_GIVEN, {"world", NULL, 0, 0, "last_move"});
    ASSERT_MOST(STATE_TICK_MOST, {"demand", NULL, 0, 0, "due"});
    ASSERT_LEAST(NOT_GIVEN, {"demand", NULL, 0, 0, "due"});
    ASSERT_FITS(AGENDA_NEVER, {"demand", NULL, 0, 0, "due"});
    ASSERT_MOST(STATE_TICK_MOST, {"station", NULL, 0, 0, "rest_ticks"});
    ASSERT_LEAST(0, {"station", NULL, 0, 0, "rest_ticks"});
    ASSERT_MOST(STATE_AMOUNT_MOST, {"item", NULL, WHEEL, 0, "made"});
    ASSERT_LEAST(0, {"item", NULL, WHEEL, 0, "made"});
    ASSERT_MOST(STATE_AMOUNT_MOST, {"chest", NULL, 1, 0, "capacity"});
    ASSERT_LEAST(NOT_GIVEN, {"chest", NULL, 1, 0, "capacity"});
    ASSERT_FITS(NO_LIMIT, {"chest", NULL, 1, 0, "capacity"});
    end();
}
END_TEST

START_TEST(the_tick_is_that_of_the_head) {
    begin();
    ASSERT_REFUSED(TICKS - 1, {"world", NULL, 0, 0, "tick"});
    ASSERT_REFUSED(TICKS + 1, {"world", NULL, 0, 0, "tick"});
    bytes.data[0] ^= 1; /* parts of another shape */
    ck_assert(!is_restored());
    bytes.data[0] ^= 1;
    bytes.data[8] ^= 1; /* another seed: that is no fault */
    ck_assert(is_restored());
    bytes.data[23] = 0x80; /* before all time */
    ck_assert(!is_restored());
    end();
}
END_TEST

/* Nothing has happened after the tick of a state, be it the first. */
START_TEST(a_new_world_has_no_past) {
    begin();
    bytes_free(&bytes);
    struct world *first = world_new(scenario);
    world_advance(first, 0);
    state_save(first, &bytes);
    ASSERT_MOST(0, {"world", NULL, 0, 0, "last_move"});
    world_free(first);
    end();
}
END_TEST

START_TEST(nothing_stops_for_other_reasons) {
    begin();
    enum { BOTH = STOPPED_BY_INCIDENT | STOPPED_BY_BREAKDOWN };
    ASSERT_MOST(BOTH, {"station", NULL, 0, 0, "stops"});
    ASSERT_MOST(BOTH, {"arm", NULL, TAKER, 0, "stops"});
    ASSERT_MOST(BOTH, {"supply", NULL, 0, 0, "stops"});
    ASSERT_MOST(BOTH, {"demand", NULL, 0, 0, "stops"});
    end();
}
END_TEST

/* ---- belts ---- */

START_TEST(a_belt_has_made_its_steps) {
    begin();
    int64_t step = (int64_t)number_at(&(struct where){"belt", NULL, 0, 0, "step"});
    ck_assert_int_eq(step, 60 * 4);
    ASSERT_MOST(step, {"belt", NULL, 0, 0, "step"});
    ASSERT_LEAST(step, {"belt", NULL, 0, 0, "step"});
    ASSERT_LEAST(0, {"belt", NULL, 0, 0, "clock.start_tick"});
    ASSERT_LEAST(0, {"belt", NULL, 0, 0, "clock.start_step"});
    ASSERT_MOST(step, {"belt", NULL, 0, 0, "empty_step"});
    ASSERT_LEAST(0, {"belt", NULL, 0, 0, "empty_step"});
    ASSERT_MOST(step, {"belt", NULL, 0, 0, "still_step[STANDSTILL_REST]"});
    ASSERT_LEAST(0, {"belt", NULL, 0, 0, "still_step[STANDSTILL_REST]"});
    ASSERT_MOST(step, {"belt", NULL, 0, 0, "still_step[STANDSTILL_DEADLOCK]"});
    ASSERT_LEAST(0, {"belt", NULL, 0, 0, "still_step[STANDSTILL_DEADLOCK]"});
    ASSERT_MOST(step, {"track", NULL, OUTER, 0, "last_move_step"});
    ASSERT_MOST(step, {"track", NULL, OUTER, 0, "placing_since_step"});
    ASSERT_MOST(step, {"track", NULL, OUTER, 0, "crowded_step"});
    ASSERT_MOST(step, {"arm", NULL, FEEDER, 0, "placing_since_step"});
    end();
}
END_TEST

START_TEST(items_lie_where_there_is_room) {
    begin();
    int64_t first = (int64_t)number_at(&(struct where){"lane", "slot", OUTER, 0, "where"});
    ASSERT_REFUSED(first, {"lane", "slot", OUTER, 1, "where"});
    ASSERT_REFUSED(12, {"lane", "slot", OUTER, 0, "where"});
    ASSERT_REFUSED(COMB, {"lane", "slot", OUTER, 0, "item"});
    ASSERT_REFUSED(CASE, {"lane", "slot", OUTER, 0, "item"});
    ASSERT_REFUSED(COMB + 1, {"lane", "slot", OUTER, 0, "item"});
    ASSERT_REFUSED(NO_INDEX, {"lane", "slot", OUTER, 0, "item"});
    /* Three cases of two cells, at 7, 5 and 3; the last may be anywhere before. */
    ASSERT_MOST(7, {"line", "cell", 0, 0, "where"});
    ASSERT_MOST(5, {"line", "cell", 0, 1, "where"});
    ASSERT_MOST(3, {"line", "cell", 0, 2, "where"});
    ASSERT_LEAST(1, {"line", "cell", 0, 2, "where"});
    ASSERT_REFUSED(WHEEL, {"line", "cell", 0, 2, "item"});
    ASSERT_REFUSED(NO_INDEX, {"line", "cell", 0, 2, "item"});
    ASSERT_MOST(12, {"track", NULL, OUTER, 0, "cells_most"});
    ASSERT_MOST(8, {"track", NULL, SLIDE, 0, "cells_most"});
    end();
}
END_TEST

START_TEST(only_lanes_jam_and_only_jammed_ones_are_deadlocked) {
    begin();
    ASSERT_REFUSED(1, {"track", NULL, SLIDE, 0, "jam_open"});
    ASSERT_REFUSED(1, {"track", NULL, SLIDE, 0, "congested_open"});
    ASSERT_REFUSED(1, {"track", NULL, SLIDE, 0, "deadlock_open"});
    ASSERT_REFUSED(1, {"track", NULL, OUTER, 0, "deadlock_open"});
    ASSERT_FITS(1, {"track", NULL, OUTER, 0, "congested_open"});
    put_number(&(struct where){"track", NULL, OUTER, 0, "jam_open"}, 1);
    ck_assert(is_restored());
    ASSERT_FITS(1, {"track", NULL, OUTER, 0, "deadlock_open"});
    ASSERT_REFUSED(1, {"track", NULL, INNER, 0, "deadlock_open"});
    end();
}
END_TEST

/* ---- stocks ---- */

START_TEST(chests_and_stations_hold_what_can_come_there) {
    begin();
    struct where item = {"chest", "stock", 0, 0, "item"}, count = {"chest", "stock", 0, 0, "count"};
    ck_assert_uint_gt(number_at(&count), 0);
    ck_assert(!fits_with(&item, COMB));
    ck_assert(!fits_with(&item, NO_INDEX));
    int64_t others = (int64_t)number_at(&(struct where){"chest", "stock", 0, 1, "count"});
    ASSERT_MOST(STATE_AMOUNT_MOST - others, {"chest", "stock", 0, 0, "count"});
    put_number(&count, 0);
    ck_assert(fits_with(&item, COMB));
    ck_assert_uint_gt(number_at(&(struct where){"station", "input", 0, 0, "count"}), 0);
    ASSERT_REFUSED(WHEEL, {"station", "input", 0, 0, "item"});
    put_number(&(struct where){"station", "input", 0, 0, "count"}, 0);
    ASSERT_FITS(WHEEL, {"station", "input", 0, 0, "item"});
    put_number(&(struct where){"station", "output", 0, 0, "stock.count"}, 1);
    ASSERT_REFUSED(CASE, {"station", "output", 0, 0, "stock.item"});
    put_number(&(struct where){"station", "output", 0, 0, "stock.count"}, 0);
    ASSERT_FITS(CASE, {"station", "output", 0, 0, "stock.item"});
    end();
}
END_TEST

/* Only starvation and blocking are events. */
START_TEST(a_station_is_in_a_state_that_fits_its_event) {
    begin();
    struct where state = {"station", NULL, 0, 0, "state"};
    ASSERT_MOST(STATION_STATES - 1, {"station", NULL, 0, 0, "state"});
    for (int i = 0; i < STATION_STATES; i++) {
        put_number(&state, (uint64_t)i);
        ck_assert_int_eq(fits_with(&(struct where){"station", NULL, 0, 0, "event_open"}, 1),
                         i == STATION_STARVED || i == STATION_BLOCKED);
    }
    end();
}
END_TEST

/* Below these a generator of L'Ecuyer would get stuck (model/state/state_row.c). */
START_TEST(words_of_chance_are_large_enough) {
    begin();
    ASSERT_LEAST(2, {"station", NULL, 0, 0, "time.first"});
    ASSERT_LEAST(8, {"station", NULL, 0, 0, "time.second"});
    ASSERT_LEAST(16, {"station", NULL, 0, 0, "time.third"});
    end();
}
END_TEST

/* ---- arms ---- */

/* The taker has one of three in its hand and waits for more, the mover is on its way with one. */
START_TEST(hands_fit_what_their_arms_do) {
    static const bool taker_may[] = {
        [ARM_REACHING] = true, [ARM_CARRYING] = true, [ARM_PLACING] = true};
    static const bool mover_may[] = {[ARM_CARRYING] = true, [ARM_PLACING] = true};
    begin();
    for (int i = 0; i <= ARM_STOPPED; i++) {
        struct where taker = {"arm", NULL, TAKER, 0, "state"};
        struct where mover = {"arm", NULL, MOVER, 0, "state"};
        ck_assert_int_eq(fits_with(&taker, i), i <= ARM_PLACING && taker_may[i]);
        ck_assert_int_eq(fits_with(&mover, i), i <= ARM_PLACING && mover_may[i]);
    }
    ASSERT_MOST(2, {"arm", "hand", TAKER, 0, "count"}); /* a full hand reaches for nothing */
    ASSERT_LEAST(1, {"arm", "hand", TAKER, 0, "count"});
    ASSERT_MOST(LIMIT_HAND, {"arm", "hand", MOVER, 0, "count"});
    ASSERT_REFUSED(CASE, {"arm", "hand", MOVER, 0, "item"});
    ASSERT_REFUSED(COMB, {"arm", "hand", TAKER, 0, "item"});
    ASSERT_REFUSED(NO_INDEX, {"arm", "hand", TAKER, 0, "item"});
    ASSERT_MOST(STATE_TICK_MOST, {"arm", NULL, TAKER, 0, "due"});
    ASSERT_REFUSED(AGENDA_NEVER, {"arm", NULL, TAKER, 0, "due"});
    end();
}
END_TEST

/* Those that place onto a track are listed, each once, the longest waiting first, and before them
 * those of which it was told that they are blocked. */
START_TEST(who_is_listed_as_placing_places_there) {
    begin();
    struct where row[] = {{"track", "placing", OUTER, 0, "arm"},
                          {"track", "placing", OUTER, 1, "arm"}};
    uint64_t listed[] = {number_at(&row[0]), number_at(&row[1])};
    for (int64_t arm = 0; arm <= MOVER + 1; arm++)
        for (int i = 0; i < 2; i++)
            ck_assert_int_eq(fits_with(&row[i], arm), (uint64_t)arm == listed[i]);
    ck_assert(!fits_with(&row[0], NO_INDEX));
    ASSERT_REFUSED(FEEDER, {"track", "placing", SLIDE, 0, "arm"});
    for (int64_t i = 0; i < 2; i++) {
        uint32_t arm = (uint32_t)listed[i];
        ASSERT_REFUSED(STOPPED_BY_INCIDENT, {"arm", NULL, arm, 0, "stops"});
        ck_assert_int_eq(fits_with(&(struct where){"arm", NULL, arm, 0, "blocked_open"}, 1),
                         i == 0);
    }
    put_number(&row[0], listed[1]);
    put_number(&row[1], listed[0]);
    ck_assert(!is_restored());
    for (int i = 0; i < 2; i++)
        put_number(&(struct where){"arm", NULL, (uint32_t)listed[i], 0, "placing_since"}, 2000);
    ck_assert(is_restored());
    end();
}
END_TEST

/* ---- gates and the standstill ---- */

START_TEST(thresholds_are_counts) {
    begin();
    put_number(&(struct where){"gate", NULL, 0, 0, "is_set"}, 1);
    put_number(&(struct where){"gate", NULL, 0, 0, "reopen_is_set"}, 1);
    ASSERT_LEAST(0, {"gate", NULL, 0, 0, "threshold"});
    ASSERT_LEAST(0, {"gate", NULL, 0, 0, "reopen_below"});
    end();
}
END_TEST

START_TEST(what_is_clogged_is_at_rest) {
    begin();
    ASSERT_REFUSED(1, {"standstill", NULL, 0, 0, "clogged_open"});
    put_number(&(struct where){"standstill", NULL, 0, 0, "rest_open"}, 1);
    ASSERT_FITS(1, {"standstill", NULL, 0, 0, "clogged_open"});
    end();
}
END_TEST

/* A count in excess in any part, of which there may be another number or not. */
START_TEST(parts_are_as_many_as_the_scenario_has) {
    begin();
    size_t at = 24;
    uint32_t width;
    for (int group = 0; group < STATE_GROUPS; group++)
        for (uint32_t i = 0; i < state_table[group]->count; i++) {
            bytes.data[at]++;
            ck_assert(!is_restored());
            bytes.data[at]--;
            walk_part(&state_table[group]->part[i], world, &(struct where){"", NULL, 0, 0, ""}, &at,
                      &width);
        }
    ck_assert_uint_eq(at, bytes.length);
    end();
}
END_TEST

/* ---- differences ---- */

static void assert_difference(struct world *other, const char *wanted) {
    char *difference = state_diff(world, other);
    ck_assert_str_eq(difference, wanted);
    free(difference);
    world_free(other);
}

START_TEST(a_difference_is_named_by_part_and_row) {
    begin();
    ck_assert_ptr_null(state_diff(world, world));
    struct world *other = state_copy(world, scenario);
    other->tally[other->chest_total[0] + 1 + CASE].count += 2;
    char wanted[80];
    int64_t cases = world_chest_count(world, 0, CASE);
    snprintf(wanted, sizeof wanted, "chest[0].stock[1].count: %" PRId64 " is %" PRId64, cases,
             cases + 2);
    assert_difference(other, wanted);
    other = state_copy(world, scenario);
    other->line[0].item_count--;
    assert_difference(other, "line[0].cell: 3 is 2");
    other = state_copy(world, scenario);
    other->progress.used_ticks += (wide_count)5 << 64;
    assert_difference(other, "world[0].used_ticks: 0 is 5");
    end();
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, a_difference_is_named_by_part_and_row);
    tcase_add_test(tests, the_state_as_it_is_fits);
    tcase_add_test(tests, fields_are_within_their_kinds);
    tcase_add_test(tests, the_tick_is_that_of_the_head);
    tcase_add_test(tests, a_new_world_has_no_past);
    tcase_add_test(tests, nothing_stops_for_other_reasons);
    tcase_add_test(tests, a_belt_has_made_its_steps);
    tcase_add_test(tests, items_lie_where_there_is_room);
    tcase_add_test(tests, only_lanes_jam_and_only_jammed_ones_are_deadlocked);
    tcase_add_test(tests, chests_and_stations_hold_what_can_come_there);
    tcase_add_test(tests, a_station_is_in_a_state_that_fits_its_event);
    tcase_add_test(tests, words_of_chance_are_large_enough);
    tcase_add_test(tests, hands_fit_what_their_arms_do);
    tcase_add_test(tests, who_is_listed_as_placing_places_there);
    tcase_add_test(tests, thresholds_are_counts);
    tcase_add_test(tests, what_is_clogged_is_at_rest);
    tcase_add_test(tests, parts_are_as_many_as_the_scenario_has);
}

int main(void) { return suite_main("state rows", add_tests); }
