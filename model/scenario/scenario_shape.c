/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/scenario_shape.c - the parts of a scenario as one number: names, cells and
 * connections, on which the layout of a state depends, but no values. */
#include <string.h>

#include "model/scenario/scenario.h"
#include "sim/bytes.h"
#include "sim/sealed_file.h"

static void add_name(struct bytes *bytes, const char *name) {
    bytes_add_block(bytes, name, strlen(name));
}

static void add_number(struct bytes *bytes, uint32_t number) { bytes_add(bytes, number, 4); }

static void add_place(struct bytes *bytes, struct place place) {
    add_number(bytes, place.kind);
    add_number(bytes, place.index);
}

static void add_belts(struct bytes *bytes, const struct scenario *scenario) {
    add_number(bytes, scenario->loop_count);
    for (uint32_t i = 0; i < scenario->loop_count; i++) {
        const struct scenario_loop *loop = &scenario->loop[i];
        add_name(bytes, loop->name);
        add_number(bytes, loop->cell_count);
        add_number(bytes, loop->lane_count);
        for (uint32_t j = 0; j < loop->lane_count; j++)
            add_name(bytes, scenario->lane[loop->first_lane + j].name);
        add_number(bytes, loop->breaks->present);
    }
    add_number(bytes, scenario->line_count);
    for (uint32_t i = 0; i < scenario->line_count; i++) {
        add_name(bytes, scenario->line[i].name);
        add_number(bytes, scenario->line[i].cell_count);
        add_number(bytes, scenario->line[i].breaks->present);
    }
}

static void add_stores(struct bytes *bytes, const struct scenario *scenario) {
    add_number(bytes, scenario->chest_count);
    for (uint32_t i = 0; i < scenario->chest_count; i++) {
        const struct item_counts *start = &scenario->chest[i].start;
        add_name(bytes, scenario->chest[i].name);
        add_number(bytes, start->count);
        for (uint32_t j = 0; j < start->count; j++) {
            add_number(bytes, start->entry[j].item);
            bytes_add(bytes, (uint64_t)start->entry[j].count, 8);
        }
    }
    add_number(bytes, scenario->station_count);
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        add_name(bytes, scenario->station[i].name);
        add_number(bytes, scenario->station[i].breaks->present);
    }
}

static void add_arms(struct bytes *bytes, const struct scenario *scenario) {
    add_number(bytes, scenario->arm_count);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        add_name(bytes, scenario->arm[i].name);
        add_place(bytes, scenario->arm[i].from);
        add_place(bytes, scenario->arm[i].to);
        add_number(bytes, scenario->arm[i].breaks->present);
    }
}

static void add_streams(struct bytes *bytes, const struct scenario_stream *stream, uint32_t count) {
    add_number(bytes, count);
    for (uint32_t i = 0; i < count; i++) {
        add_name(bytes, stream[i].name);
        add_number(bytes, stream[i].chest);
        add_number(bytes, stream[i].item);
        add_number(bytes, stream[i].breaks->present);
        if (stream[i].outlet) /* it owes nothing, so that a demand's state does not fit it */
            add_name(bytes, "outlet");
    }
}

static void add_items(struct bytes *bytes, const struct scenario *scenario) {
    add_number(bytes, scenario->item_count);
    for (uint32_t i = 0; i < scenario->item_count; i++) {
        add_name(bytes, scenario->item[i].name);
        add_number(bytes, scenario->item[i].length);
    }
}

uint64_t scenario_shape(const struct scenario *scenario) {
    struct bytes bytes = {0};
    bytes_add(&bytes, (uint64_t)scenario->ticks_per_second, 8);
    add_items(&bytes, scenario);
    add_belts(&bytes, scenario);
    add_stores(&bytes, scenario);
    add_arms(&bytes, scenario);
    add_streams(&bytes, scenario->supply, scenario->supply_count);
    add_streams(&bytes, scenario->demand, scenario->demand_count);
    uint64_t shape = sealed_checksum(0, bytes.data, bytes.length);
    bytes_free(&bytes);
    return shape;
}
