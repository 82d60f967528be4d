/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_identities.c - what holds in every run, whatever the scenario (docs/rules.md,
 * "What always holds" and "Chance"), on random scenarios: fixed seeds, all comparisons exact. */
#include <check.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "model/engine/world.h"
#include "model/reader/read.h"
#include "sim/require.h"
#include "tests/common/suite.h"
#include "tests/exact/scatter.h"
#include "tests/unit/history.h"

/* Scenarios that a test draws: seeds 1 .. SCENARIOS, every third with chance where both kinds will
 * do. */
enum { SCENARIOS = 500 };

static bool with_chance(uint64_t seed) { return seed % 3 == 0; }

static struct scenario *read_text(const char *text) {
    struct faults faults = {0};
    struct scenario *scenario = read_scenario(text, strlen(text), "random", NULL, 0, &faults);
    ck_assert_msg(scenario != NULL, "%s\n%s", faults.count > 0 ? faults.fault[0].what : "?", text);
    faults_free(&faults);
    return scenario;
}

static struct scenario *throw_scenario(uint64_t seed) {
    char *text = scatter_scenario(seed, with_chance(seed));
    struct scenario *scenario = read_text(text);
    free(text);
    return scenario;
}

static struct place track_at(const struct scenario *scenario, uint32_t index) {
    bool is_lane = index < scenario->lane_count;
    return (struct place){.kind = is_lane ? PLACE_LANE : PLACE_LINE,
                          .index = is_lane ? index : index - scenario->lane_count};
}

static uint32_t track_of(const struct scenario *scenario, struct place place) {
    return place.kind == PLACE_LANE ? place.index : scenario->lane_count + place.index;
}

static bool is_track(struct place place) {
    return place.kind == PLACE_LANE || place.kind == PLACE_LINE;
}

/* ---- what there is, and who does what ---- */

static int64_t count_at_start(const struct scenario *scenario, uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        for (uint32_t k = 0; k < scenario->chest[i].start.count; k++)
            if (scenario->chest[i].start.entry[k].item == item)
                count += scenario->chest[i].start.entry[k].count;
    return count;
}

static int64_t count_in_stocks(const struct scenario *scenario, const struct world *world,
                               uint32_t item) {
    int64_t count = 0;
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        const struct scenario_station *station = &scenario->station[i];
        for (uint32_t k = 0; k < station->takes.count; k++)
            if (station->takes.entry[k].item == item)
                count += world_input_count(world, i, k);
        for (uint32_t k = 0; k < station->makes_count; k++)
            if (station->makes[k].item == item)
                count += world_output_count(world, i, k);
    }
    return count;
}

static int64_t count_everywhere(const struct scenario *scenario, const struct world *world,
                                uint32_t item) {
    int64_t count = count_in_stocks(scenario, world, item);
    for (uint32_t i = 0; i < scenario->chest_count; i++)
        count += world_chest_count(world, i, item);
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        count += world_hand_count(world, i, item);
    for (uint32_t i = 0; i < scenario->lane_count + scenario->line_count; i++)
        count += world_track_count(world, track_at(scenario, i), item);
    return count;
}

/* Returns how many of an item there are. */
static int64_t assert_conserved(const struct scenario *scenario, const struct world *world,
                                uint32_t item, uint64_t seed) {
    struct item_totals t = world_item_totals(world, item);
    int64_t due = count_at_start(scenario, item) + t.supplied + t.dropped + t.made - t.met -
                  t.consumed - t.cleared;
    int64_t found = count_everywhere(scenario, world, item);
    if (due != found) /* Check is asked only then: it tells its parent of each question */
        ck_abort_msg("scenario %" PRIu64 ", tick %" PRId64 ": %" PRId64 " of %s, found %" PRId64,
                     seed, world_tick(world), due, scenario->item[item].name, found);
    return found;
}

START_TEST(each_item_is_somewhere_in_each_tick) {
    int64_t seen = 0;
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        struct scenario *scenario = throw_scenario(seed);
        struct world *world = world_new(scenario);
        for (int64_t tick = 0; tick <= scenario->run_ticks; tick++) {
            world_advance(world, tick);
            for (uint32_t item = 0; item < scenario->item_count; item++)
                seen += assert_conserved(scenario, world, item, seed);
        }
        world_free(world);
        scenario_free(scenario);
    }
    ck_assert_int_gt(seen, 0);
}
END_TEST

static void assert_sum(const int64_t *ticks, int states, int64_t due, const char *whose,
                       uint64_t seed) {
    int64_t sum = 0;
    for (int k = 0; k < states; k++)
        sum += ticks[k];
    if (sum != due)
        ck_abort_msg("scenario %" PRIu64 ": the states of %s are %" PRId64 " ticks of %" PRId64,
                     seed, whose, sum, due);
}

static void assert_states_add_up(const struct scenario *scenario, const struct world *world,
                                 uint64_t seed) {
    for (uint32_t i = 0; i < scenario->arm_count; i++)
        assert_sum(world_arm_totals(world, i).ticks, ARM_STATES, world_tick(world),
                   scenario->arm[i].name, seed);
    for (uint32_t i = 0; i < scenario->station_count; i++)
        assert_sum(world_station_totals(world, i).ticks, STATION_STATES, world_tick(world),
                   scenario->station[i].name, seed);
}

START_TEST(states_of_each_actor_add_up_to_the_run_in_each_tick) {
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        struct scenario *scenario = throw_scenario(seed);
        struct world *world = world_new(scenario);
        for (int64_t tick = 0; tick <= scenario->run_ticks; tick++) {
            world_advance(world, tick);
            assert_states_add_up(scenario, world, seed);
        }
        world_free(world);
        scenario_free(scenario);
    }
}
END_TEST

/* The state as phase 6 of tick t saw it holds from t to t + 1: looked at in each tick and counted,
 * it gives the totals. */
static void compare_seen(const struct scenario *scenario, const struct world *world,
                         int64_t (*arm)[ARM_STATES], int64_t (*station)[STATION_STATES],
                         uint64_t seed) {
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        struct arm_totals totals = world_arm_totals(world, i);
        if (memcmp(totals.ticks, arm[i], sizeof arm[i]) != 0)
            ck_abort_msg("scenario %" PRIu64 ", tick %" PRId64 ": %s", seed, world_tick(world),
                         scenario->arm[i].name);
        arm[i][world_arm_state(world, i)]++;
    }
    for (uint32_t i = 0; i < scenario->station_count; i++) {
        struct station_totals totals = world_station_totals(world, i);
        if (memcmp(totals.ticks, station[i], sizeof station[i]) != 0)
            ck_abort_msg("scenario %" PRIu64 ", tick %" PRId64 ": %s", seed, world_tick(world),
                         scenario->station[i].name);
        station[i][world_station_state(world, i)]++;
    }
}

START_TEST(totals_are_what_was_seen_tick_by_tick) {
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        struct scenario *scenario = throw_scenario(seed);
        struct world *world = world_new(scenario);
        int64_t(*arm)[ARM_STATES] = require_memory(scenario->arm_count, sizeof *arm);
        int64_t(*station)[STATION_STATES] =
            require_memory(scenario->station_count, sizeof *station);
        for (int64_t tick = 0; tick <= scenario->run_ticks; tick++) {
            world_advance(world, tick);
            compare_seen(scenario, world, arm, station, seed);
        }
        free(arm);
        free(station);
        world_free(world);
        scenario_free(scenario);
    }
}
END_TEST

/* ---- J. Little, "A proof for the queuing formula: L = lambda W", Operations Research 9 (1961)
 * 383-387, without limits: the cells held, summed over ticks, are the ticks that items stayed, each
 * counted for its cells. One is kept by the engine, the other follows from what it told. ---- */

struct stays {
    const struct scenario *scenario;
    int64_t *count;      /* [track][item] on it by what was reported */
    int64_t *put, *took; /* [track] ticks at which cells were put and taken, summed over cells */
};

static void change(struct stays *stays, struct place place, uint32_t item, int64_t count,
                   int64_t tick) {
    const struct scenario *scenario = stays->scenario;
    uint32_t track = track_of(scenario, place);
    stays->count[track * scenario->item_count + item] += count;
    int64_t cells = (count < 0 ? -count : count) * scenario->item[item].length;
    (count < 0 ? stays->took : stays->put)[track] += cells * tick;
}

static void stays_moved(void *self, const struct move *move) {
    if (is_track(move->place))
        change(self, move->place, move->item, move->act == MOVE_PLACE ? move->count : -move->count,
               move->tick);
}

static void stays_happened(void *self, const struct event *event) {
    struct stays *stays = self;
    if (event->kind == EVENT_DROP && event->count > 0)
        change(stays, event->track, event->item[0], event->count, event->start_tick);
    if (event->kind != EVENT_CLEAR)
        return;
    int64_t cleared = 0;
    uint32_t first = track_of(stays->scenario, event->track) * stays->scenario->item_count;
    for (uint32_t i = 0; i < event->item_count; i++) {
        int64_t count = stays->count[first + event->item[i]];
        change(stays, event->track, event->item[i], -count, event->start_tick);
        cleared += count;
    }
    ck_assert_int_eq(cleared, event->count);
}

/* Compares on all tracks; returns how many of them are empty after having held something. */
static int assert_stays(const struct stays *stays, const struct world *world, uint64_t seed) {
    const struct scenario *scenario = stays->scenario;
    int64_t tick = world_tick(world);
    int emptied = 0;
    for (uint32_t i = 0; i < scenario->lane_count + scenario->line_count; i++) {
        int64_t cells = 0;
        for (uint32_t item = 0; item < scenario->item_count; item++)
            cells += stays->count[i * scenario->item_count + item] * scenario->item[item].length;
        int64_t ticks = stays->took[i] - stays->put[i] + cells * tick; /* those there, up to now */
        double held = world_track_totals(world, track_at(scenario, i)).cell_ticks;
        if (held != (double)ticks)
            ck_abort_msg("scenario %" PRIu64 ", tick %" PRId64 ", track %" PRIu32 ": held for %.0f "
                         "ticks of a cell, stays of %" PRId64,
                         seed, tick, i, held, ticks);
        emptied += cells == 0 && stays->took[i] > 0;
    }
    return emptied;
}

START_TEST(cells_held_over_time_are_the_sum_of_stays) {
    int64_t emptied = 0;
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        struct scenario *scenario = throw_scenario(seed);
        uint32_t tracks = scenario->lane_count + scenario->line_count;
        struct stays stays = {
            .scenario = scenario,
            .count = require_memory((size_t)tracks * scenario->item_count, sizeof *stays.count),
            .put = require_memory(tracks, sizeof *stays.put),
            .took = require_memory(tracks, sizeof *stays.took)};
        struct world *world = world_new(scenario);
        world_listen(world,
                     &(struct listener){&stays, stays_moved, stays_happened, NULL, NULL, NULL});
        for (int64_t tick = 0; tick <= scenario->run_ticks; tick++) {
            world_advance(world, tick);
            emptied += assert_stays(&stays, world, seed);
        }
        world_free(world);
        free(stays.count);
        free(stays.put);
        free(stays.took);
        scenario_free(scenario);
    }
    ck_assert_int_gt(emptied, 10000); /* stretches that start and end empty are among them */
}
END_TEST

/* Runs a scenario to its end. */
static void run_history(struct history *history) {
    struct listener listener = history_begin(history);
    struct world *world = world_new(history->scenario);
    world_listen(world, &listener);
    world_advance(world, history->scenario->run_ticks);
    world_report_open(world);
    world_free(world);
    history_end(history);
}

/* ---- turned ---- */

static bool has_drop(const struct scenario *scenario, uint32_t loop) {
    for (uint32_t i = 0; i < scenario->incident_count; i++) {
        const struct scenario_incident *incident = &scenario->incident[i];
        if (incident->kind == INCIDENT_DROP && incident->track.kind == PLACE_LANE &&
            scenario->lane[incident->track.index].loop == loop)
            return true;
    }
    return false;
}

static bool turn_place(const struct scenario *scenario, struct place *place, const uint32_t *turn) {
    if (place->kind != PLACE_LANE)
        return false;
    uint32_t loop = scenario->lane[place->index].loop;
    place->cell = (place->cell + turn[loop]) % scenario->loop[loop].cell_count;
    return turn[loop] > 0;
}

/* Turns all loops without drops; returns how many positions it moved. */
static int turn_scenario(struct scenario *scenario, uint32_t *turn, uint64_t seed) {
    int moved = 0;
    for (uint32_t i = 0; i < scenario->loop_count; i++)
        turn[i] = has_drop(scenario, i)
                      ? 0
                      : (uint32_t)(seed * 2654435761 >> 7) % scenario->loop[i].cell_count;
    for (uint32_t i = 0; i < scenario->arm_count; i++) {
        moved += turn_place(scenario, &scenario->arm[i].from, turn);
        moved += turn_place(scenario, &scenario->arm[i].to, turn);
    }
    return moved;
}

START_TEST(a_turned_loop_has_the_same_history) {
    int turned = 0;
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        struct scenario *one = throw_scenario(seed), *other = throw_scenario(seed);
        uint32_t *turn = require_memory(other->loop_count, sizeof *turn);
        int positions = turn_scenario(other, turn, seed);
        struct history before = {.scenario = one}, after = {.scenario = other, .turn = turn};
        run_history(&before);
        run_history(&after);
        turned += positions > 0 && before.told > 0;
        history_assert_same(&before, &after, seed);
        free(turn);
        scenario_free(one);
        scenario_free(other);
    }
    ck_assert_int_gt(turned, SCENARIOS / 3);
}
END_TEST

/* ---- slowed down ---- */

/* Scatter writes every time with nine places and every rate with six, and nothing else so. */
enum { TIME_PLACES = 9, RATE_PLACES = 6 };

static size_t digits(const char *text) { return strspn(text, "0123456789"); }

/* Writes the number at `text` as the slow scenario has it; returns its length. */
static size_t write_slow_number(FILE *out, const char *text) {
    size_t whole = digits(text), places = text[whole] == '.' ? digits(text + whole + 1) : 0;
    size_t length = places > 0 ? whole + 1 + places : whole;
    int64_t units = strtoll(text, NULL, 10), fraction = 0;
    if (places > 0)
        fraction = strtoll(text + whole + 1, NULL, 10);
    if (places == TIME_PLACES) {
        int64_t doubled = 2 * (units * 1000000000 + fraction);
        fprintf(out, "%" PRId64 ".%09" PRId64, doubled / 1000000000, doubled % 1000000000);
    } else if (places == RATE_PLACES) {
        int64_t halved = 5 * (units * 1000000 + fraction); /* in 10^-7 */
        fprintf(out, "%" PRId64 ".%07" PRId64, halved / 10000000, halved % 10000000);
    } else {
        fwrite(text, 1, length, out);
    }
    return length;
}

/* The same scenario with twice all durations, half the rates and half the ticks a second. */
static char *slow_text(const char *text, int64_t ticks_per_second) {
    char *slow = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&slow, &length);
    ck_assert_ptr_nonnull(out);
    const char *clock_end = strchr(text, '\n');
    fprintf(out, "clock: {ticks_per_second: %" PRId64 "}", ticks_per_second / 2);
    for (const char *at = clock_end; *at != '\0';) {
        bool in_name = at[-1] == '-' || at[-1] == '@'; /* "arm-3", "ring-0@12" */
        if (digits(at) == 0)
            fputc(*at++, out);
        else if (in_name)
            for (size_t left = digits(at); left > 0; left--)
                fputc(*at++, out);
        else
            at += write_slow_number(out, at);
    }
    fclose(out);
    return slow;
}

/* What does not stand in the text: the default of ten seconds is a duration like any other, and an
 * incident without a name draws by its text, whose times are others now. */
static void adopt_unwritten(struct scenario *slow, const struct scenario *fast) {
    slow->watch.blocked_default_ticks = fast->watch.blocked_default_ticks;
    for (uint32_t i = 0; i < slow->incident_count; i++) {
        free(slow->incident[i].label);
        slow->incident[i].label = require_text(fast->incident[i].label);
    }
}

START_TEST(half_the_ticks_for_twice_the_time_give_the_same_history) {
    int slowed = 0;
    for (uint64_t seed = 1; seed <= SCENARIOS * 2; seed++) {
        char *text = scatter_scenario(seed, with_chance(seed));
        struct scenario *fast = read_text(text);
        if (fast->ticks_per_second % 2 == 0) {
            char *slow_copy = slow_text(text, fast->ticks_per_second);
            struct scenario *slow = read_text(slow_copy);
            ck_assert_int_eq(2 * slow->ticks_per_second, fast->ticks_per_second);
            adopt_unwritten(slow, fast);
            struct history before = {.scenario = fast}, after = {.scenario = slow};
            run_history(&before);
            run_history(&after);
            slowed += before.told > 0;
            history_assert_same(&before, &after, seed);
            scenario_free(slow);
            free(slow_copy);
        }
        scenario_free(fast);
        free(text);
    }
    ck_assert_int_gt(slowed, SCENARIOS);
}
END_TEST

/* ---- chance ---- */

/* Parts that touch nothing of the others, with chance in all that can have it; %s: a mean time.
 * They stand first in their sections, so that all others have other numbers than before. */
static const struct {
    const char *section, *part;
} added_part[] = {
    {"chests", "  - {name: added-bin, start: {comb: 40}}\n  - {name: added-shelf}\n"},
    {"lines", "  - {name: added-slide, cells: 80, rate: 1, breaks: {after: {exponential: %s}, "
              "repair: {exponential: %s}}}\n"},
    {"stations",
     "  - {name: added-bench, takes: {comb: 1}, makes: {comb: {count: 1, chance: 0.7}}, "
     "time: {exponential: %s}, breaks: {after: {exponential: %s}, repair: %s}}\n"},
    {"arms", "  - {name: added-feeder, from: added-bin, to: added-bench, choose: random, "
             "swing: {exponential: %s}, breaks: {after: {exponential: %s}, repair: %s}}\n"
             "  - {name: added-mover, from: added-bench, to: added-slide@75, "
             "swing: {exponential: %s}}\n"},
    {"supplies", "  - {name: added-post, chest: added-bin, item: comb, every: {exponential: %s}, "
                 "breaks: {after: {exponential: %s}, repair: %s}}\n"},
    {"demands",
     "  - {name: added-order, chest: added-bin, item: comb, every: {exponential: %s}}\n"},
    {"incidents", "  - {every: {exponential: %s}, clear: {lane: added-slide}}\n"}};

/* Writes a part with the mean time in its places. */
static void write_part(FILE *out, const char *part, int64_t ticks_per_second) {
    for (const char *at = part; *at != '\0'; at++)
        if (at[0] == '%' && at[1] == 's') {
            scatter_write_ticks(out, 9, ticks_per_second);
            at++;
        } else {
            fputc(*at, out);
        }
}

static char *text_with_part(const char *text, const char *section, const char *part,
                            int64_t ticks_per_second) {
    char *longer = NULL, head[32];
    size_t length = 0;
    FILE *out = open_memstream(&longer, &length);
    ck_assert_ptr_nonnull(out);
    snprintf(head, sizeof head, "\n%s:\n", section);
    const char *found = strstr(text, head);
    size_t before = found != NULL ? (size_t)(found - text) + strlen(head) : strlen(text);
    fwrite(text, 1, before, out);
    if (found == NULL)
        fputs(head + 1, out);
    write_part(out, part, ticks_per_second);
    fputs(text + before, out);
    fclose(out);
    return longer;
}

static struct scenario *read_with_added(const char *text, int64_t ticks_per_second) {
    char *longer = require_text(text);
    for (size_t i = 0; i < sizeof added_part / sizeof *added_part; i++) {
        char *next =
            text_with_part(longer, added_part[i].section, added_part[i].part, ticks_per_second);
        free(longer);
        longer = next;
    }
    struct scenario *scenario = read_text(longer);
    free(longer);
    return scenario;
}

START_TEST(adding_parts_leaves_the_draws_of_others_alone) {
    int64_t moves = 0, moves_of_added = 0;
    for (uint64_t seed = 1; seed <= SCENARIOS; seed++) {
        char *text = scatter_scenario(seed, true);
        struct scenario *fewer = read_text(text);
        struct scenario *more = read_with_added(text, fewer->ticks_per_second);
        struct history before = {.scenario = fewer, .moves_only = true};
        struct history after = {.scenario = more, .moves_only = true, .unheard_arms = "added-"};
        run_history(&before);
        run_history(&after);
        moves += before.told;
        moves_of_added += after.not_told;
        history_assert_same(&before, &after, seed);
        scenario_free(fewer);
        scenario_free(more);
        free(text);
    }
    ck_assert_int_gt(moves, SCENARIOS);
    ck_assert_int_gt(moves_of_added, SCENARIOS);
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("identities");
    TCase *tests = tcase_create("identities");
    tcase_add_test(tests, each_item_is_somewhere_in_each_tick);
    tcase_add_test(tests, states_of_each_actor_add_up_to_the_run_in_each_tick);
    tcase_add_test(tests, totals_are_what_was_seen_tick_by_tick);
    tcase_add_test(tests, cells_held_over_time_are_the_sum_of_stays);
    tcase_add_test(tests, a_turned_loop_has_the_same_history);
    tcase_add_test(tests, half_the_ticks_for_twice_the_time_give_the_same_history);
    tcase_add_test(tests, adding_parts_leaves_the_draws_of_others_alone);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
