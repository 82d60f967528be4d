/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/read_place.c - reads a place such as "ring/outer@4": a part of the scenario, with
 * the lane of a loop and the cell of a belt. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/reader/reading.h"
#include "model/scenario/limits.h"
#include "sim/require.h"

/* A place's text, taken apart. */
struct written_place {
    char *name;       /* owns all three */
    const char *lane; /* NULL: none written */
    const char *cell; /* NULL: none written */
};

static struct written_place take_apart(const char *text) {
    struct written_place written = {.name = require_text(text)};
    char *at = strchr(written.name, '@');
    if (at != NULL) {
        *at = '\0';
        written.cell = at + 1;
    }
    char *slash = strchr(written.name, '/');
    if (slash != NULL) {
        *slash = '\0';
        written.lane = slash + 1;
    }
    return written;
}

uint32_t read_place_cells(const struct scenario *scenario, struct place place) {
    require(place.kind == PLACE_LANE || place.kind == PLACE_LINE);
    if (place.kind == PLACE_LINE)
        return scenario->line[place.index].cell_count;
    return scenario->loop[scenario->lane[place.index].loop].cell_count;
}

/* ---- lanes ---- */
struct lanes_of_loop {
    const struct scenario *scenario;
    uint32_t first;
};

static const char *lane_word(const void *from, uint32_t index) {
    const struct lanes_of_loop *lanes = from;
    return lanes->scenario->lane[lanes->first + index].name;
}

/* A place on a loop of several lanes without the name of one. */
static void tell_which_lane(struct reading *reading, const struct node *node,
                            const struct scenario_loop *loop) {
    const struct scenario_lane *lane = &reading->scenario->lane[loop->first_lane];
    char list[LANES_OF_LOOP_MAX * (2 * LIMIT_NAME_LENGTH + 8)] = "";
    size_t used = 0;
    for (uint32_t i = 0; i < loop->lane_count; i++)
        used += (size_t)snprintf(list + used, sizeof list - used, "%s`%s`",
                                 i == 0                     ? ""
                                 : i + 1 < loop->lane_count ? ", "
                                                            : " or ",
                                 lane[i].full_name);
    fault_help(reading_error(reading, node, "loop `%s` has %u lanes: which one?", loop->name,
                             loop->lane_count),
               "write %s", list);
}

/* The lane of a loop by name, or its only one when `name` is NULL. */
static bool find_lane(struct reading *reading, const struct node *node, uint32_t loop_index,
                      const char *name, uint32_t *lane) {
    const struct scenario_loop *loop = &reading->scenario->loop[loop_index];
    const struct scenario_lane *lanes = &reading->scenario->lane[loop->first_lane];
    if (loop->lane_count == 0)
        return false; /* its lanes are wrong, and reported */
    if (name == NULL && loop->lane_count > 1) {
        tell_which_lane(reading, node, loop);
        return false;
    }
    *lane = loop->first_lane;
    if (name == NULL)
        return true;
    for (uint32_t i = 0; i < loop->lane_count; i++)
        if (strcmp(lanes[i].name, name) == 0) {
            *lane = loop->first_lane + i;
            return true;
        }
    struct fault *fault = reading_error(reading, node, "loop `%s` has no lane `%s`", loop->name,
                                        yaml_tree_shown(name).text);
    struct lanes_of_loop from = {reading->scenario, loop->first_lane};
    reading_suggest(reading, fault, name, lane_word, &from, loop->lane_count);
    return false;
}

bool read_place_lane(struct reading *reading, const struct node *node, const char *text,
                     uint32_t *lane) {
    struct written_place written = take_apart(text);
    bool good = false;
    const struct thing *loop = NULL;
    if (written.cell != NULL)
        reading_error(reading, node, "this must be a whole lane, without `@%s`",
                      yaml_tree_shown(written.cell).text);
    else
        loop = reading_thing_named(reading, node, written.name, THING_SET(THING_LOOP),
                                   "a lane, LOOP/LANE");
    if (loop != NULL)
        good = find_lane(reading, node, loop->index, written.lane, lane);
    free(written.name);
    return good;
}

/* ---- places ---- */
static bool read_cell(struct reading *reading, const struct node *node,
                      const struct written_place *written, struct place *place) {
    struct decimal decimal;
    int64_t cell = -1;
    if (quantity_decimal(written->cell, &decimal) != QUANTITY_FITS ||
        !quantity_integer(&decimal, &cell)) {
        reading_error(reading, node, "a cell is a whole number, not `%s`",
                      yaml_tree_shown(written->cell).text);
        return false;
    }
    uint32_t cells = read_place_cells(reading->scenario, *place);
    if (cells == 0)
        return false; /* its cells are wrong, and reported */
    if (cell < 0 || cell >= (int64_t)cells) {
        fault_note(reading_error(reading, node, "there is no cell %lld on `%s`", (long long)cell,
                                 written->name),
                   "its cells are 0 to %u", cells - 1);
        return false;
    }
    place->cell = (uint32_t)cell;
    return true;
}

/* A place on a loop or line. */
static bool read_track_place(struct reading *reading, const struct node *node,
                             const struct thing *thing, const struct written_place *written,
                             struct place *place) {
    if (thing->kind == THING_LINE && written->lane != NULL) {
        reading_error(reading, node, "line `%s` has no lanes", thing->name);
        return false;
    }
    *place = (struct place){.kind = PLACE_LINE, .index = thing->index};
    if (thing->kind == THING_LOOP) {
        place->kind = PLACE_LANE;
        if (!find_lane(reading, node, thing->index, written->lane, &place->index))
            return false;
    }
    if (written->cell == NULL) {
        fault_help(
            reading_error(reading, node, "which cell of `%s`?", yaml_tree_shown(node->text).text),
            "write the cell after an @, as in `%s@0`", yaml_tree_shown(node->text).text);
        return false;
    }
    return read_cell(reading, node, written, place);
}

static bool read_written_place(struct reading *reading, const struct node *node,
                               const struct written_place *written, struct place *place) {
    static const unsigned set = THING_SET(THING_CHEST) | THING_SET(THING_STATION) |
                                THING_SET(THING_LOOP) | THING_SET(THING_LINE);
    const struct thing *thing = reading_thing_named(
        reading, node, written->name, set, "a chest, a station, or a cell of a loop or line");
    if (thing == NULL)
        return false;
    if (thing->kind == THING_LOOP || thing->kind == THING_LINE)
        return read_track_place(reading, node, thing, written, place);
    if (written->lane != NULL || written->cell != NULL) {
        reading_error(reading, node, "`%s` is %s: it has no lanes or cells", thing->name,
                      reading_kind_name(thing->kind));
        return false;
    }
    place->kind = thing->kind == THING_CHEST ? PLACE_CHEST : PLACE_STATION;
    place->index = thing->index;
    place->cell = 0;
    return true;
}

bool read_place(struct reading *reading, const struct node *node, const char *key,
                struct place *place) {
    const char *text = reading_name(reading, node, key);
    if (text == NULL)
        return false;
    struct written_place written = take_apart(text);
    bool good = read_written_place(reading, node, &written, place);
    free(written.name);
    return good;
}

bool read_place_track(struct reading *reading, const struct fields *fields, struct place *track) {
    const char *key = reading_one_of(reading, fields, "lane");
    const struct node *node = key != NULL ? reading_get(fields, key) : NULL;
    const char *text = key != NULL ? reading_name(reading, node, key) : NULL;
    if (text == NULL)
        return false;
    uint32_t known = names_find(&reading->things, text);
    bool is_line = known != NO_INDEX && reading->thing[known].kind == THING_LINE;
    track->kind = PLACE_LANE;
    track->cell = 0;
    if (strcmp(key, "lane") == 0 && !is_line)
        return read_place_lane(reading, node, text, &track->index);
    const struct thing *line =
        reading_thing_named(reading, node, text, THING_SET(THING_LINE), "a line");
    if (line == NULL)
        return false;
    track->kind = PLACE_LINE;
    track->index = line->index;
    return true;
}
