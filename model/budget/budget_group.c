/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_group.c - sorts by counting. */
#include "model/budget/budget_group.h"

#include <stdlib.h>

#include "sim/require.h"

struct budget_groups budget_group_by(const uint32_t *group, uint32_t count, uint32_t groups) {
    struct budget_groups list = {.first = require_memory((size_t)groups + 2, sizeof *list.first),
                                 .member = require_memory(count, sizeof *list.member)};
    for (uint32_t i = 0; i < count; i++)
        list.first[group[i] + 2]++;
    for (uint32_t g = 2; g < groups + 2; g++)
        list.first[g] += list.first[g - 1];
    for (uint32_t i = 0; i < count; i++)
        list.member[list.first[group[i] + 1]++] = i;
    return list;
}

void budget_groups_free(struct budget_groups *groups) {
    free(groups->first);
    free(groups->member);
    *groups = (struct budget_groups){0};
}
