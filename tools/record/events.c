/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/events.c - a spool of fixed records in order of start, patched at their ends. */
#include "tools/record/events.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/base/column_table.h"
#include "tools/base/csv.h"
#include "tools/base/file.h"
#include "tools/record/event_rows.h"

enum { SPOOL_BUFFER_BYTES = 1 << 16 };
static const int64_t not_spooled = -1;

/* An event in the spool; its items follow it, as 32-bit indices. */
struct spooled_event {
    struct event event; /* `item` is not used */
    bool open;
};

/* An event that is open, kept in case rows begin, or a capsule is taken, while it lasts. */
struct lasting {
    struct spooled_event record;
    uint32_t item[]; /* [record.event.item_count] */
};

struct slot {
    struct event_tally tally;
    struct lasting *lasting; /* NULL: none is open */
    int64_t offset;          /* in the spool of the open event, or not_spooled */
};

struct spool {
    int file; /* -1: none */
    int error;
    char *buffer; /* the end of the spool, from `written` on */
    size_t used;
    int64_t written;
};

struct events {
    const struct scenario *scenario;
    struct event_slots slots; /* watchers' kinds only */
    struct slot *slot;        /* in the order of rows of one start */
    uint64_t count[EVENT_KINDS], counted[EVENT_KINDS];
    bool last;
    struct event_rows rows;
    struct spool spool;
};

/* ---- slots ---- */

static struct slot *slot_of(const struct events *events, const struct event *event) {
    return &events->slot[event_slots_of(&events->slots, event)];
}

static void spool_row(void *self, uint64_t number, const struct event *event, uint32_t slot);

struct events *events_new(const struct scenario *scenario) {
    struct events *events = require_memory(1, sizeof *events);
    events->scenario = scenario;
    events->spool.file = -1;
    event_slots_init(&events->slots, scenario);
    event_rows_init(&events->rows, scenario, (struct event_rows_sink){events, spool_row});
    uint32_t slots = event_slots_count(&events->slots);
    events->slot = require_memory(slots, sizeof *events->slot);
    const struct event_tally none = {0, NOT_GIVEN, NOT_GIVEN, NOT_GIVEN, 0, false};
    for (uint32_t i = 0; i < slots; i++)
        events->slot[i] = (struct slot){none, NULL, not_spooled};
    return events;
}

void events_free(struct events *events) {
    if (events == NULL)
        return;
    event_rows_free(&events->rows);
    for (uint32_t i = 0; i < event_slots_count(&events->slots); i++)
        free(events->slot[i].lasting);
    if (events->spool.file >= 0)
        close(events->spool.file);
    free(events->spool.buffer);
    free(events->slot);
    free(events);
}

/* ---- the spool ---- */

/* Several runs may have their spools in one directory: each is named for its place in memory until
 * it has no name. What a program that was killed left under that name is written over. */
static bool spool_open(struct spool *spool, const struct directory *directory) {
    char spool_name[64];
    snprintf(spool_name, sizeof spool_name, "events-%p.spool", (void *)spool);
    spool->file = openat(directory->work, spool_name, O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (spool->file < 0 || unlinkat(directory->work, spool_name, 0) != 0) {
        directory_tell(directory, spool_name, errno);
        return false;
    }
    spool->buffer = require_memory(SPOOL_BUFFER_BYTES, 1);
    return true;
}

static void spool_flush(struct spool *spool) {
    if (spool->error == 0)
        spool->error = file_write(spool->file, spool->buffer, spool->used);
    spool->written += (int64_t)spool->used;
    spool->used = 0;
}

static void spool_append(struct spool *spool, const void *bytes, size_t count) {
    for (size_t done = 0; done < count;) {
        if (spool->used == SPOOL_BUFFER_BYTES)
            spool_flush(spool);
        size_t room = SPOOL_BUFFER_BYTES - spool->used;
        size_t part = count - done < room ? count - done : room;
        memcpy(spool->buffer + spool->used, (const char *)bytes + done, part);
        spool->used += part;
        done += part;
    }
}

/* Changes bytes already appended. What lies across the start of the buffer is written out first. */
static void spool_patch(struct spool *spool, int64_t offset, const void *bytes, size_t count) {
    if (offset >= spool->written) {
        memcpy(spool->buffer + (offset - spool->written), bytes, count);
        return;
    }
    if (offset + (int64_t)count > spool->written)
        spool_flush(spool);
    if (spool->error == 0)
        spool->error = file_write_at(spool->file, bytes, count, offset);
}

/* ---- events that last ---- */

/* Field by field, so that what lies between them stays zero: it all goes to a file. */
static void copy_event(struct event *to, const struct event *from) {
    to->kind = from->kind;
    to->start_tick = from->start_tick;
    to->end_tick = from->end_tick;
    to->since_tick = from->since_tick;
    to->subject = from->subject;
    to->actor = from->actor;
    to->track = from->track;
    to->chest = from->chest;
    to->incident = from->incident;
    to->item_count = from->item_count;
    to->count = from->count;
    to->short_count = from->short_count;
    to->value = from->value;
}

static struct lasting *lasting_of(const struct event *event, const uint32_t *item) {
    struct lasting *lasting =
        require_memory(1, sizeof *lasting + event->item_count * sizeof *lasting->item);
    copy_event(&lasting->record.event, event);
    if (event->item_count > 0)
        memcpy(lasting->item, item, event->item_count * sizeof *lasting->item);
    return lasting;
}

/* ---- rows, to the spool ---- */

static void spool_row(void *self, uint64_t number, const struct event *event, uint32_t slot) {
    struct events *events = self;
    struct spooled_event record;
    (void)number;
    memset(&record, 0, sizeof record);
    copy_event(&record.event, event);
    if (slot != NO_INDEX)
        events->slot[slot].offset = events->spool.written + (int64_t)events->spool.used;
    spool_append(&events->spool, &record, sizeof record);
    spool_append(&events->spool, event->item, event->item_count * sizeof *event->item);
}

bool events_keep(struct events *events, const struct directory *directory) {
    if (!spool_open(&events->spool, directory))
        return false;
    for (uint32_t i = 0; i < event_slots_count(&events->slots); i++) {
        const struct lasting *lasting = events->slot[i].lasting;
        if (lasting == NULL)
            continue;
        struct event event = lasting->record.event;
        event.item = lasting->item;
        event_rows_add_open(&events->rows, &event);
    }
    event_rows_flush(&events->rows);
    return true;
}

static void keep(struct events *events, const struct event *event) {
    if (events->spool.file >= 0)
        event_rows_add(&events->rows, event);
}

static void complete(struct events *events, const struct event *event, struct slot *slot) {
    if (events->spool.file < 0)
        return;
    if (slot->offset == not_spooled)
        event_rows_flush(&events->rows);
    require(slot->offset != not_spooled);
    int64_t record = slot->offset;
    spool_patch(&events->spool, record + (int64_t)offsetof(struct spooled_event, event.end_tick),
                &event->end_tick, sizeof event->end_tick);
    spool_patch(&events->spool, record + (int64_t)offsetof(struct spooled_event, open),
                &events->last, sizeof events->last);
    slot->offset = not_spooled;
}

/* ---- what is reported to a listener ---- */

void events_happened(struct events *events, const struct event *event) {
    events->count[event->kind]++;
    keep(events, event);
}

void events_began(struct events *events, const struct event *event) {
    struct slot *slot = slot_of(events, event);
    struct event_tally *tally = &slot->tally;
    events->count[event->kind]++;
    tally->count++;
    tally->last_start_tick = event->start_tick;
    tally->last_end_tick = NOT_GIVEN;
    if (tally->count == 1)
        tally->first_start_tick = event->start_tick;
    free(slot->lasting);
    slot->lasting = lasting_of(event, event->item);
    keep(events, event);
}

void events_ended(struct events *events, const struct event *event) {
    struct slot *slot = slot_of(events, event);
    slot->tally.lasted_ticks += event->end_tick - slot->tally.last_start_tick;
    slot->tally.last_end_tick = event->end_tick;
    slot->tally.open = events->last;
    if (events->last || event->end_tick >= events->scenario->warm_up_ticks)
        events->counted[event->kind]++;
    free(slot->lasting);
    slot->lasting = NULL;
    complete(events, event, slot);
}

void events_last(struct events *events) { events->last = true; }

bool events_are_last(const struct events *events) { return events->last; }

uint64_t events_count(const struct events *events, enum event_kind kind) {
    return events->count[kind];
}

uint64_t events_counted(const struct events *events, enum event_kind kind) {
    return events->counted[kind];
}

const struct event_tally *events_tally(const struct events *events, enum event_kind kind,
                                       uint32_t index) {
    require(index < event_kind_subject_count(events->scenario, kind));
    return &events->slot[events->slots.first[kind] + index].tally;
}

bool events_failed(const struct events *events) { return events->spool.error != 0; }

/* ---- kept in a capsule ---- */

static void save_slot(struct bytes *bytes, uint32_t index, const struct slot *slot) {
    enum { SLOT_BYTES = 4 + 5 * 8 + 1 };
    const struct event_tally *tally = &slot->tally;
    unsigned char *at = bytes_begin(bytes, SLOT_BYTES);
    at = bytes_put_4(at, index);
    at = bytes_put_8(at, tally->count);
    at = bytes_put_8(at, (uint64_t)tally->first_start_tick);
    at = bytes_put_8(at, (uint64_t)tally->last_start_tick);
    at = bytes_put_8(at, (uint64_t)tally->last_end_tick);
    at = bytes_put_8(at, (uint64_t)tally->lasted_ticks);
    *at++ = slot->lasting != NULL;
    bytes_end(bytes, at);
    if (slot->lasting == NULL)
        return;
    bytes_add(bytes, slot->lasting->record.event.item_count, 4);
    for (uint32_t i = 0; i < slot->lasting->record.event.item_count; i++)
        bytes_add(bytes, slot->lasting->item[i], 4);
}

void events_save(const struct events *events, struct bytes *bytes) {
    uint32_t slots = event_slots_count(&events->slots), used = 0;
    for (int kind = 0; kind < EVENT_KINDS; kind++) {
        bytes_add(bytes, events->count[kind], 8);
        bytes_add(bytes, events->counted[kind], 8);
    }
    for (uint32_t i = 0; i < slots; i++)
        used += events->slot[i].tally.count > 0;
    bytes_add(bytes, used, 4);
    for (uint32_t i = 0; i < slots; i++)
        if (events->slot[i].tally.count > 0)
            save_slot(bytes, i, &events->slot[i]);
}

static bool restore_items(struct events *events, struct slot *slot, struct bytes_reader *reader) {
    uint32_t count = (uint32_t)bytes_take(reader, 4);
    if (reader->failed || count > events->scenario->item_count)
        return false;
    slot->lasting = require_memory(1, sizeof *slot->lasting + count * sizeof(uint32_t));
    slot->lasting->record.event.item_count = count;
    for (uint32_t i = 0; i < count; i++) {
        slot->lasting->item[i] = (uint32_t)bytes_take(reader, 4);
        if (slot->lasting->item[i] >= events->scenario->item_count)
            return false;
    }
    return true;
}

static bool restore_slot(struct events *events, struct bytes_reader *reader) {
    uint64_t index = bytes_take(reader, 4);
    if (reader->failed || index >= event_slots_count(&events->slots) ||
        events->slot[index].tally.count > 0)
        return false;
    struct slot *slot = &events->slot[index];
    slot->tally.count = bytes_take(reader, 8);
    slot->tally.first_start_tick = (int64_t)bytes_take(reader, 8);
    slot->tally.last_start_tick = (int64_t)bytes_take(reader, 8);
    slot->tally.last_end_tick = (int64_t)bytes_take(reader, 8);
    slot->tally.lasted_ticks = (int64_t)bytes_take(reader, 8);
    bool lasts = bytes_take(reader, 1) != 0;
    return slot->tally.count > 0 && slot->tally.last_start_tick >= 0 &&
           slot->tally.lasted_ticks >= 0 && (!lasts || restore_items(events, slot, reader));
}

/* Compares what a log holds open with what a world says is. */
struct open_check {
    const struct events *events;
    uint32_t open; /* that the world has named */
    bool fits;
};

/* What the world knows of an open event comes from there; its items are those of the log. */
static void answer(void *self, const struct event *event) {
    struct open_check *check = self;
    struct slot *slot = slot_of(check->events, event);
    check->open++;
    if (slot->lasting == NULL || slot->tally.last_start_tick != event->start_tick) {
        check->fits = false;
        return;
    }
    uint32_t item_count = slot->lasting->record.event.item_count;
    copy_event(&slot->lasting->record.event, event);
    slot->lasting->record.event.end_tick = event->start_tick;
    slot->lasting->record.event.item_count = item_count;
}

static bool open_ones_fit(struct events *events, struct world *world) {
    struct open_check check = {.events = events, .fits = true};
    uint32_t open = 0;
    for (uint32_t i = 0; i < event_slots_count(&events->slots); i++)
        open += events->slot[i].lasting != NULL;
    world_listen(world, &(struct listener){.self = &check, .ended = answer});
    world_report_open(world);
    world_listen(world, NULL);
    return check.fits && check.open == open;
}

bool events_restore(struct events *events, struct world *world, struct bytes_reader *reader) {
    for (int kind = 0; kind < EVENT_KINDS; kind++) {
        events->count[kind] = bytes_take(reader, 8);
        events->counted[kind] = bytes_take(reader, 8);
    }
    uint64_t used = bytes_take(reader, 4);
    for (uint64_t i = 0; i < used; i++)
        if (!restore_slot(events, reader))
            return false;
    return !reader->failed && open_ones_fit(events, world);
}

/* ---- the audit ---- */

/* An open event as the world reports it, against the log. */
static void check_open(void *self, const struct event *event) {
    struct open_check *check = self;
    const struct slot *slot = slot_of(check->events, event);
    check->open++;
    require(slot->lasting != NULL);
    require(slot->lasting->record.event.kind == event->kind);
    require(slot->tally.last_start_tick == event->start_tick);
    require(slot->lasting->record.event.since_tick == event->since_tick);
}

static void check_tally(const struct slot *slot, int64_t now) {
    const struct event_tally *tally = &slot->tally;
    require((tally->count == 0) == (tally->first_start_tick == NOT_GIVEN));
    require(tally->first_start_tick <= tally->last_start_tick && tally->last_start_tick <= now);
    if (slot->lasting != NULL)
        require(tally->count > 0 && tally->last_end_tick == NOT_GIVEN);
    else
        require(tally->count == 0 ||
                (tally->last_end_tick >= tally->last_start_tick && tally->last_end_tick <= now));
}

static void check_kind(const struct events *events, enum event_kind kind) {
    uint64_t count = 0;
    for (uint32_t i = events->slots.first[kind]; i < events->slots.first[kind + 1]; i++)
        count += events->slot[i].tally.count;
    require(!event_kind_is_watched(kind) || count == events->count[kind]);
    require(events->counted[kind] <= events->count[kind]);
}

void events_audit(const struct events *events, struct world *world) {
    struct open_check check = {.events = events};
    struct listener listener = world_listener(world);
    uint32_t open = 0;
    for (int kind = 0; kind < EVENT_KINDS; kind++)
        check_kind(events, (enum event_kind)kind);
    for (uint32_t i = 0; i < event_slots_count(&events->slots); i++) {
        check_tally(&events->slot[i], world_tick(world));
        open += events->slot[i].lasting != NULL;
    }
    world_listen(world, &(struct listener){.self = &check, .ended = check_open});
    world_report_open(world);
    world_listen(world, &listener);
    require(check.open == open);
}

/* ---- rows ---- */

/* What rows are made of: the names as fields, and the clock. */
struct row_writer {
    const struct scenario *scenario;
    struct csv csv;
    struct csv_scale seconds;
    char *row; /* a row that grows: several items may be named */
    size_t length, capacity;
};

static void add_bytes(struct row_writer *writer, const char *bytes, size_t count) {
    if (writer->length + count > writer->capacity) {
        writer->capacity = 2 * (writer->length + count);
        writer->row = require_more_memory(writer->row, writer->capacity, 1);
    }
    memcpy(writer->row + writer->length, bytes, count);
    writer->length += count;
}

static void add(struct row_writer *writer, const char *text) {
    add_bytes(writer, text, strlen(text));
}

static void add_number(struct row_writer *writer, int64_t number) {
    char digits[CSV_NUMBER_BYTES];
    add_bytes(writer, digits, (size_t)(csv_put_number(digits, number) - digits));
}

static void add_seconds(struct row_writer *writer, int64_t ticks) {
    char digits[CSV_DECIMAL_BYTES];
    add_bytes(writer, digits, (size_t)(csv_put_scaled(digits, &writer->seconds, ticks) - digits));
}

static void add_field(struct row_writer *writer, const char *text) {
    struct csv_text field = csv_text_field(text);
    add_bytes(writer, field.bytes, field.length);
    csv_text_free(&field);
}

static const char *subject_name(const struct scenario *scenario, const struct event *event) {
    switch (event->subject) {
    case SUBJECT_ACTOR:
    case SUBJECT_GATE: return scenario_part_name(scenario, event->actor);
    case SUBJECT_TRACK: return layout_place_name(scenario, event->track);
    case SUBJECT_CHEST: return scenario->chest[event->chest].name;
    case SUBJECT_NONE: break;
    }
    return "";
}

/* A lane gives loop and lane, a line its name in the loop's column, as in occupancy.csv. */
static void add_track(struct row_writer *writer, struct place track) {
    const struct scenario *scenario = writer->scenario;
    if (track.kind == PLACE_LANE) {
        const struct scenario_lane *lane = &scenario->lane[track.index];
        add_field(writer, scenario->loop[lane->loop].name);
        add(writer, ",");
        add_field(writer, lane->name);
        return;
    }
    if (track.kind == PLACE_LINE)
        add_field(writer, scenario->line[track.index].name);
    add(writer, ",");
}

static void add_loop_and_lane(struct row_writer *writer, const struct event *event) {
    bool blocked_arm = event->kind == EVENT_BLOCKED && event->actor.kind == PART_ARM;
    bool track = event->subject == SUBJECT_ACTOR &&
                 (event->actor.kind == PART_LOOP || event->actor.kind == PART_LINE);
    if (event->subject == SUBJECT_TRACK || blocked_arm) {
        add_track(writer, event->track);
        return;
    }
    if (track)
        add_field(writer, scenario_part_name(writer->scenario, event->actor));
    add(writer, ",");
}

static void add_items(struct row_writer *writer, const struct event *event, const uint32_t *item) {
    for (uint32_t i = 0; i < event->item_count; i++) {
        add(writer, i > 0 ? " " : "");
        add(writer, writer->scenario->item[item[i]].name);
    }
}

/* ---- detail: key=value pairs, separated by "; " ---- */

struct detail {
    struct row_writer *writer;
    bool begun;
};

static void detail_key(struct detail *detail, const char *key) {
    add(detail->writer, detail->begun ? "; " : "");
    add(detail->writer, key);
    detail->begun = true;
}

static void detail_set(struct detail *detail, const struct event *event,
                       const struct scenario_incident *incident) {
    static const char *const key[] = {[INCIDENT_SET_CAPACITY] = "capacity=",
                                      [INCIDENT_SET_BELOW] = "below=",
                                      [INCIDENT_SET_AT_LEAST] = "at_least=",
                                      [INCIDENT_SET_REOPEN] = "reopen_below="};
    detail_key(detail, key[incident->kind]);
    if (event->value == NO_LIMIT)
        add(detail->writer, "null");
    else
        add_number(detail->writer, event->value);
    if (incident->reopen_value != NOT_GIVEN) {
        detail_key(detail, "reopen_below=");
        add_number(detail->writer, incident->reopen_value);
    }
}

static void detail_incident(struct detail *detail, const struct event *event) {
    if (event->incident == NO_INDEX) {
        detail_key(detail, "cause=breaks");
        return;
    }
    const struct scenario_incident *incident = &detail->writer->scenario->incident[event->incident];
    if (event->short_count > 0) {
        detail_key(detail, "short=");
        add_number(detail->writer, event->short_count);
    }
    if (event->kind == EVENT_SET)
        detail_set(detail, event, incident);
    if (incident->name != NULL) {
        detail_key(detail, "incident=");
        add(detail->writer, incident->name);
    }
}

static void add_detail(struct row_writer *writer, const struct spooled_event *record) {
    struct detail detail = {writer, false};
    const struct event *event = &record->event;
    if (!event_kind_is_watched(event->kind))
        detail_incident(&detail, event);
    if (event->since_tick != NOT_GIVEN) {
        detail_key(&detail, "since=");
        add_seconds(writer, event->since_tick);
    }
    if (record->open)
        detail_key(&detail, "open");
}

/* start_s, end_s, event, subject, loop, lane, item, count, detail */
static void add_row(struct row_writer *writer, const struct spooled_event *record,
                    const uint32_t *item) {
    const struct event *event = &record->event;
    add_seconds(writer, event->start_tick);
    add(writer, ",");
    add_seconds(writer, event->end_tick);
    add(writer, ",");
    add(writer, event_kind_name(event->kind));
    add(writer, ",");
    add_field(writer, subject_name(writer->scenario, event));
    add(writer, ",");
    add_loop_and_lane(writer, event);
    add(writer, ",");
    add_items(writer, event, item);
    add(writer, ",");
    if (event->count != NOT_GIVEN)
        add_number(writer, event->count);
    add(writer, ",");
    add_detail(writer, record);
}

static void write_row(struct row_writer *writer, const struct spooled_event *record,
                      const uint32_t *item) {
    writer->length = 0;
    add_row(writer, record, item);
    csv_long_row(&writer->csv, writer->row, writer->length);
}

/* Reads the spool from where it is at to its end, `length` bytes, and writes a row for each event.
 * Returns 0, or an errno: EIO where the spool ends elsewhere. */
static int write_rows(struct row_writer *writer, FILE *spool, int64_t length) {
    struct spooled_event record;
    uint32_t *item = NULL;
    int64_t read = 0;
    while (fread(&record, sizeof record, 1, spool) == 1) {
        uint32_t count = record.event.item_count;
        item = require_more_memory(item, count, sizeof *item);
        if (fread(item, sizeof *item, count, spool) != count)
            break;
        write_row(writer, &record, item);
        read += (int64_t)(sizeof record + count * sizeof *item);
    }
    free(item);
    return ferror(spool) || read != length ? EIO : 0;
}

/* The file in place of the spool's number of it: closed by the caller. NULL with errno. */
static FILE *spool_stream(struct spool *spool) {
    FILE *stream = fdopen(spool->file, "r+");
    if (stream != NULL)
        spool->file = -1;
    return stream;
}

static int write_all(struct events *events, struct row_writer *writer) {
    struct spool *spool = &events->spool;
    event_rows_flush(&events->rows);
    spool_flush(spool);
    if (spool->error != 0)
        return spool->error;
    FILE *stream = spool_stream(spool);
    if (stream == NULL)
        return errno;
    int error = fseek(stream, 0, SEEK_SET) != 0 ? errno : 0;
    if (error == 0)
        error = write_rows(writer, stream, spool->written);
    fclose(stream); /* it was only read */
    return error;
}

bool events_write_as(struct events *events, const struct directory *directory, const char *name) {
    char header[COLUMN_TABLE_HEADER_SIZE];
    struct row_writer writer = {.scenario = events->scenario};
    csv_scale_init(&writer.seconds, events->scenario->ticks_per_second, CSV_SECONDS_PLACES);
    csv_open(&writer.csv, directory->work, name, column_table_header("events.csv", header));
    int error = write_all(events, &writer);
    int csv_error = csv_close(&writer.csv);
    csv_scale_free(&writer.seconds);
    free(writer.row);
    error = error != 0 ? error : csv_error;
    if (error != 0)
        directory_tell(directory, name, error);
    return error == 0;
}

bool events_write(struct events *events, const struct directory *directory) {
    return events_write_as(events, directory, "events.csv");
}
