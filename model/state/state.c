/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/state/state.c - walks the table of what is state. A state is put into a new world, which
 * takes the place of the old one only when all of it fits. */
#include "model/state/state.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/parts.h"
#include "model/engine/wake.h"
#include "model/engine/world.h"
#include "model/state/state_table.h"
#include "sim/require.h"
#include "sim/sealed_file.h"

/* A row in memory, fit for every kind of field. */
union row {
    unsigned char byte[STATE_ROW_BYTES];
    wide_count wide;
};

static uint32_t width_of(enum state_kind kind) {
    switch (kind) {
    case STATE_FLAG:
    case STATE_BYTE: return 1;
    case STATE_WORD: return 4;
    case STATE_PAST:
    case STATE_DUE:
    case STATE_SPAN:
    case STATE_AMOUNT:
    case STATE_VALUE:
    case STATE_KEY:
    case STATE_WIDE: break;
    }
    return 8; /* of a wide one, each half */
}

/* A field of at most 64 bits; of a wide one its lower half. */
static uint64_t number_of(const union row *row, const struct state_field *field) {
    const unsigned char *at = row->byte + field->offset;
    bool flag;
    uint32_t word;
    uint64_t number;
    wide_count wide;
    switch (field->kind) {
    case STATE_FLAG: memcpy(&flag, at, sizeof flag); return flag;
    case STATE_BYTE: return *at;
    case STATE_WORD: memcpy(&word, at, sizeof word); return word;
    case STATE_WIDE: memcpy(&wide, at, sizeof wide); return (uint64_t)wide;
    case STATE_PAST:
    case STATE_DUE:
    case STATE_SPAN:
    case STATE_AMOUNT:
    case STATE_VALUE:
    case STATE_KEY: break;
    }
    memcpy(&number, at, sizeof number);
    return number;
}

static uint64_t upper_half_of(const union row *row, const struct state_field *field) {
    wide_count wide;
    memcpy(&wide, row->byte + field->offset, sizeof wide);
    return (uint64_t)(wide >> 64);
}

/* The parts one after another; NULL after the last. */
static const struct state_part *part_at(uint32_t index) {
    for (int group = 0; group < STATE_GROUPS; group++) {
        if (index < state_table[group]->count)
            return &state_table[group]->part[index];
        index -= state_table[group]->count;
    }
    return NULL;
}

static uint32_t rows_of(const struct state_part *part, const struct world *world, uint32_t owner) {
    return part->rows == NULL ? 1 : part->rows(world, owner);
}

/* ---- saving ---- */

/* Puts a field at `at` and returns the place after it. Most have 64 bits. */
static inline unsigned char *put_field(unsigned char *at, const union row *row,
                                       const struct state_field *field) {
    if (field->kind >= STATE_PAST && field->kind <= STATE_KEY) {
        uint64_t number;
        memcpy(&number, row->byte + field->offset, sizeof number);
        return bytes_put_8(at, number);
    }
    uint64_t number = number_of(row, field);
    switch (width_of(field->kind)) {
    case 1: *at = (unsigned char)number; return at + 1;
    case 4: return bytes_put_4(at, (uint32_t)number);
    default: return bytes_put_8(bytes_put_8(at, number), upper_half_of(row, field));
    }
}

static void add_row(struct bytes *bytes, const struct state_part *part, const union row *row) {
    const struct state_field *field = part->field, *end = field + part->field_count;
    unsigned char *at = bytes_begin(bytes, part->field_count * sizeof(wide_count));
    for (; field < end; field++)
        at = put_field(at, row, field);
    bytes_end(bytes, at);
}

static void add_owner(struct bytes *bytes, const struct state_part *part, const struct world *world,
                      uint32_t owner) {
    struct state_cursor cursor = {0};
    uint32_t rows = rows_of(part, world, owner);
    if (part->rows != NULL)
        bytes_add(bytes, rows, 4);
    for (uint32_t i = 0; i < rows; i++) {
        union row row; /* not cleared: what is no field is not looked at */
        part->get(world, owner, &cursor, &row);
        add_row(bytes, part, &row);
    }
}

void state_save(const struct world *world, struct bytes *bytes) {
    require(world->agenda.cursor == AGENDA_NOBODY); /* not from inside a tick */
    bytes_add(bytes, world->shape, 8);
    bytes_add(bytes, world->scenario->seed, 8);
    bytes_add(bytes, (uint64_t)world->progress.tick, 8);
    const struct state_part *part;
    for (uint32_t i = 0; (part = part_at(i)) != NULL; i++) {
        uint32_t owners = part->owners(world);
        bytes_add(bytes, owners, 4);
        for (uint32_t owner = 0; owner < owners; owner++)
            add_owner(bytes, part, world, owner);
    }
}

uint64_t state_hash(const struct world *world) {
    struct bytes bytes = {0};
    state_save(world, &bytes);
    uint64_t hash = sealed_checksum(0, bytes.data, bytes.length);
    bytes_free(&bytes);
    return hash;
}

/* ---- putting back ---- */

static bool is_within(enum state_kind kind, int64_t number, int64_t tick) {
    switch (kind) {
    case STATE_FLAG: return number == 0 || number == 1;
    case STATE_PAST: return number >= NOT_GIVEN && number <= (tick > 0 ? tick : 0);
    case STATE_DUE:
        return number == AGENDA_NEVER || (number >= NOT_GIVEN && number <= STATE_TICK_MOST);
    case STATE_SPAN: return number >= 0 && number <= STATE_TICK_MOST;
    case STATE_AMOUNT: return number >= 0 && number <= STATE_AMOUNT_MOST;
    case STATE_VALUE:
        return number == NO_LIMIT || (number >= NOT_GIVEN && number <= STATE_AMOUNT_MOST);
    case STATE_BYTE:
    case STATE_WORD:
    case STATE_KEY:
    case STATE_WIDE: return true;
    }
    return false;
}

static void set_number(union row *row, const struct state_field *field, uint64_t number,
                       uint64_t upper) {
    unsigned char *at = row->byte + field->offset;
    bool flag = number != 0;
    uint32_t word = (uint32_t)number;
    wide_count wide = (wide_count)upper << 64 | number;
    switch (field->kind) {
    case STATE_FLAG: memcpy(at, &flag, sizeof flag); break;
    case STATE_BYTE: *at = (unsigned char)number; break;
    case STATE_WORD: memcpy(at, &word, sizeof word); break;
    case STATE_WIDE: memcpy(at, &wide, sizeof wide); break;
    case STATE_PAST:
    case STATE_DUE:
    case STATE_SPAN:
    case STATE_AMOUNT:
    case STATE_VALUE:
    case STATE_KEY: memcpy(at, &number, sizeof number); break;
    }
}

static bool take_row(struct bytes_reader *reader, const struct state_part *part, int64_t tick,
                     union row *row) {
    for (uint32_t i = 0; i < part->field_count; i++) {
        const struct state_field *field = &part->field[i];
        uint64_t number = bytes_take(reader, width_of(field->kind));
        uint64_t upper = field->kind == STATE_WIDE ? bytes_take(reader, 8) : 0;
        if (!is_within(field->kind, (int64_t)number, tick))
            return false;
        set_number(row, field, number, upper);
    }
    return !reader->failed;
}

static bool take_owner(struct bytes_reader *reader, const struct state_part *part,
                       struct state_filling *filling, uint32_t owner) {
    uint64_t rows = part->rows == NULL ? 1 : bytes_take(reader, 4);
    for (uint64_t i = 0; i < rows; i++) {
        union row row = {0};
        if (!take_row(reader, part, filling->tick, &row) || !part->put(filling, owner, &row))
            return false;
    }
    return !reader->failed;
}

static bool take_part(struct bytes_reader *reader, const struct state_part *part,
                      struct state_filling *filling) {
    uint64_t owners = bytes_take(reader, 4);
    if (!part->keyed && owners != part->owners(filling->world))
        return false;
    filling->hint = 0;
    for (uint32_t owner = 0; owner < owners; owner++)
        if (!take_owner(reader, part, filling, owner))
            return false;
    return !reader->failed;
}

static bool take_head(struct bytes_reader *reader, struct state_filling *filling) {
    const struct scenario *scenario = filling->world->scenario;
    if (bytes_take(reader, 8) != filling->world->shape)
        return false;
    filling->other_seed = bytes_take(reader, 8) != scenario->seed;
    filling->tick = (int64_t)bytes_take(reader, 8);
    return !reader->failed && filling->tick >= NOT_GIVEN && filling->tick <= STATE_TICK_MOST;
}

static bool fill(struct state_filling *filling, struct bytes_reader *reader) {
    if (!take_head(reader, filling))
        return false;
    const struct state_part *part;
    for (uint32_t i = 0; (part = part_at(i)) != NULL; i++)
        if (!take_part(reader, part, filling))
            return false;
    return bytes_at_end(reader) && state_finish(filling);
}

/* Each becomes what the other was; whoever listens stays with the place. */
static void change_places(struct world *a, struct world *b) {
    struct world was_a = *a;
    struct listener listener_of_b = b->listener;
    *a = *b;
    *b = was_a;
    a->listener = was_a.listener;
    b->listener = listener_of_b;
    wake_find_whom_moves_concern(a);
    wake_find_whom_moves_concern(b);
}

bool state_restore(struct world *world, const void *bytes, size_t length) {
    struct bytes_reader reader = bytes_reader_of(bytes, length);
    struct state_filling filling = {.world = world_new(world->scenario)};
    filling.gate = require_memory(world->scenario->gate_count, sizeof *filling.gate);
    bool filled = fill(&filling, &reader);
    if (filled)
        change_places(world, filling.world);
    free(filling.gate);
    world_free(filling.world);
    return filled;
}

struct world *state_copy(const struct world *world, const struct scenario *scenario) {
    struct bytes bytes = {0};
    state_save(world, &bytes);
    struct world *copy = world_new(scenario);
    bool fits = state_restore(copy, bytes.data, bytes.length);
    bytes_free(&bytes);
    if (fits)
        return copy;
    world_free(copy);
    return NULL;
}

/* ---- comparing ---- */

enum { DIFFERENCE_BYTES = 256 };

/* The position of a walk through two worlds at once. */
struct place_of_row {
    const struct state_part *part;
    uint32_t owner, row;
};

static char *differ(const struct place_of_row *place, const char *field, uint64_t a, uint64_t b) {
    char *text = require_memory(DIFFERENCE_BYTES, 1);
    int length =
        snprintf(text, DIFFERENCE_BYTES, "%s[%" PRIu32 "]", place->part->name, place->owner);
    if (place->part->rows_name != NULL && field != NULL)
        length += snprintf(text + length, (size_t)(DIFFERENCE_BYTES - length), ".%s[%" PRIu32 "]",
                           place->part->rows_name, place->row);
    snprintf(text + length, (size_t)(DIFFERENCE_BYTES - length), ".%s: %" PRId64 " is %" PRId64,
             field != NULL ? field : place->part->rows_name, (int64_t)a, (int64_t)b);
    return text;
}

static char *diff_row(const struct place_of_row *place, const union row *a, const union row *b) {
    for (uint32_t i = 0; i < place->part->field_count; i++) {
        const struct state_field *field = &place->part->field[i];
        if (number_of(a, field) != number_of(b, field))
            return differ(place, field->name, number_of(a, field), number_of(b, field));
        if (field->kind == STATE_WIDE && upper_half_of(a, field) != upper_half_of(b, field))
            return differ(place, field->name, upper_half_of(a, field), upper_half_of(b, field));
    }
    return NULL;
}

static char *diff_owner(struct place_of_row *place, const struct world *a, const struct world *b) {
    const struct state_part *part = place->part;
    struct state_cursor cursor_a = {0}, cursor_b = {0};
    uint32_t rows = rows_of(part, a, place->owner);
    if (rows != rows_of(part, b, place->owner))
        return differ(place, NULL, rows, rows_of(part, b, place->owner));
    for (place->row = 0; place->row < rows; place->row++) {
        union row row_a = {0}, row_b = {0};
        part->get(a, place->owner, &cursor_a, &row_a);
        part->get(b, place->owner, &cursor_b, &row_b);
        char *difference = diff_row(place, &row_a, &row_b);
        if (difference != NULL)
            return difference;
    }
    return NULL;
}

char *state_diff(const struct world *a, const struct world *b) {
    if (a->shape != b->shape)
        return require_text("the parts of the scenarios");
    struct place_of_row place = {0};
    for (uint32_t i = 0; (place.part = part_at(i)) != NULL; i++) {
        uint32_t owners = place.part->owners(a);
        if (owners != place.part->owners(b))
            return require_text(place.part->name);
        for (place.owner = 0; place.owner < owners; place.owner++) {
            char *difference = diff_owner(&place, a, b);
            if (difference != NULL)
                return difference;
        }
    }
    return NULL;
}
