/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/scene.c - reads, runs and looks. */
#include "tests/unit/scene.h"

#include <check.h>
#include <string.h>

#include "model/reader/read.h"

struct scene scene_of(const char *text, int64_t seconds) {
    struct scene scene = {0};
    struct faults faults = {0};
    scene.scenario = read_scenario(text, strlen(text), "scene", NULL, 0, &faults);
    ck_assert_msg(scene.scenario != NULL, "%s", faults.count > 0 ? faults.fault[0].what : "");
    faults_free(&faults);
    scene.world = world_new(scene.scenario);
    waits_init(&scene.waits, scene.scenario);
    for (int64_t second = 0; second <= seconds; second++) {
        world_advance(scene.world, second * scene.scenario->ticks_per_second);
        waits_look(&scene.waits, scene.world);
    }
    return scene;
}

void scene_free(struct scene *scene) {
    waits_free(&scene->waits);
    world_free(scene->world);
    scenario_free(scene->scenario);
}

uint32_t scene_vertex(const struct scene *scene, enum waits_kind kind, uint32_t index) {
    return waits_vertex(&scene->waits, kind, index);
}

const struct waits_edge *scene_edge(const struct scene *scene, uint32_t from, uint32_t to,
                                    enum wait_reason why, uint32_t item) {
    for (uint32_t i = 0; i < scene->waits.edge_count; i++) {
        const struct waits_edge *edge = &scene->waits.edge[i];
        if (edge->from == from && edge->to == to && edge->why == why && edge->item == item)
            return edge;
    }
    return NULL;
}
