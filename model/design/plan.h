/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/plan.h - a workshop as it is planned: what is to be built, with the reason of each
 * number. It is data only; tools/design writes it as a scenario.
 *
 * The rules of the trade by which it is made (common practice, no source):
 *  - Each supplied kind has a feeder of its own, whose gate counts that kind where its unused
 *    ones end: in the stock of the stations that take it. The threshold is a base stock: one
 *    batch, and what a station can use while a part is on its way.
 *  - The stock of a station (`ahead`) is its tray: it has room for the threshold, for what is
 *    under way when the gate shuts, and for a heap as large as the lane.
 *  - Takers come after the feeders of what they take, and outpace them; where a lane cannot carry
 *    all kinds of a recipe at once, it carries a part of them, and the next after its takers.
 *  - What is needed in bulk has a lane of its own.
 *  - A station stops while a base stock of its product lies on the shelf, and takes nothing then,
 *    so that what stops the outputs stops the inputs.
 *  - A by-product goes to the shelf like the product, and from there to an outlet.
 *  - What goes round between stations and comes from nowhere else (a carrier, empty or loaded) lies
 *    on a shelf at the start, as many as are under way at once; more than these, which somebody has
 *    dropped, are taken out.
 *  - Where gates may count belts, each feeder stops as well while as many of its kind ride on its
 *    lane as are needed there, and the lane is so long that these cannot fill it. */
#pragma once

#include "model/design/design_need.h"

enum { PLAN_NAME_BYTES = 80, PLAN_WHY_BYTES = 1000 };

/* A station that is built of a recipe. */
struct plan_station {
    uint32_t recipe; /* in scenario.station */
    char name[PLAN_NAME_BYTES];
    int64_t ahead;  /* batches; NOT_GIVEN: as the recipe says */
    double busy;    /* share of the time in which it works */
    uint32_t chest; /* whose product gates it; NO_INDEX: none */
    uint32_t item;
    int64_t below;
    char why[PLAN_WHY_BYTES], why_ahead[PLAN_WHY_BYTES];
};

struct plan_stock {
    uint32_t item;
    int64_t limit, start;
    char why[PLAN_WHY_BYTES];
};

struct plan_chest {
    char name[PLAN_NAME_BYTES];
    uint32_t given;   /* the chest of the scenario that it is; NO_INDEX: none */
    int64_t capacity; /* NO_LIMIT: of a given one without bound */
    struct plan_stock *stock;
    uint32_t stock_count;
};

struct plan_belt {
    char name[PLAN_NAME_BYTES];
    bool is_line;
    uint32_t given; /* the loop, or line, of the scenario that it is, as it is; NO_INDEX: none */
    uint32_t cells, lanes;
    uint32_t rate; /* in may.loop_rates or may.line_rates */
    char why[PLAN_WHY_BYTES];
};

/* Where an arm works: a chest, a station, or a cell of a belt's lane. */
enum plan_end_kind { PLAN_CHEST, PLAN_STATION, PLAN_BELT };
struct plan_end {
    enum plan_end_kind kind;
    uint32_t index, lane, cell;
};

/* One count that a gate looks at: an item in the input stock of a station, or in a chest. */
struct plan_leaf {
    enum plan_end_kind kind; /* PLAN_CHEST or PLAN_STATION */
    uint32_t index;
    int64_t threshold;
    bool at_least; /* open from there on, not below */
};

struct plan_arm {
    char name[PLAN_NAME_BYTES];
    struct plan_end from, to;
    uint32_t *item;
    uint32_t item_count;
    uint32_t kind;          /* in may.arm */
    struct plan_leaf *leaf; /* open while any of them is; all count its first item */
    uint32_t leaf_count;
    int64_t belt_below; /* and, where this is not 0, while fewer of it lie on the lane at `to` */
    char why[PLAN_WHY_BYTES];
};

/* A surplus that is taken away: `batch` of an item out of a chest every so many seconds. */
struct plan_outlet {
    char name[PLAN_NAME_BYTES];
    uint32_t chest, item;
    int64_t batch, every_seconds;
};

struct plan {
    const struct scenario *scenario; /* borrowed, as the others */
    const struct may *may;
    struct plan_station *station;
    struct plan_chest *chest;
    struct plan_belt *belt;
    struct plan_arm *arm;
    struct plan_outlet *outlet;
    uint32_t station_count, chest_count, belt_count, arm_count, outlet_count;
    uint32_t *supply_chest, *demand_chest; /* [supply], [demand] of the scenario */
};

/* A plan without parts. Freed with plan_free. */
void plan_init(struct plan *plan, const struct scenario *scenario, const struct may *may);
void plan_free(struct plan *plan);

/* A list of so many NO_INDEX; freed by the caller. */
uint32_t *plan_no_indices(uint32_t count);

/* Adds an arm of a kind, an index in may.arm; it is valid until the next one is added. */
struct plan_arm *plan_add_arm(struct plan *plan, uint32_t kind);
/* The arm carries an item, too, if it does not yet. */
void plan_arm_takes(struct plan_arm *arm, uint32_t item);
/* The gate of the arm is open by another count, too. */
void plan_arm_looks(struct plan_arm *arm, struct plan_leaf leaf);

/* The limits of all stocks of a chest together, items. */
int64_t plan_chest_limits(const struct plan_chest *chest);

/* Writes a reason, cut to its room; adds to one; adds one more, after a semicolon. Figures of how
 * much is needed and how much a part can do are in none of them: whoever writes the plan has them
 * from the budget of what is written (tools/design/part_words.h). */
void plan_say(char why[PLAN_WHY_BYTES], const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void plan_say_also(char why[PLAN_WHY_BYTES], const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void plan_say_more(char why[PLAN_WHY_BYTES], const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Adds what trials have made of a number that the rules give: nothing for a factor of 1. */
void plan_say_factor(char why[PLAN_WHY_BYTES], double factor);

/* The share of the time in which the stations that make an item are idle; 1: none makes it. */
double plan_idle_share(const struct plan *plan, uint32_t item);
