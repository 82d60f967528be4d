/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/record/moves.c - of a row only the tick, the item and the count are not known beforehand.
 */
#include "tools/record/moves.h"

#include <stdlib.h>

#include "model/scenario/layout.h"
#include "sim/require.h"
#include "tools/base/column_table.h"
#include "tools/base/csv.h"

static const char file_name[] = "moves.csv";

enum { ACTS = MOVE_PLACE + 1 };

struct moves {
    const struct scenario *scenario;
    struct csv csv;
    struct csv_text (*prefix)[ACTS]; /* of an arm and act: ",comb-feeder,pick," */
    struct csv_text (*suffix)[ACTS]; /* ",ring/outer,4" */
    struct csv_text *item;           /* "comb," */
};

static struct csv_text place_text(const struct scenario *scenario, struct place place) {
    const char *name = layout_place_name(scenario, place);
    return layout_is_track(place) ? csv_text_of(",%s,%u", name, place.cell)
                                  : csv_text_of(",%s,", name);
}

struct moves *moves_open(const struct scenario *scenario, const struct directory *directory) {
    char header[COLUMN_TABLE_HEADER_SIZE];
    struct moves *moves = require_memory(1, sizeof *moves);
    moves->scenario = scenario;
    moves->prefix = require_memory(scenario->arm_count, sizeof *moves->prefix);
    moves->suffix = require_memory(scenario->arm_count, sizeof *moves->suffix);
    moves->item = require_memory(scenario->item_count, sizeof *moves->item);
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        const struct scenario_arm *arm = &scenario->arm[i];
        moves->prefix[i][MOVE_PICK] = csv_text_of(",%s,pick,", arm->name);
        moves->prefix[i][MOVE_PLACE] = csv_text_of(",%s,place,", arm->name);
        moves->suffix[i][MOVE_PICK] = place_text(scenario, arm->from);
        moves->suffix[i][MOVE_PLACE] = place_text(scenario, arm->to);
    }
    for (uint32_t i = 0; i < scenario->item_count; i++)
        moves->item[i] = csv_text_of("%s,", scenario->item[i].name);
    csv_open(&moves->csv, directory->work, file_name, column_table_header(file_name, header));
    return moves;
}

void moves_add(struct moves *moves, const struct move *move) {
    const struct csv_text *prefix = &moves->prefix[move->arm][move->act];
    const struct csv_text *item = &moves->item[move->item];
    const struct csv_text *suffix = &moves->suffix[move->arm][move->act];
    char *at = csv_row(&moves->csv, 3 * CSV_NUMBER_BYTES + csv_text_most(prefix) +
                                        csv_text_most(item) + csv_text_most(suffix));
    at = csv_put_number(at, move->tick);
    at = csv_put_text(csv_put_text(at, prefix), item);
    at = csv_put_number(at, move->count);
    csv_row_end(&moves->csv, csv_put_text(at, suffix));
}

bool moves_failed(const struct moves *moves) { return moves->csv.error != 0; }

bool moves_close(struct moves *moves, const struct directory *directory) {
    int error = csv_close(&moves->csv);
    if (error != 0)
        directory_tell(directory, file_name, error);
    moves_discard(moves);
    return error == 0;
}

void moves_discard(struct moves *moves) {
    if (moves == NULL)
        return;
    csv_discard(&moves->csv);
    for (uint32_t i = 0; i < moves->scenario->arm_count; i++)
        for (int act = 0; act < ACTS; act++) {
            csv_text_free(&moves->prefix[i][act]);
            csv_text_free(&moves->suffix[i][act]);
        }
    for (uint32_t i = 0; i < moves->scenario->item_count; i++)
        csv_text_free(&moves->item[i]);
    free(moves->prefix);
    free(moves->suffix);
    free(moves->item);
    free(moves);
}
