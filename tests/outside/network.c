/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/outside/network.h"

#include <stdio.h>

static void add_arm(struct shop *shop, const char *what, const char *name, const char *keys) {
    shop_part(shop, SHOP_ARMS, "name: %s-%s, swing: 0, %s", what, name, keys);
}

struct token_name {
    char text[80];
};

static struct token_name token_of(const struct network_server *server) {
    struct token_name token;
    if (server->token == NULL)
        snprintf(token.text, sizeof token.text, "free-%s", server->name);
    else
        snprintf(token.text, sizeof token.text, "%s", server->token);
    return token;
}

void network_add_station(struct shop *shop, const struct network_server *server) {
    const char *name = server->name;
    char keys[512];
    struct token_name token = token_of(server);
    if (server->token == NULL)
        shop_part(shop, SHOP_CHESTS, "name: %s, start: {token: 1}", token.text);
    shop_part(shop, SHOP_STATIONS,
              "name: %s, takes: {job: 1, token: 1}, makes: {job: 1, token: 1}, time: %s, ahead: "
              "1, room: 1",
              name, server->time);
    if (server->to != NULL) {
        snprintf(keys, sizeof keys, "from: %s, to: %s, items: [job]", name, server->to);
        add_arm(shop, "out", name, keys);
    }
    snprintf(keys, sizeof keys,
             "from: %s, to: %s, items: [token], gate: {station: %s, output: job, below: 1}", name,
             token.text, name);
    add_arm(shop, "back", name, keys);
}

void network_add_feed(struct shop *shop, const struct network_server *server) {
    const char *name = server->name;
    char keys[512];
    struct token_name token = token_of(server);
    snprintf(keys, sizeof keys,
             "from: %s, to: %s, items: [job], gate: {chest: %s, item: token, at_least: 1}",
             server->from, name, token.text);
    add_arm(shop, "feed", name, keys);
    snprintf(keys, sizeof keys,
             "from: %s, to: %s, items: [token], gate: {station: %s, input: job, at_least: 1}",
             token.text, name, name);
    add_arm(shop, "key", name, keys);
}

void network_add(struct shop *shop, const struct network_server *server) {
    network_add_station(shop, server);
    network_add_feed(shop, server);
}

void network_add_many(struct shop *shop, const char *name, const char *from, const char *to,
                      const char *time, uint32_t count) {
    for (uint32_t i = 0; i < count; i++) {
        char each[64];
        snprintf(each, sizeof each, "%s-%u", name, i);
        network_add(shop,
                    &(struct network_server){.name = each, .from = from, .to = to, .time = time});
    }
}

void network_add_ride(struct shop *shop, const char *name, const char *from, const char *to,
                      uint32_t ride_cells) {
    shop_part(shop, SHOP_LOOPS, "name: %s, cells: %u, rate: %d", name, ride_cells + 10,
              NETWORK_CELLS_PER_SECOND);
    shop_part(shop, SHOP_ARMS, "name: off-%s, from: %s@%u, to: %s, items: [job], swing: 0", name,
              name, ride_cells, to);
    shop_part(shop, SHOP_ARMS, "name: on-%s, from: %s, to: %s@0, items: [job], swing: 0", name,
              from, name);
}
