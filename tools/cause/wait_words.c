/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/wait_words.c - one short sentence for each kind of wait, and for each kind of root.
 */
#include "tools/cause/wait_words.h"

#include <stdio.h>

const char *wait_words_root_word(enum root_kind kind) {
    switch (kind) {
    case ROOT_FOREIGN_ITEM: return "foreign_item";
    case ROOT_STOPPED: return "stopped";
    case ROOT_DEAD_SUPPLY: return "dead_supply";
    case ROOT_GATE_SHUT: return "gate_shut";
    case ROOT_NO_EXIT: return "no_exit";
    case ROOT_FULL_CHEST: return "full_chest";
    case ROOT_SURPLUS: return "surplus";
    case ROOT_SLOW_TAKER: return "slow_taker";
    case ROOT_UNGATED_FEEDER: return "ungated_feeder";
    case ROOT_SLOW_ARM: return "slow_arm";
    case ROOT_SLOW_STATION: return "slow_station";
    case ROOT_SHORT_SUPPLY: return "short_supply";
    case ROOT_LOW_THRESHOLD: return "low_threshold";
    case ROOT_SMALL_ROOM: return "small_room";
    case ROOT_FULL_LANE: return "full_lane";
    }
    return "";
}

static bool is_gate(enum waits_kind kind) {
    return kind == WAITS_ARM_GATE || kind == WAITS_STATION_GATE || kind == WAITS_SUPPLY_GATE;
}

char *wait_words_incident_path(const struct scenario *scenario, uint32_t incident,
                               char text[WAIT_WORDS_BYTES]) {
    const char *name = scenario->incident[incident].name;
    if (name != NULL)
        snprintf(text, WAIT_WORDS_BYTES, "incidents.%s", name);
    else
        snprintf(text, WAIT_WORDS_BYTES, "incidents.%u", incident);
    return text;
}

char *wait_words_name(const struct waits *waits, uint32_t vertex, char text[WAIT_WORDS_BYTES]) {
    struct waits_thing thing = waits_thing(waits, vertex);
    snprintf(text, WAIT_WORDS_BYTES, "%s%s",
             scenario_part_name(waits->scenario, waits_part(waits, vertex)),
             is_gate(thing.kind) ? ".gate" : "");
    return text;
}

static const char *item_word(const struct waits *waits, uint32_t item) {
    return item != NO_INDEX ? waits->scenario->item[item].name : "all items";
}

/* Where something lies: on a lane or line, else in it. */
static const char *in_or_on(const struct waits *waits, uint32_t vertex) {
    return waits_thing(waits, vertex).kind == WAITS_TRACK ? "on" : "in";
}

static const char *taken(const struct waits *waits, uint32_t from) {
    return waits_thing(waits, from).kind == WAITS_TRACK ? "off" : "out";
}

char *wait_words_what(const struct waits *waits, const struct waits_edge *edge,
                      char text[WAIT_WORDS_BYTES]) {
    char place[WAIT_WORDS_BYTES];
    const char *item = item_word(waits, edge->item);
    switch (edge->why) {
    case WAITS_FOR_CELL:
        if (edge->count == 1)
            snprintf(text, WAIT_WORDS_BYTES, "a free cell");
        else
            snprintf(text, WAIT_WORDS_BYTES, "%lld free cells in a row", (long long)edge->count);
        break;
    case WAITS_FOR_GATE: snprintf(text, WAIT_WORDS_BYTES, "its gate"); break;
    case WAITS_FOR_ITEM: snprintf(text, WAIT_WORDS_BYTES, "an item: %s", item); break;
    case WAITS_FOR_ROOM: snprintf(text, WAIT_WORDS_BYTES, "room for %s", item); break;
    case WAITS_FOR_FALL:
    case WAITS_FOR_RISE:
        snprintf(text, WAIT_WORDS_BYTES, "the count of %s %s %.100s to %s %lld", item,
                 in_or_on(waits, edge->to), wait_words_name(waits, edge->to, place),
                 edge->why == WAITS_FOR_FALL ? "fall below" : "reach", (long long)edge->count);
        break;
    case WAITS_TO_TAKE:
        snprintf(text, WAIT_WORDS_BYTES, "%s to be taken %s", item, taken(waits, edge->from));
        break;
    case WAITS_TO_BRING: snprintf(text, WAIT_WORDS_BYTES, "%s to be brought", item); break;
    }
    return text;
}

char *wait_words_sentence(const struct waits *waits, const struct waits_edge *edge,
                          char text[WAIT_WORDS_BYTES]) {
    char who[WAIT_WORDS_BYTES], whom[WAIT_WORDS_BYTES], what[WAIT_WORDS_BYTES];
    const char *item = item_word(waits, edge->item);
    wait_words_name(waits, edge->from, who);
    wait_words_name(waits, edge->to, whom);
    wait_words_what(waits, edge, what);
    switch (edge->why) {
    case WAITS_TO_TAKE:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s waits for %.140s to take %s %s", who, whom, item,
                 taken(waits, edge->from));
        break;
    case WAITS_TO_BRING:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s waits for %.140s to bring %s", who, whom, item);
        break;
    case WAITS_FOR_ITEM:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s waits for %s %s %.140s", who, item,
                 in_or_on(waits, edge->to), whom);
        break;
    case WAITS_FOR_CELL:
    case WAITS_FOR_ROOM:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s waits for %.140s %s %.140s", who, what,
                 in_or_on(waits, edge->to), whom);
        break;
    case WAITS_FOR_GATE:
    case WAITS_FOR_FALL:
    case WAITS_FOR_RISE:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s waits for %.300s", who, what);
        break;
    }
    return text;
}

char *wait_words_root_sentence(const struct waits *waits, const struct root *root,
                               char text[WAIT_WORDS_BYTES]) {
    const char *item = item_word(waits, root->item);
    const char *name = scenario_part_name(waits->scenario, root->subject);
    switch (root->kind) {
    case ROOT_FOREIGN_ITEM:
        snprintf(text, WAIT_WORDS_BYTES, "%s fell onto %.140s and has lain there since", item,
                 name);
        break;
    case ROOT_STOPPED: snprintf(text, WAIT_WORDS_BYTES, "%.140s is stopped", name); break;
    case ROOT_DEAD_SUPPLY:
        if (root->subject.kind == PART_SUPPLY)
            snprintf(text, WAIT_WORDS_BYTES, "%.140s delivers no more %s", name, item);
        else
            snprintf(text, WAIT_WORDS_BYTES, "nobody brings any more %s to %.140s", item, name);
        break;
    case ROOT_GATE_SHUT:
        snprintf(text, WAIT_WORDS_BYTES, "the gate of %.140s is shut and cannot open any more",
                 name);
        break;
    case ROOT_NO_EXIT:
        snprintf(text, WAIT_WORDS_BYTES, "nothing takes %s off %.140s", item, name);
        break;
    case ROOT_FULL_CHEST:
        snprintf(text, WAIT_WORDS_BYTES,
                 "%.140s has no room left%s%.140s, and nothing is taken out, or not fast enough",
                 name, root->item != NO_INDEX ? " for " : "", root->item != NO_INDEX ? item : "");
        break;
    case ROOT_SURPLUS:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s makes more %s than is taken away", name, item);
        break;
    case ROOT_SLOW_TAKER:
        snprintf(text, WAIT_WORDS_BYTES,
                 root->lingers ? "%.140s waits for the rest of its hand and moves no %s on"
                               : "%.140s takes %s off more slowly than it is put on",
                 name, item);
        break;
    case ROOT_UNGATED_FEEDER:
        snprintf(text, WAIT_WORDS_BYTES,
                 "%.140s goes on putting %s on, which can no longer leave, and %s", name, item,
                 root_gate(waits->scenario, root->subject) == NO_INDEX ? "no gate holds it"
                                                                       : "its gate lets it");
        break;
    case ROOT_SLOW_ARM:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s cannot carry more %s", name, item);
        break;
    case ROOT_SLOW_STATION:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s cannot work faster", name);
        break;
    case ROOT_SHORT_SUPPLY:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s delivers less %s than is used", name, item);
        break;
    case ROOT_LOW_THRESHOLD:
        snprintf(text, WAIT_WORDS_BYTES, "the gate of %.140s holds it back too soon", name);
        break;
    case ROOT_SMALL_ROOM:
        if (root->crowd != NO_INDEX)
            snprintf(text, WAIT_WORDS_BYTES, "%.140s fills up with %.140s and has no room for %s",
                     name, item_word(waits, root->crowd), item);
        else
            snprintf(text, WAIT_WORDS_BYTES, "%.140s has too little room for %s", name, item);
        break;
    case ROOT_FULL_LANE:
        snprintf(text, WAIT_WORDS_BYTES, "%.140s has too few free cells", name);
        break;
    }
    return text;
}

char *wait_words_deed_sentence(const struct scenario *scenario, const struct root *root,
                               char text[WAIT_WORDS_BYTES]) {
    static const char *const key[] = {[INCIDENT_SET_BELOW] = "below",
                                      [INCIDENT_SET_AT_LEAST] = "at_least",
                                      [INCIDENT_SET_REOPEN] = "reopen_below"};
    char path[WAIT_WORDS_BYTES];
    text[0] = '\0';
    if (root->deed.tick == NOT_GIVEN)
        return text;
    if (root->deed.incident == NO_INDEX) {
        snprintf(text, WAIT_WORDS_BYTES, "it broke down");
        return text;
    }
    const struct scenario_incident *incident = &scenario->incident[root->deed.incident];
    wait_words_incident_path(scenario, root->deed.incident, path);
    if (incident->kind == INCIDENT_STOP)
        snprintf(text, WAIT_WORDS_BYTES, "%.140s stopped it", path);
    else if (incident->reopen_value != NOT_GIVEN)
        snprintf(text, WAIT_WORDS_BYTES,
                 "%.140s set below of its gate to %lld, and reopen_below to %lld", path,
                 (long long)incident->value, (long long)incident->reopen_value);
    else if (incident->kind != INCIDENT_SET_CAPACITY)
        snprintf(text, WAIT_WORDS_BYTES, "%.140s set %s of its gate to %lld", path,
                 key[incident->kind], (long long)incident->value);
    else if (incident->value != NO_LIMIT)
        snprintf(text, WAIT_WORDS_BYTES, "%.140s set the capacity of %.140s to %lld", path,
                 scenario->chest[incident->chest].name, (long long)incident->value);
    else
        snprintf(text, WAIT_WORDS_BYTES, "%.140s took the bound of %.140s away", path,
                 scenario->chest[incident->chest].name);
    return text;
}
