/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/vcd.c - compares all signals with what was written last, after each tick in which
 * something was due. */
#include "tools/record/vcd.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/base/version.h"
#include "tools/record/samples.h"
#include "tools/record/state_names.h"

enum signal_kind { TRACK, LEVEL, STATION, ARM, HAND, GATE };

/* Bits of a state, of a count, and bytes of the code that names a signal in the file. */
enum { STATE_BITS = 3, COUNT_BITS = 64, CODE_BYTES = 8, LINE_BYTES = 512 };

struct vcd_signal {
    enum signal_kind kind;
    uint32_t index; /* of a gate: of the node in scenario.gate */
    int64_t last;   /* as it was written last */
    char code[CODE_BYTES];
};

/* ---- writing ---- */

__attribute__((format(printf, 2, 3))) static void print(struct vcd *vcd, const char *format, ...) {
    char line[LINE_BYTES];
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    require(length >= 0 && length < LINE_BYTES);
    output_add(&vcd->output, line, (size_t)length);
}

/* The number of a signal in digits from `!` to `~`, the least one first. */
static void make_code(char code[CODE_BYTES], uint32_t number) {
    enum { FIRST = '!', DIGITS = '~' - '!' + 1 };
    size_t length = 0;
    do
        code[length++] = (char)(FIRST + number % DIGITS);
    while ((number /= DIGITS) > 0);
    code[length] = '\0';
}

/* Adds a signal and declares it. The names are put together as one. */
static void declare(struct vcd *vcd, enum signal_kind kind, uint32_t index, uint32_t bits,
                    const char *format, ...) __attribute__((format(printf, 5, 6)));
static void declare(struct vcd *vcd, enum signal_kind kind, uint32_t index, uint32_t bits,
                    const char *format, ...) {
    char name[LINE_BYTES / 2];
    struct vcd_signal *signal = &vcd->signal[vcd->signal_count];
    *signal = (struct vcd_signal){.kind = kind, .index = index};
    make_code(signal->code, vcd->signal_count++);
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(name, sizeof name, format, arguments);
    va_end(arguments);
    require(length >= 0 && length < (int)sizeof name);
    print(vcd, "$var wire %" PRIu32 " %s %s $end\n", bits, signal->code, name);
}

static void begin_scope(struct vcd *vcd, const char *name) {
    print(vcd, "$scope module %s $end\n", name);
}

static void end_scope(struct vcd *vcd) { print(vcd, "$upscope $end\n"); }

/* ---- the head ---- */

/* Units of 10^-k s of which a tick has a whole number; without such a k up to 9, nanoseconds. */
static void put_timescale(struct vcd *vcd) {
    static const char *const unit[] = {"1 s",   "100 ms", "10 ms",  "1 ms",  "100 us",
                                       "10 us", "1 us",   "100 ns", "10 ns", "1 ns"};
    size_t power = 0, most = sizeof unit / sizeof *unit - 1;
    vcd->unit_divisor = 1;
    while (power < most && vcd->unit_divisor % vcd->scenario->ticks_per_second != 0) {
        vcd->unit_divisor *= 10;
        power++;
    }
    print(vcd, "$version loopwright " LOOPWRIGHT_VERSION " $end\n$timescale %s $end\n",
          unit[power]);
}

static void put_codes(struct vcd *vcd) {
    print(vcd, "$comment arms:");
    for (int state = 0; state < ARM_STATES; state++)
        print(vcd, " %d %s", state, state_names_arm((enum arm_state)state));
    print(vcd, "; stations:");
    for (int state = 0; state < STATION_STATES; state++)
        print(vcd, " %d %s", state, state_names_station((enum station_state)state));
    print(vcd, "; gates: 1 open $end\n");
}

static void declare_levels(struct vcd *vcd) {
    for (uint32_t i = 0; i < samples_level_count(vcd->samples); i++) {
        struct samples_level level = samples_level(vcd->samples, i);
        declare(vcd, LEVEL, i, COUNT_BITS, "%s%s/%s", level.place, level.stock, level.item);
    }
}

static void declare_arms(struct vcd *vcd) {
    for (uint32_t i = 0; i < vcd->scenario->arm_count; i++) {
        begin_scope(vcd, vcd->scenario->arm[i].name);
        declare(vcd, ARM, i, STATE_BITS, "state");
        declare(vcd, HAND, i, COUNT_BITS, "hand");
        end_scope(vcd);
    }
}

static void declare_gates(struct vcd *vcd) {
    const struct scenario *scenario = vcd->scenario;
    for (uint32_t i = 0; i < scenario->station_count; i++)
        if (scenario->station[i].gate != NO_INDEX)
            declare(vcd, GATE, scenario->station[i].gate, 1, "%s", scenario->station[i].name);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        if (scenario->arm[i].gate != NO_INDEX)
            declare(vcd, GATE, scenario->arm[i].gate, 1, "%s", scenario->arm[i].name);
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].gate != NO_INDEX)
            declare(vcd, GATE, scenario->supply[i].gate, 1, "%s", scenario->supply[i].name);
}

static void put_head(struct vcd *vcd) {
    const struct scenario *scenario = vcd->scenario;
    put_timescale(vcd);
    put_codes(vcd);
    begin_scope(vcd, "lanes");
    for (uint32_t i = 0; i < layout_track_count(scenario); i++)
        declare(vcd, TRACK, i, COUNT_BITS, "%s", layout_track_name(scenario, i));
    end_scope(vcd);
    begin_scope(vcd, "levels");
    declare_levels(vcd);
    end_scope(vcd);
    begin_scope(vcd, "stations");
    for (uint32_t i = 0; i < scenario->station_count; i++)
        declare(vcd, STATION, i, STATE_BITS, "%s", scenario->station[i].name);
    end_scope(vcd);
    begin_scope(vcd, "arms");
    declare_arms(vcd);
    end_scope(vcd);
    begin_scope(vcd, "gates");
    declare_gates(vcd);
    end_scope(vcd);
    print(vcd, "$enddefinitions $end\n");
}

/* ---- values ---- */

static int64_t hand_of(const struct vcd *vcd, uint32_t index) {
    const struct scenario_arm *arm = &vcd->scenario->arm[index];
    int64_t count = 0;
    for (uint32_t i = 0; i < arm->item_count; i++)
        count += world_hand_count(vcd->world, index, arm->item[i]);
    return count;
}

static int64_t value_of(const struct vcd *vcd, const struct vcd_signal *signal) {
    const struct world *world = vcd->world;
    switch (signal->kind) {
    case TRACK:
        return world_track_count(world, layout_track_as_place(vcd->scenario, signal->index),
                                 NO_INDEX);
    case LEVEL: return samples_level_now(vcd->samples, world, signal->index);
    case STATION: return world_station_state(world, signal->index);
    case ARM: return world_arm_state(world, signal->index);
    case HAND: return hand_of(vcd, signal->index);
    case GATE: return world_gate_open(world, signal->index);
    }
    return 0;
}

/* In binary, without zeros in front: a reader puts those there (IEEE 1364-2005, 18.2.1). */
static void put_value(struct vcd *vcd, const struct vcd_signal *signal) {
    char digits[COUNT_BITS + 1];
    size_t at = COUNT_BITS;
    uint64_t value = (uint64_t)signal->last;
    digits[at] = '\0';
    do
        digits[--at] = (char)('0' + value % 2);
    while ((value /= 2) > 0);
    print(vcd, signal->kind == GATE ? "%s%s\n" : "b%s %s\n", digits + at, signal->code);
}

/* A tick in units of the file. */
static int64_t time_of(const struct vcd *vcd, int64_t tick) {
    int64_t rate = vcd->scenario->ticks_per_second, divisor = vcd->unit_divisor;
    int64_t seconds = tick / rate, rest = tick % rate;
    return seconds * divisor + (2 * rest * divisor + rate) / (2 * rate);
}

static void take_all(struct vcd *vcd) {
    for (uint32_t i = 0; i < vcd->signal_count; i++)
        vcd->signal[i].last = value_of(vcd, &vcd->signal[i]);
}

/* The values at the start, those of tick 0 where something was due in it. */
static void put_first(struct vcd *vcd) {
    print(vcd, "#0\n$dumpvars\n");
    for (uint32_t i = 0; i < vcd->signal_count; i++)
        put_value(vcd, &vcd->signal[i]);
    print(vcd, "$end\n");
    vcd->begun = true;
}

static void put_changes(struct vcd *vcd, int64_t tick) {
    bool stamped = false;
    for (uint32_t i = 0; i < vcd->signal_count; i++) {
        struct vcd_signal *signal = &vcd->signal[i];
        int64_t value = value_of(vcd, signal);
        if (value == signal->last)
            continue;
        if (!stamped)
            print(vcd, "#%" PRId64 "\n", time_of(vcd, tick));
        stamped = true;
        signal->last = value;
        put_value(vcd, signal);
    }
}

/* ---- the file ---- */

/* As many signals as there can be. */
static size_t most_signals(const struct vcd *vcd) {
    const struct scenario *scenario = vcd->scenario;
    return (size_t)layout_track_count(scenario) + samples_level_count(vcd->samples) +
           2 * (size_t)scenario->station_count + 3 * (size_t)scenario->arm_count +
           scenario->supply_count;
}

bool vcd_open(struct vcd *vcd, const struct scenario *scenario, const struct world *world,
              const char *path, bool force) {
    *vcd = (struct vcd){.scenario = scenario, .world = world};
    if (!output_open(&vcd->output, path, OUTPUT_VCD, force))
        return false;
    vcd->samples = samples_new(scenario, world);
    vcd->signal = require_memory(most_signals(vcd), sizeof *vcd->signal);
    put_head(vcd);
    take_all(vcd);
    return true;
}

bool vcd_look(struct vcd *vcd) {
    int64_t tick = world_tick(vcd->world);
    if (!vcd->begun && tick == 0)
        take_all(vcd);
    if (!vcd->begun)
        put_first(vcd);
    put_changes(vcd, tick);
    return !output_failed(&vcd->output);
}

static void forget(struct vcd *vcd) {
    samples_discard(vcd->samples);
    free(vcd->signal);
    vcd->samples = NULL;
    vcd->signal = NULL;
}

bool vcd_close(struct vcd *vcd) {
    if (!vcd->begun)
        put_first(vcd);
    put_changes(vcd, world_tick(vcd->world));
    print(vcd, "#%" PRId64 "\n", time_of(vcd, world_tick(vcd->world) + 1));
    forget(vcd);
    return output_close(&vcd->output);
}

void vcd_discard(struct vcd *vcd) {
    forget(vcd);
    output_discard(&vcd->output);
}
