/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/arm_text.c - ends, items and gates of planned arms, by the names of the plan. */
#include "tools/design/arm_text.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/text_stream.h"

static const char *item_name(const struct plan *plan, uint32_t item) {
    return plan->scenario->item[item].name;
}

static void print_end(const struct plan *plan, struct plan_end end, FILE *out) {
    static const char *const two[] = {"outer", "inner"};
    switch (end.kind) {
    case PLAN_CHEST: fputs(plan->chest[end.index].name, out); return;
    case PLAN_STATION: fputs(plan->station[end.index].name, out); return;
    case PLAN_BELT: break;
    }
    const struct plan_belt *belt = &plan->belt[end.index];
    fputs(belt->name, out);
    if (belt->given != NO_INDEX && !belt->is_line) {
        const struct scenario_loop *loop = &plan->scenario->loop[belt->given];
        fprintf(out, "/%s@%u", plan->scenario->lane[loop->first_lane + end.lane].name, end.cell);
        return;
    }
    if (belt->lanes == 2 && !belt->is_line)
        fprintf(out, "/%s", two[end.lane]);
    else if (belt->lanes > 2)
        fprintf(out, "/lane-%u", end.lane + 1);
    fprintf(out, "@%u", end.cell);
}

static void print_leaf(const struct plan *plan, const struct plan_arm *arm,
                       const struct plan_leaf *leaf, FILE *out) {
    bool chest = leaf->kind == PLAN_CHEST;
    fprintf(out, "{%s: %s, %s: %s, %s: %" PRId64 "}", chest ? "chest" : "station",
            chest ? plan->chest[leaf->index].name : plan->station[leaf->index].name,
            chest ? "item" : "input", item_name(plan, arm->item[0]),
            leaf->at_least ? "at_least" : "below", leaf->threshold);
}

static void print_leaves(const struct plan *plan, const struct plan_arm *arm, FILE *out) {
    fputs(arm->leaf_count > 1 ? "{any: [" : "", out);
    for (uint32_t i = 0; i < arm->leaf_count; i++) {
        fputs(i > 0 ? ", " : "", out);
        print_leaf(plan, arm, &arm->leaf[i], out);
    }
    fputs(arm->leaf_count > 1 ? "]}" : "", out);
}

/* The count of a lane: of its loop by name, where that has one lane. */
static void print_belt_leaf(const struct plan *plan, const struct plan_arm *arm, FILE *out) {
    struct plan_end lane = arm->to;
    const struct plan_belt *belt = &plan->belt[lane.index];
    bool one = belt->given == NO_INDEX ? belt->lanes == 1
                                       : plan->scenario->loop[belt->given].lane_count == 1;
    struct text_stream stream;
    FILE *name = text_stream_begin(&stream);
    print_end(plan, lane, name);
    char *text = text_stream_end(&stream);
    *strrchr(text, '@') = '\0';
    fprintf(out, "{%s: %s, item: %s, below: %" PRId64 "}", one ? "loop" : "lane",
            one ? belt->name : text, item_name(plan, arm->item[0]), arm->belt_below);
    free(text);
}

static void print_gate(const struct plan *plan, const struct plan_arm *arm, FILE *out) {
    if (arm->leaf_count == 0)
        return;
    fputs(arm->belt_below > 0 ? ", gate: {all: [" : ", gate: ", out);
    print_leaves(plan, arm, out);
    if (arm->belt_below == 0)
        return;
    fputs(", ", out);
    print_belt_leaf(plan, arm, out);
    fputs("]}", out);
}

static void print_items(const struct plan *plan, const struct plan_arm *arm, FILE *out) {
    for (uint32_t i = 0; i < arm->item_count; i++)
        fprintf(out, "%s%s", i == 0 ? ", items: [" : ", ", item_name(plan, arm->item[i]));
    fputs(arm->item_count > 0 ? "]" : "", out);
}

char *arm_text(const struct plan *plan, const struct plan_arm *arm) {
    const struct may_arm *kind = &plan->may->arm[arm->kind];
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    fprintf(out, "{name: %s, from: ", arm->name);
    print_end(plan, arm->from, out);
    fputs(", to: ", out);
    print_end(plan, arm->to, out);
    print_items(plan, arm, out);
    if (kind->hand > 1)
        fprintf(out, ", hand: %u", kind->hand);
    fprintf(out, ", swing: %s", kind->swing);
    print_gate(plan, arm, out);
    fputc('}', out);
    return text_stream_end(&stream);
}
