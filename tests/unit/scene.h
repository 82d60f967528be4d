/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/scene.h - a scenario that has run for a while, and who waits for whom in it. */
#pragma once

#include <stdint.h>

#include "model/cause/waits.h"
#include "model/engine/world.h"
#include "model/scenario/scenario.h"

struct scene {
    struct scenario *scenario;
    struct world *world;
    struct waits waits; /* at the end */
};

/* A scenario, as YAML, after so many seconds; its waits were looked at second by second. A text
 * that cannot be read fails the test. Freed with scene_free. */
struct scene scene_of(const char *text, int64_t seconds);
void scene_free(struct scene *scene);

uint32_t scene_vertex(const struct scene *scene, enum waits_kind kind, uint32_t index);

/* The edge between two vertices with this reason and item; NULL: there is none. It belongs to the
 * scene. */
const struct waits_edge *scene_edge(const struct scene *scene, uint32_t from, uint32_t to,
                                    enum wait_reason why, uint32_t item);
