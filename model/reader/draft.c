/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/reader/draft.c - gives a draft back. */
#include "model/reader/draft.h"

#include <stdlib.h>

void draft_free(struct draft *draft) {
    if (draft == NULL)
        return;
    for (uint32_t i = 0; i < draft->open_count; i++) {
        free(draft->open[i].path);
        free(draft->open[i].place);
    }
    free(draft->open);
    free(draft->stand_in);
    free(draft->text);
    may_free(&draft->may);
    scenario_free(draft->scenario);
    yaml_tree_free(&draft->tree);
    free(draft);
}
