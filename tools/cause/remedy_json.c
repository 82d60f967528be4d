/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/cause/remedy_json.c - an object of jansson. */
#include "tools/cause/remedy_json.h"

#include <math.h>

#include "tools/base/json_text.h"

json_t *remedy_json_seconds(const struct scenario *scenario, int64_t tick) {
    if (tick == NOT_GIVEN)
        return json_null();
    if (tick % scenario->ticks_per_second == 0)
        return json_text_whole(tick / scenario->ticks_per_second);
    return json_real((double)tick / (double)scenario->ticks_per_second);
}

static json_t *throughput_json(const struct trial_book *book, const struct trial *trial) {
    json_t *object = json_object();
    for (uint32_t i = 0; i < book->scenario->item_count; i++) {
        double rate = book->product[i] ? trial_per_minute(book, trial, i) : NAN;
        if (book->product[i])
            json_text_put(object, book->scenario->item[i].name,
                          isnan(rate) ? json_null() : json_real(rate));
    }
    return object;
}

static json_t *growth_json(const struct trial_book *book, const struct trial *trial) {
    json_t *array = json_array();
    for (uint32_t i = 0; i < trial->growth_count; i++) {
        json_t *object = json_object();
        json_text_put(object, "place", json_string(trial->growth[i].name));
        json_text_put(object, "item",
                      json_string(book->scenario->item[trial->growth[i].item].name));
        json_text_put(object, "per_min", json_real(trial->growth[i].per_minute));
        json_text_append(array, object);
    }
    return array;
}

json_t *remedy_json(const struct trial_book *book, const struct trial *trial, int64_t failed,
                    bool starved) {
    json_t *object = json_object(), *set = json_array();
    for (uint32_t i = 0; i < trial->set_count; i++)
        json_text_append(set, json_string(trial->set[i]));
    json_text_put(object, "set", set);
    json_text_put(object, "jam", json_boolean(failed != NOT_GIVEN));
    json_text_put(object, "first_jam_s", remedy_json_seconds(book->scenario, failed));
    json_text_put(object, "starved", json_boolean(starved));
    json_text_put(object, "proved_s", remedy_json_seconds(book->scenario, trial->proved_ticks));
    json_text_put(object, "seeds", json_text_whole(trial->seeds));
    json_text_put(object, "met", isnan(trial->met) ? json_null() : json_real(trial->met));
    json_text_put(object, "grows", growth_json(book, trial));
    json_text_put(object, "throughput", throughput_json(book, trial));
    return object;
}
