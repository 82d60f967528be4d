/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/gate_text.c - YAML in flow style, on one line. */
#include "model/scenario/gate_text.h"

#include <inttypes.h>
#include <stdio.h>

#include "sim/require.h"
#include "sim/text_stream.h"

static const char *name_of_subject(const struct scenario *scenario,
                                   const struct scenario_gate *leaf) {
    switch (leaf->reads) {
    case READS_CHEST: return scenario->chest[leaf->subject].name;
    case READS_STATION_INPUT:
    case READS_STATION_OUTPUT: return scenario->station[leaf->subject].name;
    case READS_LOOP: return scenario->loop[leaf->subject].name;
    case READS_LANE: return scenario->lane[leaf->subject].full_name;
    case READS_LINE: return scenario->line[leaf->subject].name;
    }
    require(false);
    return NULL;
}

static void print_leaf(const struct scenario *scenario, const struct scenario_gate *leaf,
                       FILE *out) {
    static const char *const key[] = {"chest", "station", "station", "loop", "lane", "line"};
    static const char *const item_key[] = {"item", "input", "output", "item", "item", "item"};
    fprintf(out, "{%s: %s", key[leaf->reads], name_of_subject(scenario, leaf));
    if (leaf->item != NO_INDEX)
        fprintf(out, ", %s: %s", item_key[leaf->reads], scenario->item[leaf->item].name);
    fprintf(out, ", %s: %" PRId64, leaf->kind == GATE_BELOW ? "below" : "at_least",
            leaf->threshold);
    if (leaf->reopen_below != NOT_GIVEN)
        fprintf(out, ", reopen_below: %" PRId64, leaf->reopen_below);
    fputc('}', out);
}

static void print(const struct scenario *scenario, uint32_t gate, FILE *out) {
    const struct scenario_gate *node = &scenario->gate[gate];
    if (node->kind == GATE_BELOW || node->kind == GATE_AT_LEAST) {
        print_leaf(scenario, node, out);
        return;
    }
    fputs(node->kind == GATE_ALL ? "{all: [" : "{any: [", out);
    for (uint32_t child = node->first_child; child != NO_INDEX;
         child = scenario->gate[child].next_sibling) {
        fputs(child != node->first_child ? ", " : "", out);
        print(scenario, child, out);
    }
    fputs("]}", out);
}

char *gate_text(const struct scenario *scenario, uint32_t gate) {
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    print(scenario, gate, out);
    return text_stream_end(&stream);
}
