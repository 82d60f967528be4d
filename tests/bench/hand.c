/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/bench/hand.c - the engine for one scenario. Every actor has a number, in the order in which
 * actors have their turns within a tick, and a wheel has a set of numbers for each coming tick. */
#include "tests/bench/hand.h"

#include <math.h>
#include <stdlib.h>

#include "sim/array.h"
#include "sim/require.h"

enum { CELLS = 60, TICKS = 100, SWING = 80, AHEAD = 2, ROOM = 2 };
/* A step comes with tick ceil(k * STEP_TICKS / STEPS): 7.5 a second. */
enum { STEP_TICKS = 40, STEPS = 3 };
/* Ticks that the wheel has; what is later waits in a list, looked through twice a turn. */
enum { WHEEL = 1024, HALF = WHEEL / 2, WORD = 64 };

enum arm_kind { FEEDER, TAKER, SHELVER, CLEARER };
enum { FIRST_TAKER = RING_ITEMS, FIRST_SHELVER = FIRST_TAKER + RING_BENCHES };
enum { FIRST_CLEARER = FIRST_SHELVER + RING_BENCHES, ARMS = FIRST_CLEARER + RING_ITEMS };

enum hand_state { REACHING, CARRYING, PLACING, RETURNING };

struct bin {
    int32_t count, promised;
    bool held; /* a delivery waits for room */
};

struct bench {
    int32_t stock[RING_ITEMS], promised[RING_ITEMS], needed[RING_ITEMS];
    int32_t out, shelf, shelf_promised, owed;
    bool working;
    int64_t order_due;
};

struct sector {
    struct bin bin[RING_ITEMS];
    struct bench bench[RING_BENCHES];
};

struct hand_arm {
    uint8_t kind, state, item, bench; /* `item`: in its hand, and of a feeder and clearer its own */
    uint32_t cell, sector;
    int64_t due;
};

struct later {
    int64_t tick;
    uint32_t actor;
};

struct hand {
    uint32_t sectors, cells;
    uint32_t first_demand, first_end, first_arm, first_start, actors;
    int32_t feeder_swing;
    int64_t now, step, step_due;
    uint32_t turn; /* step mod cells */
    uint32_t at_work;
    uint64_t moves;
    uint32_t *lane; /* by slot: 0 or 1 + sector * RING_ITEMS + item */
    struct sector *sector;
    struct hand_arm *arm;

    uint32_t words, groups;
    uint64_t *set, *group; /* [WHEEL][words], and which of its words have somebody: [groups] */
    uint64_t busy[WHEEL / WORD];
    struct later *later;
    size_t later_count;
    uint32_t later_room;
};

/* ---- the wheel ---- */

static void enter(struct hand *hand, uint32_t actor, int64_t tick) {
    uint32_t row = (uint32_t)tick % WHEEL, word = actor / WORD;
    hand->set[row * hand->words + word] |= 1ULL << actor % WORD;
    hand->group[row * hand->groups + word / WORD] |= 1ULL << word % WORD;
    hand->busy[row / WORD] |= 1ULL << row % WORD;
}

static void keep_for_later(struct hand *hand, uint32_t actor, int64_t tick) {
    hand->later =
        array_with_room(hand->later, hand->later_count, &hand->later_room, sizeof *hand->later);
    hand->later[hand->later_count++] = (struct later){tick, actor};
}

static inline void wake_at(struct hand *hand, uint32_t actor, int64_t tick) {
    if (tick - hand->now < WHEEL)
        enter(hand, actor, tick);
    else
        keep_for_later(hand, actor, tick);
}

/* In this tick when its turn is still to come, else in the next. */
static inline void wake(struct hand *hand, uint32_t actor) {
    enter(hand, actor, hand->now + (actor <= hand->at_work));
}

static void look_through_later(struct hand *hand) {
    size_t kept = 0;
    for (size_t i = 0; i < hand->later_count; i++)
        if (hand->later[i].tick - hand->now < WHEEL)
            enter(hand, hand->later[i].actor, hand->later[i].tick);
        else
            hand->later[kept++] = hand->later[i];
    hand->later_count = kept;
}

/* The first tick from `from` to `last` in which somebody acts; last + 1: none. */
static int64_t next_busy(const struct hand *hand, int64_t from, int64_t last) {
    for (int64_t tick = from; tick <= last; tick += WORD - tick % WORD) {
        uint64_t rows = hand->busy[tick % WHEEL / WORD] >> tick % WORD;
        if (rows != 0) {
            tick += __builtin_ctzll(rows);
            return tick <= last ? tick : last + 1;
        }
    }
    return last + 1;
}

/* ---- the belt ---- */

static int64_t tick_of(int64_t step) { return (step * STEP_TICKS + STEPS - 1) / STEPS; }

static uint32_t *slot_at(const struct hand *hand, uint32_t cell) {
    uint32_t slot = cell + hand->cells - hand->turn;
    return &hand->lane[slot < hand->cells ? slot : slot - hand->cells];
}

static void make_steps(struct hand *hand) {
    for (; hand->step_due <= hand->now; hand->step_due = tick_of(hand->step + 1)) {
        hand->step++;
        hand->turn = hand->turn + 1 < hand->cells ? hand->turn + 1 : 0;
    }
}

/* ---- who is woken by what ---- */

static uint32_t arm_of(const struct hand *hand, uint32_t sector, uint32_t number) {
    return hand->first_arm + sector * ARMS + number;
}

/* Wakes the arm that is the next to see the item which lies at an arm's cell: it stays there for
 * so many steps. */
static void wake_arm_ahead(struct hand *hand, uint32_t sector, uint32_t number, uint32_t cell) {
    uint32_t to = hand->arm[sector * ARMS + number].cell;
    uint32_t steps = to > cell ? to - cell : to + hand->cells - cell;
    wake_at(hand, arm_of(hand, sector, number), tick_of(hand->step + steps));
}

static void wake_feeders(struct hand *hand, uint32_t sector, uint32_t bench) {
    for (int i = 0; i < ring_bench[bench].inputs; i++)
        wake(hand, arm_of(hand, sector, (uint32_t)ring_bench[bench].takes[i].item));
}

static void put_in_bin(struct hand *hand, uint32_t sector, uint32_t item) {
    if (hand->sector[sector].bin[item].count++ == 0)
        wake(hand, arm_of(hand, sector, item));
}

static void start_check(struct hand *hand, uint32_t sector, uint32_t bench) {
    wake(hand, hand->first_start + sector * RING_BENCHES + bench);
}

/* ---- arms ---- */

static void pick(struct hand *hand, struct hand_arm *arm, int32_t swing) {
    arm->state = CARRYING;
    arm->due = hand->now + (swing + 1) / 2;
    wake_at(hand, hand->at_work, arm->due);
    hand->moves++;
}

static void place(struct hand *hand, struct hand_arm *arm, int32_t swing) {
    arm->state = RETURNING;
    arm->due = hand->now + swing / 2;
    wake_at(hand, hand->at_work, arm->due);
    hand->moves++;
}

static void arrive(const struct hand *hand, struct hand_arm *arm) {
    if (hand->now >= arm->due && (arm->state == CARRYING || arm->state == RETURNING))
        arm->state = arm->state == CARRYING ? PLACING : REACHING;
}

static void act_feeder(struct hand *hand, struct hand_arm *arm) {
    struct sector *sector = &hand->sector[arm->sector];
    struct bin *bin = &sector->bin[arm->item];
    if (arm->state == PLACING) {
        uint32_t *slot = slot_at(hand, arm->cell);
        if (*slot != 0) {
            wake_at(hand, hand->at_work, hand->step_due);
            return;
        }
        *slot = 1 + arm->sector * RING_ITEMS + arm->item;
        wake_arm_ahead(hand, arm->sector, FIRST_TAKER + arm->bench, arm->cell);
        place(hand, arm, hand->feeder_swing);
    } else if (arm->state == REACHING && bin->count > 0 &&
               sector->bench[arm->bench].shelf < RING_GATE) {
        if (bin->count + bin->promised == RING_BIN)
            wake(hand, arm_of(hand, arm->sector, FIRST_CLEARER + arm->item));
        bin->count--;
        if (bin->held)
            wake(hand, arm->sector * RING_ITEMS + arm->item);
        pick(hand, arm, hand->feeder_swing);
    }
}

/* The item of the arm's sector at its cell; RING_ITEMS: none, or one of another sector. */
static uint32_t own_item(const struct hand_arm *arm, uint32_t slot) {
    uint32_t item = slot - 1 - arm->sector * RING_ITEMS;
    return item < RING_ITEMS ? item : RING_ITEMS;
}

static void act_taker(struct hand *hand, struct hand_arm *arm) {
    struct bench *bench = &hand->sector[arm->sector].bench[arm->bench];
    if (arm->state == PLACING) {
        bench->promised[arm->item]--;
        bench->stock[arm->item]++;
        start_check(hand, arm->sector, arm->bench);
        place(hand, arm, SWING);
    }
    uint32_t *slot = slot_at(hand, arm->cell), item = own_item(arm, *slot);
    if (item == RING_ITEMS || bench->needed[item] == 0)
        return;
    if (arm->state == REACHING &&
        bench->stock[item] + bench->promised[item] < AHEAD * bench->needed[item]) {
        *slot = 0;
        arm->item = (uint8_t)item;
        bench->promised[item]++;
        pick(hand, arm, SWING);
    } else {
        wake_arm_ahead(hand, arm->sector, FIRST_CLEARER + item, arm->cell);
    }
}

static void act_shelver(struct hand *hand, struct hand_arm *arm) {
    struct bench *bench = &hand->sector[arm->sector].bench[arm->bench];
    if (arm->state == PLACING) {
        bench->shelf_promised--;
        bench->shelf++;
        if (bench->owed > 0)
            wake(hand, hand->first_demand + arm->sector * RING_BENCHES + arm->bench);
        place(hand, arm, SWING);
    } else if (arm->state == REACHING && bench->out > 0 &&
               bench->shelf + bench->shelf_promised < RING_SHELF) {
        bench->out--;
        bench->shelf_promised++;
        start_check(hand, arm->sector, arm->bench);
        pick(hand, arm, SWING);
    }
}

static void act_clearer(struct hand *hand, struct hand_arm *arm) {
    struct bin *bin = &hand->sector[arm->sector].bin[arm->item];
    if (arm->state == PLACING) {
        bin->promised--;
        put_in_bin(hand, arm->sector, arm->item);
        place(hand, arm, SWING);
    }
    uint32_t *slot = slot_at(hand, arm->cell);
    if (own_item(arm, *slot) != arm->item)
        return;
    if (arm->state == REACHING && bin->count + bin->promised < RING_BIN) {
        *slot = 0;
        bin->promised++;
        pick(hand, arm, SWING);
    } else {
        wake_arm_ahead(hand, arm->sector, FIRST_TAKER + arm->bench, arm->cell);
    }
}

static void act_arm(struct hand *hand, uint32_t number) {
    static void (*const act_table[])(struct hand *, struct hand_arm *) = {act_feeder, act_taker,
                                                                          act_shelver, act_clearer};
    struct hand_arm *arm = &hand->arm[number];
    arrive(hand, arm);
    act_table[arm->kind](hand, arm);
}

/* ---- the others ---- */

static void deliver(struct hand *hand, uint32_t number) {
    uint32_t sector = number / RING_ITEMS, item = number % RING_ITEMS;
    struct bin *bin = &hand->sector[sector].bin[item];
    struct bench *bench = hand->sector[sector].bench;
    while (bench->needed[item] == 0)
        bench++;
    bin->held = bin->count + bin->promised >= RING_BIN;
    if (bin->held)
        return;
    put_in_bin(hand, sector, item);
    wake_at(hand, number, hand->now + RING_ORDER_SECONDS / bench->needed[item] * TICKS);
}

static void draw_from_shelf(struct hand *hand, uint32_t number) {
    uint32_t sector = number / RING_BENCHES, at = number % RING_BENCHES;
    struct bench *bench = &hand->sector[sector].bench[at];
    if (hand->now == bench->order_due) {
        bench->owed++;
        bench->order_due += RING_ORDER_SECONDS * TICKS;
        wake_at(hand, hand->first_demand + number, bench->order_due);
    }
    for (; bench->owed > 0 && bench->shelf > 0; bench->owed--) {
        if (bench->shelf + bench->shelf_promised == RING_SHELF)
            wake(hand, arm_of(hand, sector, FIRST_SHELVER + at));
        if (bench->shelf-- == RING_GATE)
            wake_feeders(hand, sector, at);
    }
}

static void end_batch(struct hand *hand, uint32_t number) {
    uint32_t sector = number / RING_BENCHES, at = number % RING_BENCHES;
    struct bench *bench = &hand->sector[sector].bench[at];
    bench->working = false;
    bench->out++;
    wake(hand, arm_of(hand, sector, FIRST_SHELVER + at));
    start_check(hand, sector, at);
}

static void start_batch(struct hand *hand, uint32_t number) {
    uint32_t sector = number / RING_BENCHES, at = number % RING_BENCHES;
    struct bench *bench = &hand->sector[sector].bench[at];
    bool can = !bench->working && bench->out + 1 <= ROOM;
    for (int item = 0; item < RING_ITEMS; item++)
        can = can && bench->stock[item] >= bench->needed[item];
    if (!can)
        return;
    for (int item = 0; item < RING_ITEMS; item++)
        bench->stock[item] -= bench->needed[item];
    bench->working = true;
    wake(hand, arm_of(hand, sector, FIRST_TAKER + at));
    wake_at(hand, hand->first_end + number, hand->now + ring_bench[at].seconds * TICKS);
}

static void act(struct hand *hand, uint32_t actor) {
    hand->at_work = actor;
    if (actor >= hand->first_start)
        start_batch(hand, actor - hand->first_start);
    else if (actor >= hand->first_arm)
        act_arm(hand, actor - hand->first_arm);
    else if (actor >= hand->first_end)
        end_batch(hand, actor - hand->first_end);
    else if (actor >= hand->first_demand)
        draw_from_shelf(hand, actor - hand->first_demand);
    else
        deliver(hand, actor);
}

/* ---- ticks ---- */

static void execute(struct hand *hand) {
    uint32_t row = (uint32_t)hand->now % WHEEL;
    uint64_t *set = &hand->set[row * hand->words], *group = &hand->group[row * hand->groups];
    make_steps(hand);
    for (uint32_t g = 0; g < hand->groups; g++)
        while (group[g] != 0) {
            uint32_t word = g * WORD + (uint32_t)__builtin_ctzll(group[g]);
            group[g] &= group[g] - 1;
            while (set[word] != 0) {
                uint32_t actor = word * WORD + (uint32_t)__builtin_ctzll(set[word]);
                set[word] &= set[word] - 1;
                act(hand, actor);
            }
        }
    hand->busy[row / WORD] &= ~(1ULL << row % WORD);
}

void hand_advance(struct hand *hand, int64_t tick) {
    while (hand->now < tick) {
        int64_t half = hand->now - hand->now % HALF + HALF;
        int64_t next = next_busy(hand, hand->now + 1, half < tick ? half : tick);
        hand->now = next < half ? next : half;
        if (hand->now > tick) {
            hand->now = tick;
            return;
        }
        if (hand->now == half)
            look_through_later(hand);
        execute(hand);
    }
}

uint64_t hand_moves(const struct hand *hand) { return hand->moves; }

/* ---- begin and end ---- */

static void init_arm(struct hand *hand, uint32_t sector, uint32_t number, enum arm_kind kind,
                     int64_t cell, uint32_t item, uint32_t bench) {
    hand->arm[sector * ARMS + number] = (struct hand_arm){.kind = (uint8_t)kind,
                                                          .cell = (uint32_t)(sector * CELLS + cell),
                                                          .sector = sector,
                                                          .item = (uint8_t)item,
                                                          .bench = (uint8_t)bench};
}

static void init_bench(struct hand *hand, uint32_t sector, uint32_t at, bool stagger) {
    const struct ring_bench *plan = &ring_bench[at];
    struct bench *bench = &hand->sector[sector].bench[at];
    for (int i = 0; i < plan->inputs; i++) {
        uint32_t item = (uint32_t)plan->takes[i].item;
        bench->needed[item] = plan->takes[i].count;
        hand->sector[sector].bin[item].count = RING_BIN_START;
        init_arm(hand, sector, item, FEEDER, ring_feed_cell[item], item, at);
        init_arm(hand, sector, FIRST_CLEARER + item, CLEARER, ring_clear_cell[item], item, at);
        wake_at(hand, sector * RING_ITEMS + item,
                RING_ORDER_SECONDS / plan->takes[i].count * TICKS);
    }
    init_arm(hand, sector, FIRST_TAKER + at, TAKER, plan->cell, 0, at);
    init_arm(hand, sector, FIRST_SHELVER + at, SHELVER, 0, 0, at);
    bench->order_due =
        RING_ORDER_SECONDS * TICKS + (stagger ? ring_stagger_hundredths(sector, at) : 0);
    wake_at(hand, hand->first_demand + sector * RING_BENCHES + at, bench->order_due);
}

static void number_actors(struct hand *hand) {
    hand->first_demand = hand->sectors * RING_ITEMS;
    hand->first_end = hand->first_demand + hand->sectors * RING_BENCHES;
    hand->first_arm = hand->first_end + hand->sectors * RING_BENCHES;
    hand->first_start = hand->first_arm + hand->sectors * ARMS;
    hand->actors = hand->first_start + hand->sectors * RING_BENCHES;
    hand->words = hand->actors / WORD + 1;
    hand->groups = hand->words / WORD + 1;
}

static void *zeroed(size_t count, size_t size) {
    void *array = calloc(count, size);
    require(array != NULL);
    return array;
}

struct hand *hand_new(const struct ring *ring) {
    require(ring->cells == CELLS && ring->ticks_per_second == TICKS && ring->busy == 0 &&
            ring->idle_at_gate == 0 && ring->idle_at_lane == 0);
    struct hand *hand = zeroed(1, sizeof *hand);
    hand->sectors = (uint32_t)ring->sectors;
    hand->cells = hand->sectors * CELLS;
    hand->feeder_swing = (int32_t)lround(ring->feeder_swing * TICKS);
    hand->step_due = tick_of(1);
    number_actors(hand);
    hand->lane = zeroed(hand->cells, sizeof *hand->lane);
    hand->sector = zeroed(hand->sectors, sizeof *hand->sector);
    hand->arm = zeroed((size_t)hand->sectors * ARMS, sizeof *hand->arm);
    hand->set = zeroed((size_t)WHEEL * hand->words, sizeof *hand->set);
    hand->group = zeroed((size_t)WHEEL * hand->groups, sizeof *hand->group);
    for (uint32_t sector = 0; sector < hand->sectors; sector++)
        for (uint32_t bench = 0; bench < RING_BENCHES; bench++)
            init_bench(hand, sector, bench, ring->stagger);
    for (uint32_t i = 0; i < hand->sectors * ARMS; i++)
        enter(hand, hand->first_arm + i, 0);
    execute(hand);
    return hand;
}

void hand_free(struct hand *hand) {
    free(hand->lane);
    free(hand->sector);
    free(hand->arm);
    free(hand->set);
    free(hand->group);
    free(hand->later);
    free(hand);
}
