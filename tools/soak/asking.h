/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/soak/asking.h - which items are asked for, and from when on: by demands that are no
 * outlets, have not ended and are not stopped. */
#pragma once

#include <stdint.h>

#include "model/engine/listener.h"
#include "model/scenario/scenario.h"

struct asking {
    const struct scenario *scenario;
    int64_t *since; /* of each demand: from when it has run; NOT_GIVEN: it is stopped */
};

/* As it is at tick 0. The scenario must outlive it. Freed with asking_free. */
void asking_init(struct asking *asking, const struct scenario *scenario);
void asking_free(struct asking *asking);
/* To be called by a listener, with all that happens. */
void asking_heard(struct asking *asking, const struct event *event);
/* From when on an item has been asked for at `tick`; NOT_GIVEN: nobody asks for it then. */
int64_t asking_since(const struct asking *asking, uint32_t item, int64_t tick);
