/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_figures.h - the figures of a budget: all that is worked out of a scenario
 * without running it.
 *
 * Rates are items or batches a second unless a name says otherwise, doubles computed with + - * /
 * alone. The files of this room fill them in one after another, in the order of budget_new; tools
 * only read them. */
#pragma once

#include "model/budget/budget_texts.h"
#include "model/scenario/scenario.h"

struct budget_arm {
    double peak_rate; /* hand / swing, for the time that it isn't broken */
    double greatest;  /* the same, not more than a lane takes or brings */
    double steady;    /* that less the waits for places or items when it moves several at once */
    double sure;      /* that for a hand of several however its items come by on a loop */
    double needed;    /* at the demanded rates */
    double utilisation;
};

struct budget_station {
    double greatest; /* batches a second */
    double needed;
    double utilisation;
};

struct budget_item {
    double demanded, made, used, supplied; /* at the demanded rates */
    double surplus;                        /* made, and wanted by nobody */
    double lacking;                        /* nothing can bring it */
    double fed, taken; /* greatest rates of its feeders, peak rates of its takers, on loops */
    bool rides;        /* it may get onto a loop */
    bool exit_stays_open, has_clearing_taker;
};

struct budget_product {
    uint32_t item;
    bool is_known;                 /* greatest could be worked out */
    double greatest;               /* items a second, arms at their steady rates */
    double sure;                   /* the same, arms at the rates that are sure */
    double needed;                 /* NAN: nobody demands it */
    const char *bottleneck, *next; /* names; NULL: none */
};

/* A stretch of a lane or line between neighbouring arms. */
struct budget_stretch {
    uint32_t track; /* as in layout.h */
    uint32_t from_cell, to_cell, cells;
    double feeders; /* cells a second that feeders can put on, each item up to its last taker */
    double needed;  /* cells a second at the demanded rates */
};

/* Kwo's three rules for a loop of carriers with one loading and one unloading place. */
struct budget_kwo {
    double length, speed, spacing; /* any one unit of length, minutes or seconds alike */
    double parts_per_carrier, load_time, unload_time, load_rate, unload_rate;
    bool spread_evenly;
    /* what follows: */
    double carriers, carrier_rate, capacity, handler_limit;
    bool speed_lower, speed_upper, capacity_holds, uniformity;
};

struct budget_track {
    double rate; /* cells a second */
    uint32_t cells;
    double feeders, needed; /* the most of any stretch */
    double missed;          /* cells a second that come round again because takers were away */
    double share;           /* expected occupied share at the demanded rates, mean over the cells */
    uint32_t first_stretch, stretch_count;
    bool fits_kwo;
    struct budget_kwo kwo;
};

enum budget_rule_kind {
    RULE_FEEDERS_WITHIN_LANE,
    RULE_TAKERS_OUTPACE_FEEDERS,
    RULE_EXIT_STAYS_OPEN,
    RULE_GATE_WATCHES_END_CHEST,
    RULE_OUTPUTS_HAVE_EXIT,
    RULE_INPUTS_GATED_ON_OUTPUTS,
    RULE_SUPPLIED_BIN_KEEPS_ROOM,
    RULE_BULK_ON_A_LINE
};
enum { BUDGET_RULES = RULE_BULK_ON_A_LINE + 1 };
enum budget_verdict { BUDGET_HOLDS, BUDGET_CANNOT_SAY, BUDGET_BROKEN };

/* One place at which a rule does not hold: what is not named here is NO_INDEX. */
struct budget_finding {
    uint32_t lane, item, arm, station, chest, supply;
    double needs, has; /* the numbers that do not fit; 0: it is none of numbers */
    uint32_t why;      /* the text of the rule's `whys` that says it */
};

/* Whether two findings of one rule are about the same, whatever their numbers. */
static inline bool budget_same_finding(const struct budget_finding *one,
                                       const struct budget_finding *other) {
    return one->lane == other->lane && one->item == other->item && one->arm == other->arm &&
           one->station == other->station && one->chest == other->chest &&
           one->supply == other->supply;
}

struct budget_rule {
    enum budget_verdict verdict;
    struct budget_texts subjects, whys, advice; /* of what broke it; else of what can't be said */
    struct budget_finding *finding;             /* the same, one by one */
    uint32_t finding_count, finding_capacity;
};

/* One part of a proof: these items are never more than `at_most` on the lane at once. */
struct budget_bound {
    char *items;
    char *why;
    int64_t at_most; /* items */
    int64_t cells;   /* places that so many can spoil for the longest item */
};

struct budget_certificate {
    bool certified;         /* some place is always free, and no jam can last a revolution */
    int64_t at_most, cells; /* sums of the bounds */
    struct budget_bound *bound;
    uint32_t bound_count;
    struct budget_texts missing; /* why not, when not certified */
};

struct budget {
    const struct scenario *scenario; /* borrowed */
    struct budget_net *net;          /* what can be where; private to this room */
    struct budget_arm *arm;
    struct budget_station *station;
    struct budget_item *item;
    struct budget_product *product;
    uint32_t product_count;
    double *flow; /* [entry of arm and item] needed rate, see budget_net.h */
    struct budget_track *track;
    uint32_t track_count;
    struct budget_stretch *stretch;
    uint32_t stretch_count;
    struct budget_rule rule[BUDGET_RULES];
    struct budget_certificate *certificate; /* [lane] */
    struct budget_texts notes;              /* what cannot be, in words */
    bool demand_met;  /* what is demanded can be made, arms at their steady rates */
    bool demand_sure; /* also at the rates that are sure */
    bool rules_hold;  /* no rule is broken */
};
