/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/drain/drain_report.c - prints the result of a drain, as JSON with the keys in the order
 * of the manual, and as text with the most important first. */
#include "tools/drain/drain_report.h"

#include <inttypes.h>

#include "model/scenario/quantity.h"
#include "tools/base/json_text.h"
#include "tools/base/table.h"

/* ---- judging ---- */

bool drain_report_found_holds(const struct drain_order *order, const struct drain_found *found) {
    return found->drained && (!order->restart || found->restarted) &&
           (!order->flood.wanted || found->recovered);
}

static int64_t items_left(const struct drain_found *found) {
    int64_t count = 0;
    for (uint32_t i = 0; i < found->left_count; i++)
        count += found->left[i].count;
    return count;
}

static int64_t ticks_taken(const struct drain_found *found) {
    return (found->drained ? found->emptied_tick : found->end_tick) - found->stopped_tick;
}

bool drain_report_is_worse(const struct drain_order *order, const struct drain_found *one,
                           const struct drain_found *other) {
    bool one_holds = drain_report_found_holds(order, one);
    bool other_holds = drain_report_found_holds(order, other);
    if (one_holds != other_holds)
        return other_holds;
    if (items_left(one) != items_left(other))
        return items_left(one) > items_left(other);
    return ticks_taken(one) > ticks_taken(other);
}

/* ---- as data ---- */

static json_t *seconds(const struct drain_order *order, int64_t ticks) {
    int64_t rate = order->scenario->ticks_per_second;
    if (ticks == NOT_GIVEN)
        return json_null();
    return ticks % rate == 0 ? json_text_whole(ticks / rate)
                             : json_real((double)ticks / (double)rate);
}

static json_t *left_json(const struct drain_found *found) {
    json_t *list = json_array();
    for (uint32_t i = 0; i < found->left_count; i++) {
        const struct drain_left *left = &found->left[i];
        json_t *object = json_object();
        json_text_put(object, "place", json_string(left->place));
        json_text_put(object, "item", json_string(found->scenario->item[left->item].name));
        json_text_put(object, "count", json_text_whole(left->count));
        json_text_put(object, "why", json_string(left->why));
        json_text_append(list, object);
    }
    return list;
}

static json_t *flood_json(const struct drain_outcome *outcome, const struct drain_found *found) {
    const struct drain_limit *limit = &outcome->limit;
    json_t *object = json_object();
    json_text_put(object, "items", json_text_whole(found->flood_items));
    json_text_put(object, "recovered", json_boolean(found->recovered));
    json_text_put(object, "recovered_s", seconds(outcome->order, found->recovered_tick));
    json_text_put(object, "greatest",
                  limit->known ? json_text_whole(limit->greatest) : json_null());
    json_text_put(object, "low", limit->known ? json_text_whole(limit->low) : json_null());
    json_text_put(object, "high", limit->known ? json_text_whole(limit->high) : json_null());
    return object;
}

static json_t *found_json(const struct drain_outcome *outcome, const struct drain_found *found) {
    const struct drain_order *order = outcome->order;
    json_t *object = json_object();
    json_text_put(object, "drained", json_boolean(found->drained));
    json_text_put(object, "stopped_s", seconds(order, found->stopped_tick));
    json_text_put(object, "emptied_s", seconds(order, found->emptied_tick));
    json_text_put(object, "rest_s", seconds(order, found->rest_tick));
    json_text_put(object, "left", left_json(found));
    json_text_put(object, "restarted",
                  order->restart ? json_boolean(found->restarted) : json_null());
    json_text_put(object, "restart_s", seconds(order, found->restart_ticks));
    if (order->flood.wanted)
        json_text_put(object, "flood", flood_json(outcome, found));
    if (outcome->many)
        json_text_put(object, "seed", json_text_whole((int64_t)found->seed));
    return object;
}

char *drain_report_json(const struct drain_outcome *outcome) {
    json_t *object = found_json(outcome, outcome->worst);
    if (outcome->many) {
        json_t *runs = json_object();
        json_text_put(runs, "runs", json_text_whole((int64_t)outcome->run_count));
        json_text_put(runs, "drained", json_text_whole((int64_t)outcome->drained_count));
        json_text_put(runs, "worst", object);
        object = runs;
    }
    return json_text_of(object, JSON_TEXT_DIGITS);
}

/* ---- in words ---- */

enum { LEFT_SHOWN = 20 };

static const char *clock_of(const struct drain_order *order, int64_t ticks,
                            char text[QUANTITY_TEXT_SIZE]) {
    return quantity_clock(ticks, order->scenario->ticks_per_second, text);
}

/* The heap from which all seeds recover, then those from which only some do. */
static void print_limit(const struct drain_limit *limit, FILE *out) {
    if (limit->every)
        fprintf(out,
                "With all %" PRIu32 " seeds it recovers from every heap up to the full lanes, "
                "%" PRId64 " item%s.\n",
                limit->seeds, limit->low, plural((uint64_t)limit->low));
    else if (limit->low == 0)
        fprintf(out, "Not all %" PRIu32 " seeds recover from a heap, however small", limit->seeds);
    else
        fprintf(out, "All %" PRIu32 " seeds recover from heaps of up to %" PRId64 " item%s",
                limit->seeds, limit->low, plural((uint64_t)limit->low));
    if (!limit->every)
        fprintf(out, "; half of them from up to %" PRId64 ", the best from up to %" PRId64 ".\n",
                limit->greatest, limit->high);
}

static void print_flood(const struct drain_outcome *outcome, const struct drain_found *found,
                        FILE *out) {
    const struct drain_order *order = outcome->order;
    const struct drain_limit *limit = &outcome->limit;
    char at[QUANTITY_TEXT_SIZE];
    if (!order->flood.wanted)
        return;
    fprintf(out, "A heap of %" PRId64 " item%s at the start: ", found->flood_items,
            plural((uint64_t)found->flood_items));
    if (found->recovered)
        fprintf(out, "the lanes are no longer congested at %s.\n",
                clock_of(order, found->recovered_tick, at));
    else
        fputs(found->recovered_tick == NOT_GIVEN ? "a lane stays congested.\n"
                                                 : "a lane is jammed at the end.\n",
              out);
    if (limit->known)
        print_limit(limit, out);
    if (found->recovered != found->drained)
        fputs("To recover is to run on without congestion and jam; to drain is to halt empty when "
              "nobody orders:\nit does the one and not the other.\n",
              out);
}

static void print_left(const struct drain_found *found, FILE *out) {
    for (uint32_t i = 0; i < found->left_count && i < LEFT_SHOWN; i++) {
        const struct drain_left *left = &found->left[i];
        fprintf(out, "  %" PRId64 " %s on %s\n      %s\n", left->count,
                found->scenario->item[left->item].name, left->place, left->why);
    }
    if (found->left_count > LEFT_SHOWN)
        fprintf(out, "  and %" PRIu32 " more: see drain.json\n", found->left_count - LEFT_SHOWN);
}

static void print_verdict(const struct drain_order *order, const struct drain_found *found,
                          FILE *out) {
    char stop[QUANTITY_TEXT_SIZE], at[QUANTITY_TEXT_SIZE], took[QUANTITY_TEXT_SIZE];
    clock_of(order, found->stopped_tick, stop);
    if (found->drained)
        fprintf(out,
                "Drained: the demands stop at %s, and every loop is empty from %s on, %s "
                "later.\n",
                stop, clock_of(order, found->emptied_tick, at),
                clock_of(order, found->emptied_tick - found->stopped_tick, took));
    else if (found->empty_late != NOT_GIVEN)
        fprintf(out,
                "Not drained: the demands stop at %s, and every loop is empty from %s on only, "
                "more than half\nof %s (--within) later, and no rest followed.\n",
                stop, clock_of(order, found->empty_late, at),
                clock_of(order, order->within_ticks, took));
    else
        fprintf(out, "Not drained: the demands stop at %s, and at %s this is left:\n", stop,
                clock_of(order, found->end_tick, at));
}

static void print_end(const struct drain_order *order, const struct drain_found *found, FILE *out) {
    char at[QUANTITY_TEXT_SIZE];
    print_verdict(order, found, out);
    print_left(found, out);
    if (found->rest_tick != NOT_GIVEN)
        fprintf(out, "Nothing has moved since %s.\n", clock_of(order, found->rest_tick, at));
    else if (found->deadlocked)
        fputs("It is a deadlock: without help from outside nothing moves again.\n", out);
    else if (found->still_tick != NOT_GIVEN)
        fprintf(out,
                "Nothing has moved since %s, and without help from outside nothing moves again.\n",
                clock_of(order, found->still_tick, at));
    else
        fprintf(out, "It has not come to rest by %s.\n", clock_of(order, found->end_tick, at));
}

static void print_restart(const struct drain_order *order, const struct drain_found *found,
                          FILE *out) {
    char took[QUANTITY_TEXT_SIZE];
    bool waits = found->deadlocked || found->still_tick != NOT_GIVEN;
    const char *help = waits ? ", which is such help" : "";
    if (!order->restart)
        return;
    if (found->restarted)
        fprintf(out, "Started again%s, every product is made as fast as before after %s.\n", help,
                clock_of(order, found->restart_ticks, took));
    else if (found->makes_nothing)
        fputs("Whether it starts again cannot be seen: no product was made between the warm-up and "
              "the stop.\n",
              out);
    else
        fprintf(out, "Started again, not every product is made as fast as before within %s.\n",
                clock_of(order, order->within_ticks, took));
}

static void print_advice(const struct drain_order *order, const struct drain_found *found,
                         const char *path, const char *again, FILE *out) {
    bool holds = drain_report_found_holds(order, found);
    if (!scenario_has_orders(order->scenario))
        fputs("(The scenario has no demands, so there was nothing to stop.)\n", out);
    if (path != NULL)
        fprintf(out, "\nThe files of the run are in %s\n", path);
    if (path != NULL && !holds)
        fprintf(out, "Why, step by step: loopwright cause %s\n", path);
    else if (!holds)
        fprintf(out, "\nWhy, step by step: %s\n", again);
}

void drain_report_print(const struct drain_outcome *outcome, const char *path, const char *again,
                        FILE *out) {
    const struct drain_found *worst = outcome->worst;
    if (outcome->many) {
        fprintf(out, "%" PRIu64 " of %" PRIu64 " drained. The worst has seed %" PRIu64 ".\n\n",
                outcome->drained_count, outcome->run_count, worst->seed);
    }
    print_flood(outcome, worst, out);
    print_end(outcome->order, worst, out);
    print_restart(outcome->order, worst, out);
    print_advice(outcome->order, worst, path, again, out);
}
