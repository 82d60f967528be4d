/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/trials_why.c - the budget first, then nights, then the rest. */
#include "tools/design/trials_why.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "tools/base/table.h"

/* The item of whose orders the least share was met in a whole night; NO_INDEX: there was none. */
static uint32_t shortest_item(const struct trials *trials, const struct scenario *scenario) {
    uint32_t least = NO_INDEX;
    for (uint32_t i = 0; i < scenario->item_count; i++)
        if (!isnan(trials->met_of[i]) &&
            (least == NO_INDEX || trials->met_of[i] < trials->met_of[least]))
            least = i;
    return least;
}

static void say_night(const struct trials *trials, const struct scenario *scenario, uint32_t tries,
                      char why[DESIGN_WHY_BYTES]) {
    const struct trial_result *night = &trials->trial[TRIAL_NIGHT];
    uint32_t item = shortest_item(trials, scenario);
    if (item == NO_INDEX && night->jams == 0)
        snprintf(why, DESIGN_WHY_BYTES, "the nearest of %u tries is clogged after an hour", tries);
    else if (item == NO_INDEX)
        snprintf(why, DESIGN_WHY_BYTES, "the nearest of %u tries has %llu jam%s in an hour", tries,
                 (unsigned long long)night->jams, plural(night->jams));
    else
        snprintf(why, DESIGN_WHY_BYTES,
                 "%u of %u nights of the nearest of %u tries fail: as little as %.4g %% of the "
                 "orders for %s are met, with %llu jam%s in all",
                 night->failed, night->runs, tries, 100 * night->met, scenario->item[item].name,
                 (unsigned long long)night->jams, plural(night->jams));
}

static bool fails(const struct trials *trials, enum trial_kind kind) {
    const struct trial_result *trial = &trials->trial[kind];
    return trial->asked && trial->done && !trial->holds;
}

/* The names of the rules that are broken, a line each, with commas between. */
static void list_broken(const struct trials *trials, char list[200]) {
    snprintf(list, 200, "%.*s", (int)strlen(trials->broken) - 1, trials->broken);
    for (char *end = strchr(list, '\n'); end != NULL; end = strchr(end, '\n'))
        *end = ',';
}

void trials_why(const struct trials *trials, const struct scenario *scenario, uint32_t tries,
                char why[DESIGN_WHY_BYTES]) {
    const struct trial_result *disturbed = &trials->trial[TRIAL_DISTURBED];
    char broken[200];
    if (!trials->rules_hold) {
        list_broken(trials, broken);
        snprintf(why, DESIGN_WHY_BYTES, "the nearest of %u tries breaks %u rule%s of the trade: %s",
                 tries, trials->broken_count, plural(trials->broken_count), broken);
    } else if (!trials->demand_met)
        snprintf(why, DESIGN_WHY_BYTES,
                 "the arms, stations and supplies of the nearest of %u tries cannot bring what is "
                 "demanded",
                 tries);
    else if (fails(trials, TRIAL_NIGHT))
        say_night(trials, scenario, tries, why);
    else if (fails(trials, TRIAL_DISTURBED))
        snprintf(why, DESIGN_WHY_BYTES,
                 "the nearest of %u tries was stuck at the end of %u of %u disturbed nights", tries,
                 disturbed->failed, disturbed->runs);
    else if (fails(trials, TRIAL_FLOOD))
        snprintf(why, DESIGN_WHY_BYTES,
                 "a heap of %lld stays in the nearest of %u tries, or some of it does",
                 (long long)trials->trial[TRIAL_FLOOD].items, tries);
    else
        for (int i = TRIAL_DRAIN; i <= TRIAL_RESTART; i++)
            if (fails(trials, (enum trial_kind)i))
                snprintf(why, DESIGN_WHY_BYTES,
                         "the nearest of %u tries fails the trial %s, at %u of %u moments", tries,
                         trials_name((enum trial_kind)i), trials->trial[i].failed,
                         trials->trial[i].runs);
}
