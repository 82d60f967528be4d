/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/scenario/gate_text.h - a gate as it would be written in a scenario. */
#pragma once

#include "model/scenario/scenario.h"

/* "{chest: shelf, item: pin, below: 12}", with all that is joined in it. The caller frees it. */
char *gate_text(const struct scenario *scenario, uint32_t gate);
