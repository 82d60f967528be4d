/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/budget/budget_group.h - things listed by what they have in common. */
#pragma once

#include <stdint.h>

/* The numbers of things, group by group, rising within a group: those of group g are
 * member[first[g]] to member[first[g + 1] - 1]. */
struct budget_groups {
    uint32_t *first, *member;
};

/* Groups 0 .. count - 1, the groups 0 .. groups - 1, by group[i]. Freed with budget_groups_free. */
struct budget_groups budget_group_by(const uint32_t *group, uint32_t count, uint32_t groups);
void budget_groups_free(struct budget_groups *groups);
