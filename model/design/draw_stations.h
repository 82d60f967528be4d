/* SPDX-License-Identifier: GPL-3.0-or-later */
/* model/design/draw_stations.h - the stations of each recipe. Private to this room. */
#pragma once

#include "model/design/drawing.h"

/* Draws as many stations of each recipe as are needed, and sets drawing.first_station. */
void draw_stations(struct drawing *drawing);
