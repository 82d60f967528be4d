/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_agenda.c - the wheels against a plain sorted list of (tick, actor), under random
 * wake-ups from the tick at work to the end of time. Fixed seeds, all comparisons exact. */
#include "sim/agenda.h"

#include <check.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tests/common/dice.h"
#include "tests/common/suite.h"

/* ---- the same, plainly ---- */

struct due {
    int64_t tick;
    uint32_t actor;
};

struct plain {
    struct due *due; /* sorted by tick, then actor; each actor once at most */
    uint32_t due_count;
    bool *acts; /* [actor_count] in the tick at work, and has not yet */
    uint32_t actor_count;
    int64_t now;
    int64_t cursor; /* -1: between ticks */
};

static void plain_init(struct plain *plain, uint32_t actor_count) {
    *plain = (struct plain){.actor_count = actor_count, .now = -1, .cursor = -1};
    plain->due = require_memory(actor_count + 1, sizeof *plain->due);
    plain->acts = require_memory(actor_count, sizeof *plain->acts);
}

static void plain_free(struct plain *plain) {
    free(plain->due);
    free(plain->acts);
}

static void remove_at(struct plain *plain, uint32_t at) {
    plain->due_count--;
    memmove(&plain->due[at], &plain->due[at + 1], (plain->due_count - at) * sizeof *plain->due);
}

/* When the actor is due; takes that out of the list. AGENDA_NEVER when it is not. */
static int64_t take_out(struct plain *plain, uint32_t actor) {
    for (uint32_t i = 0; i < plain->due_count; i++)
        if (plain->due[i].actor == actor) {
            int64_t tick = plain->due[i].tick;
            remove_at(plain, i);
            return tick;
        }
    return AGENDA_NEVER;
}

static void put_in(struct plain *plain, uint32_t actor, int64_t tick) {
    if (tick == AGENDA_NEVER)
        return;
    uint32_t at = 0;
    while (at < plain->due_count && (plain->due[at].tick < tick ||
                                     (plain->due[at].tick == tick && plain->due[at].actor < actor)))
        at++;
    memmove(&plain->due[at + 1], &plain->due[at], (plain->due_count - at) * sizeof *plain->due);
    plain->due[at] = (struct due){tick, actor};
    plain->due_count++;
}

static void plain_wake(struct plain *plain, uint32_t actor, int64_t tick) {
    if (tick <= plain->now && plain->cursor >= 0 && actor > plain->cursor) {
        plain->acts[actor] = true;
        return;
    }
    if (tick <= plain->now)
        tick = plain->now + 1;
    int64_t before = take_out(plain, actor);
    put_in(plain, actor, tick < before ? tick : before);
}

static void plain_set(struct plain *plain, uint32_t actor, int64_t tick) {
    take_out(plain, actor);
    plain_wake(plain, actor, tick);
}

static bool plain_turn(struct plain *plain, int64_t limit) {
    if (plain->due_count == 0 || plain->due[0].tick > limit)
        return false;
    plain->now = plain->due[0].tick;
    while (plain->due_count > 0 && plain->due[0].tick == plain->now) {
        plain->acts[plain->due[0].actor] = true;
        remove_at(plain, 0);
    }
    plain->cursor = 0;
    return true;
}

static uint32_t plain_next(struct plain *plain) {
    for (uint32_t actor = 0; actor < plain->actor_count; actor++)
        if (plain->acts[actor]) {
            plain->acts[actor] = false;
            plain->cursor = actor;
            return actor;
        }
    plain->cursor = -1;
    return AGENDA_NOBODY;
}

/* ---- both side by side ---- */

struct pair {
    struct agenda agenda;
    struct plain plain;
    uint64_t seed;
    int64_t farthest; /* most ticks ahead */
    int64_t past;     /* up to here there is nothing more to be woken for */
};

static uint64_t draw(struct pair *pair, uint64_t below) { return dice_below(&pair->seed, below); }

/* Who is due alone, and has not been asked for yet. */
static uint32_t alone = AGENDA_NOBODY;

static bool turn_agenda(struct agenda *agenda) { return agenda_turn(agenda, agenda->size, &alone); }

/* The next actor of a tick; AGENDA_NOBODY: there is none. */
static uint32_t next_actor(struct agenda *agenda) {
    uint32_t first = alone;
    alone = AGENDA_NOBODY;
    if (first != AGENDA_NOBODY)
        return first;
    if (agenda->size == AGENDA_ONE_WORD)
        return agenda->bits[0][0] == 0 ? AGENDA_NOBODY : agenda_take(agenda, agenda->bits[0], 0);
    for (uint32_t i = 0; i < agenda->middle_count; i++)
        for (uint32_t word; (word = agenda_word(agenda, i)) != AGENDA_NOBODY;) {
            uint64_t *left = &agenda->bits[0][word];
            if (*left != 0)
                return agenda_take(agenda, left, word * AGENDA_WORD_BITS);
            agenda_pass_word(agenda, i);
        }
    return AGENDA_NOBODY;
}

/* From the past to the far future, near ones more often; at the edges of rows and wheels, too. */
static int64_t draw_tick(struct pair *pair) {
    int64_t now = pair->plain.now > pair->past ? pair->plain.now : pair->past;
    static const int64_t reach[] = {4, 64, 1024, 8192, 100000, INT64_C(1) << 30, INT64_C(1) << 53};
    int64_t most = reach[draw(pair, sizeof reach / sizeof *reach)];
    most = most < pair->farthest ? most : pair->farthest;
    int64_t tick = now + (int64_t)draw(pair, (uint64_t)most);
    if (draw(pair, 4) == 0)
        tick = (tick | 1023) + (int64_t)draw(pair, 2);
    if (draw(pair, 8) == 0 && pair->plain.cursor >= 0)
        tick = now - (int64_t)draw(pair, 5);
    return pair->plain.cursor < 0 && tick <= pair->past ? pair->past + 1 : tick;
}

static void wake_or_set(struct pair *pair) {
    uint32_t actor = (uint32_t)draw(pair, pair->plain.actor_count);
    int64_t tick = draw_tick(pair);
    switch (draw(pair, 4)) {
    case 0:
        agenda_set(&pair->agenda, actor, tick);
        plain_set(&pair->plain, actor, tick);
        break;
    case 1: /* none any more, or the same once more */
        tick = draw(pair, 2) == 0 || !agenda_is_scheduled(&pair->agenda, actor)
                   ? AGENDA_NEVER
                   : pair->agenda.due[actor];
        agenda_set(&pair->agenda, actor, tick);
        plain_set(&pair->plain, actor, tick);
        break;
    default:
        if (draw(pair, 16) == 0)
            tick = AGENDA_NEVER; /* wakes nobody */
        agenda_wake(&pair->agenda, actor, tick);
        plain_wake(&pair->plain, actor, tick);
    }
}

static void act_out_tick(struct pair *pair, bool busy) {
    uint32_t actor;
    do {
        actor = next_actor(&pair->agenda);
        uint32_t due = plain_next(&pair->plain);
        if (actor != due)
            ck_abort_msg("tick %" PRId64 ": actor %" PRIu32 ", due is %" PRIu32, pair->plain.now,
                         actor, due);
        for (uint64_t k = draw(pair, 3); busy && k > 0 && actor != AGENDA_NOBODY; k--)
            wake_or_set(pair);
    } while (actor != AGENDA_NOBODY);
}

/* One step of both: to the next tick in a stretch. False: there is none. */
static bool turn(struct pair *pair, bool busy) {
    int64_t limit = pair->agenda.limit;
    bool due = plain_turn(&pair->plain, limit);
    if (turn_agenda(&pair->agenda) != due || (due && pair->agenda.now != pair->plain.now))
        ck_abort_msg("after tick %" PRId64 ", up to %" PRId64 ": tick %" PRId64 ", due is %" PRId64,
                     pair->past, limit, pair->agenda.now, pair->plain.now);
    if (due)
        act_out_tick(pair, busy);
    int64_t past = due ? pair->plain.now : limit;
    pair->past = past > pair->past ? past : pair->past;
    return due;
}

/* Up to a limit that is often too early, or to where somebody has had enough. Returns how many
 * ticks there were. */
static int64_t play_stretch(struct pair *pair, bool busy) {
    int64_t ticks = 0;
    agenda_begin(&pair->agenda, draw_tick(pair));
    while (turn(pair, busy)) {
        ticks++;
        if (draw(pair, 3) == 0)
            break;
    }
    agenda_end(&pair->agenda);
    return ticks;
}

static const struct {
    uint32_t actors;
    int64_t near_ticks, farthest;
    int stretches, rounds;
} pair_table[] = {{1, 0, 5000, 400, 40},
                  {2, 100, 100, 400, 40},
                  {63, 2000, 3000, 400, 40},
                  {64, 1024, 200000, 400, 40},
                  {65, 5000, INT64_C(1) << 40, 400, 40},
                  {700, 9000, INT64_C(1) << 53, 800, 8},
                  {700, 0, INT64_C(1) << 53, 20, 8},
                  {5000, 1000000, 100000, 800, 4},
                  {300000, 0, 10000, 100, 1}};

/* A time of waking and acting, then one in which all that is due comes, with nothing new. */
static int64_t play_round(struct pair *pair, int stretches) {
    int64_t ticks = 0;
    for (int i = 0; i < stretches || pair->plain.due_count > 0; i++) {
        bool busy = i < stretches;
        for (uint64_t k = draw(pair, 4); busy && k > 0; k--)
            wake_or_set(pair);
        ticks += play_stretch(pair, busy);
    }
    return ticks;
}

START_TEST(actors_come_in_the_order_of_a_sorted_list) {
    struct pair pair = {.seed = (uint64_t)_i, .farthest = pair_table[_i].farthest, .past = -1};
    agenda_init(&pair.agenda, pair_table[_i].actors, pair_table[_i].near_ticks);
    plain_init(&pair.plain, pair_table[_i].actors);
    int64_t ticks = 0;
    for (int round = 0; round < pair_table[_i].rounds; round++)
        ticks += play_round(&pair, pair_table[_i].stretches);
    ck_assert_int_gt(ticks, pair_table[_i].stretches / 2);
    agenda_free(&pair.agenda);
    plain_free(&pair.plain);
}
END_TEST

static bool turn_to(struct agenda *agenda, int64_t limit) {
    agenda_begin(agenda, limit);
    return turn_agenda(agenda);
}

static void act_alone(struct agenda *agenda, int64_t limit, int64_t tick, uint32_t actor) {
    ck_assert(turn_to(agenda, limit));
    ck_assert_int_eq(agenda->now, tick);
    ck_assert_uint_eq(next_actor(agenda), actor);
}

static void end_tick(struct agenda *agenda) {
    ck_assert_uint_eq(next_actor(agenda), AGENDA_NOBODY);
    agenda_end(agenda);
}

static void turn_in_vain(struct agenda *agenda, int64_t limit) {
    ck_assert(!turn_to(agenda, limit));
    agenda_end(agenda);
}

/* A turn in vain has looked as far as a row that has become empty, past the end of the nearest
 * wheel as it stands: who is put into a coarse wheel after that is not overtaken. */
START_TEST(a_turn_in_vain_hides_nobody) {
    struct agenda agenda;
    agenda_init(&agenda, 4, 0);
    agenda_wake(&agenda, 0, 499);
    act_alone(&agenda, 499, 499, 0);
    end_tick(&agenda);
    agenda_wake(&agenda, 1, 1500);
    agenda_set(&agenda, 1, AGENDA_NEVER);
    turn_in_vain(&agenda, 1505);
    agenda_wake(&agenda, 2, 1510);
    agenda_wake(&agenda, 3, 1600);
    act_alone(&agenda, 2000, 1510, 2);
    agenda_wake(&agenda, 2, 1700);
    end_tick(&agenda);
    act_alone(&agenda, 2000, 1600, 3);
    end_tick(&agenda);
    act_alone(&agenda, 2000, 1700, 2);
    end_tick(&agenda);
    agenda_free(&agenda);
}
END_TEST

/* All actors at once, then each one when it is woken by the one before it: the whole set of
 * bits. */
START_TEST(all_actors_may_be_due_in_one_tick) {
    enum { ACTORS = 300000 };
    struct agenda agenda;
    agenda_init(&agenda, ACTORS, 100);
    for (uint32_t i = ACTORS; i-- > 0;)
        agenda_wake(&agenda, i, 7);
    turn_in_vain(&agenda, 6);
    ck_assert(turn_to(&agenda, 7));
    for (uint32_t i = 0; i < ACTORS; i++)
        if (next_actor(&agenda) != i)
            ck_abort_msg("actor %" PRIu32, i);
    end_tick(&agenda);
    turn_in_vain(&agenda, INT64_C(1) << 55);
    agenda_wake(&agenda, 0, (INT64_C(1) << 55) + 1);
    ck_assert(turn_to(&agenda, INT64_MAX));
    for (uint32_t i = 0; i < ACTORS; i++) {
        if (next_actor(&agenda) != i)
            ck_abort_msg("actor %" PRIu32 " in its own tick", i);
        if (i + 1 < ACTORS)
            agenda_wake(&agenda, i + 1, agenda.now);
    }
    end_tick(&agenda);
    agenda_free(&agenda);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("agenda");
    TCase *tests = tcase_create("agenda");
    tcase_add_loop_test(tests, actors_come_in_the_order_of_a_sorted_list, 0,
                        sizeof pair_table / sizeof *pair_table);
    tcase_add_test(tests, a_turn_in_vain_hides_nobody);
    tcase_add_test(tests, all_actors_may_be_due_in_one_tick);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
