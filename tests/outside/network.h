/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/outside/network.h - builds servers of a queueing network from the parts of a scenario.
 *
 * A station with `ahead: 1` still has a place for the next batch's input. Where a server must
 * hold one job and no other, a token represents that it is free: it lies in the chest
 * `free-NAME`, goes into the station after the job, and comes back when the job has left. All
 * transfers are swings of 0 within one tick, by arms in the order out, back, feed, key; so add
 * the server that is last in the flow first. The shop needs the items `job` and `token`. */
#pragma once

#include "tests/outside/shop.h"

struct network_server {
    const char *name;
    const char *from; /* the chest in which jobs queue, or the server that holds on to its job until
                         this one is free */
    const char *to;   /* a chest; NULL: the next server fetches it */
    const char *time; /* as a scenario writes it */
    /* the chest of the token, with which servers exclude each other; NULL: its own */
    const char *token;
};

void network_add(struct shop *shop, const struct network_server *server);
/* Its two halves, for servers that share a token: the stations first (with the arms out and back),
 * then the feeds (arms feed and key) in the order in which they are to be tried. */
void network_add_station(struct shop *shop, const struct network_server *server);
void network_add_feed(struct shop *shop, const struct network_server *server);

/* `count` servers alike, "NAME-0", "NAME-1" ... between two chests. */
void network_add_many(struct shop *shop, const char *name, const char *from, const char *to,
                      const char *time, uint32_t count);

/* Jobs from one chest to another ride on a loop for `ride_cells` steps; 100 cells a second, so that
 * they seldom meet at the entrance. */
enum { NETWORK_CELLS_PER_SECOND = 100 };
void network_add_ride(struct shop *shop, const char *name, const char *from, const char *to,
                      uint32_t ride_cells);
