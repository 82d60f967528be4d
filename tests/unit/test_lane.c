/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_lane.c - compares lanes, whose bits turn, with plain cells that are carried on
 * one by one from cell N-1 to cell 0. Fixed seeds, all comparisons exact. */
#include "model/engine/lane.h"

#include <check.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "tests/common/dice.h"
#include "tests/common/suite.h"

enum { CELLS_MOST = 400, KINDS = 20, STEPS = 300 };

/* ---- the same, plainly ---- */

struct plain {
    uint32_t cells;
    uint32_t head[CELLS_MOST];   /* kind of the item whose head is on the floor cell, LANE_EMPTY */
    uint32_t length[CELLS_MOST]; /* of that item */
    bool held[CELLS_MOST];
};

static void plain_step(struct plain *plain) {
    uint32_t last = plain->cells - 1, head = plain->head[last], length = plain->length[last];
    bool held = plain->held[last];
    for (uint32_t cell = last; cell > 0; cell--) {
        plain->head[cell] = plain->head[cell - 1];
        plain->length[cell] = plain->length[cell - 1];
        plain->held[cell] = plain->held[cell - 1];
    }
    plain->head[0] = head;
    plain->length[0] = length;
    plain->held[0] = held;
}

/* The cell that lies `count` cells upstream, going round as often as need be. */
static uint32_t upstream(const struct plain *plain, uint32_t cell, uint32_t count) {
    return (cell + plain->cells - count % plain->cells) % plain->cells;
}

/* Room for an item with its head there. */
static bool plain_is_free(const struct plain *plain, uint32_t cell, uint32_t length) {
    for (uint32_t i = 0; i < length; i++)
        if (plain->held[upstream(plain, cell, i)])
            return false;
    return true;
}

static void plain_mark(struct plain *plain, uint32_t cell, uint32_t length, bool held) {
    for (uint32_t i = 0; i < length; i++)
        plain->held[upstream(plain, cell, i)] = held;
}

/* ---- both side by side ---- */

struct pair {
    struct lane lane;
    struct plain plain;
    int64_t steps;
    uint32_t longest; /* items are 1 .. longest cells */
    uint64_t seed;
};

static uint32_t draw(struct pair *pair, uint32_t below) {
    return (uint32_t)dice_below(&pair->seed, below);
}

static void pair_init(struct pair *pair, uint32_t cells, uint32_t longest, uint64_t seed) {
    *pair = (struct pair){.plain.cells = cells, .longest = longest, .seed = seed};
    for (uint32_t i = 0; i < cells; i++)
        pair->plain.head[i] = LANE_EMPTY;
    lane_init(&pair->lane, cells);
}

static uint32_t slot_at(const struct pair *pair, uint32_t cell) {
    return lane_slot(&pair->lane, pair->steps, cell);
}

/* Puts an item somewhere if there is room, in both; most are short. */
static void put_one(struct pair *pair) {
    uint32_t cell = draw(pair, pair->plain.cells);
    uint32_t length = 1 + draw(pair, draw(pair, 3) == 0 ? pair->longest : 1);
    uint32_t kind = draw(pair, KINDS);
    bool is_free = plain_is_free(&pair->plain, cell, length);
    if (lane_is_free(&pair->lane, slot_at(pair, cell), length) != is_free)
        ck_abort_msg("cell %" PRIu32 ": room for %" PRIu32 " is %d", cell, length, is_free);
    if (!is_free)
        return;
    lane_put(&pair->lane, slot_at(pair, cell), length, kind);
    plain_mark(&pair->plain, cell, length, true);
    pair->plain.head[cell] = kind;
    pair->plain.length[cell] = length;
}

static void take_one(struct pair *pair) {
    uint32_t cell = draw(pair, pair->plain.cells);
    if (pair->plain.head[cell] == LANE_EMPTY)
        return;
    lane_take(&pair->lane, slot_at(pair, cell), pair->plain.length[cell]);
    plain_mark(&pair->plain, cell, pair->plain.length[cell], false);
    pair->plain.head[cell] = LANE_EMPTY;
}

static void compare_cells(const struct pair *pair) {
    for (uint32_t cell = 0; cell < pair->plain.cells; cell++) {
        uint32_t slot = slot_at(pair, cell);
        if (pair->lane.kind[slot] != pair->plain.head[cell] ||
            lane_is_free(&pair->lane, slot, 1) == pair->plain.held[cell])
            ck_abort_msg("step %" PRId64 ", cell %" PRIu32, pair->steps, cell);
    }
}

/* Every slot of the window, going round as often as need be. */
static void compare_window(struct pair *pair) {
    uint32_t cell = draw(pair, pair->plain.cells), classes = draw(pair, 1 << LANE_CLASSES);
    uint64_t seen = lane_heads(&pair->lane, slot_at(pair, cell), classes), due = 0;
    for (uint32_t i = 0; i < LANE_WINDOW; i++) {
        uint32_t kind = pair->plain.head[upstream(&pair->plain, cell, i)];
        if (kind != LANE_EMPTY && (classes >> kind % LANE_CLASSES & 1) != 0)
            due |= UINT64_C(1) << i;
    }
    if (seen != due)
        ck_abort_msg("cell %" PRIu32 ", classes %" PRIx32 ": %" PRIx64 ", due is %" PRIx64, cell,
                     classes, seen, due);
}

/* No room comes before the answer. There is room then, or the answer is how far it looked: at least
 * one place, and, for items of at most half a window, all places where the whole item lies within
 * the window; for longer ones the whole ring. */
static void compare_room(struct pair *pair) {
    uint32_t cell = draw(pair, pair->plain.cells), length = 1 + draw(pair, pair->longest);
    uint32_t steps = lane_steps_to_room(&pair->lane, slot_at(pair, cell), length);
    uint32_t due = 0;
    while (due < pair->plain.cells &&
           !plain_is_free(&pair->plain, upstream(&pair->plain, cell, due), length))
        due++;
    uint32_t within = length <= LANE_WINDOW / 2 ? LANE_WINDOW - length : pair->plain.cells;
    bool right =
        due < pair->plain.cells && due <= within ? steps == due : steps >= 1 && steps <= due;
    if (due == pair->plain.cells) /* none at all: it may have looked round more than once */
        right = steps >= 1;
    if (!right)
        ck_abort_msg("cell %" PRIu32 ", length %" PRIu32 ": %" PRIu32 " steps, room after %" PRIu32
                     " of %" PRIu32,
                     cell, length, steps, due, pair->plain.cells);
}

static void play(uint32_t cells, uint32_t longest, uint64_t seed) {
    struct pair *pair = malloc(sizeof *pair);
    ck_assert_ptr_nonnull(pair);
    pair_init(pair, cells, longest, seed);
    for (int i = 0; i < STEPS; i++) {
        bool filling = i / 50 % 2 == 0;
        for (uint32_t k = 1 + draw(pair, 1 + cells / 20); k > 0; k--)
            if (draw(pair, 8) < (filling ? 6U : 2U))
                put_one(pair);
            else
                take_one(pair);
        compare_cells(pair);
        compare_window(pair);
        compare_room(pair);
        lane_audit(&pair->lane);
        plain_step(&pair->plain);
        pair->steps++;
        if (draw(pair, 30) == 0) /* whole revolutions change nothing but the count */
            pair->steps += (int64_t)cells * draw(pair, 1000000);
    }
    lane_free(&pair->lane);
    free(pair);
}

/* Rings shorter than a window see themselves in it more than once. */
START_TEST(small_rings) {
    for (uint32_t cells = 1; cells <= 70; cells++) {
        play(cells, 1, cells);
        play(cells, cells < 5 ? cells : 5, cells + 1000);
        play(cells, cells, cells + 2000);
    }
}
END_TEST

START_TEST(rings_around_whole_words) {
    static const uint32_t cells[] = {100, 126, 127, 128, 129, 191, 192, 193, 256, 257, CELLS_MOST};
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++) {
        play(cells[i], 1, i);
        play(cells[i], 5, i + 1000);
        play(cells[i], 40, i + 2000);
        play(cells[i], cells[i], i + 3000);
    }
}
END_TEST

/* Every length on an empty ring of every small size, at every cell: it fits once, and fills what it
 * should. */
START_TEST(every_length_fits_on_an_empty_ring) {
    for (uint32_t cells = 1; cells <= 140; cells++)
        for (uint32_t length = 1; length <= cells; length++) {
            struct lane lane;
            uint32_t slot = (cells * 7 + length * 13) % cells;
            lane_init(&lane, cells);
            ck_assert_uint_eq(lane_steps_to_room(&lane, slot, length), 0);
            lane_put(&lane, slot, length, 3);
            for (uint32_t i = 0; i < cells; i++)
                if (lane_is_free(&lane, (slot + i) % cells, 1) == (i < length))
                    ck_abort_msg("%" PRIu32 " of %" PRIu32 " cells: slot %" PRIu32, length, cells,
                                 i);
            if (lane_is_free(&lane, (slot + length) % cells, cells - length + 1))
                ck_abort_msg("%" PRIu32 " of %" PRIu32 " cells", length, cells);
            lane_audit(&lane);
            lane_take(&lane, slot, length);
            ck_assert(lane_is_free(&lane, slot, cells));
            lane_free(&lane);
        }
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("lane");
    TCase *tests = tcase_create("lane");
    tcase_add_test(tests, small_rings);
    tcase_add_test(tests, rings_around_whole_words);
    tcase_add_test(tests, every_length_fits_on_an_empty_ring);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
