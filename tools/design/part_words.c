/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/design/part_words.c - rates a minute, as the sheet has them. */
#include "tools/design/part_words.h"

#include <inttypes.h>
#include <string.h>

void part_words_station(const struct budget *budget, uint32_t station, FILE *out) {
    const struct budget_station *own = &budget->station[station];
    fprintf(out, "%.4g batches a minute are needed, and it can make %.4g: busy %.0f %%",
            60 * own->needed, 60 * own->greatest, 100 * own->utilisation);
}

void part_words_arm(const struct budget *budget, uint32_t arm, FILE *out) {
    const struct budget_arm *own = &budget->arm[arm];
    fprintf(out, "%.4g a minute are needed, and it can carry %.4g: busy %.0f %%", 60 * own->needed,
            60 * own->steady, 100 * own->utilisation);
}

void part_words_track(const struct budget *budget, uint32_t track, FILE *out) {
    const struct budget_track *own = &budget->track[track];
    fprintf(out,
            "%.3g of %.3g cells a second are needed on its fullest stretch, %.0f %% of it covered",
            own->needed, own->rate, 100 * own->share);
}

static void print_stream(const struct scenario *scenario, const struct scenario_stream *stream,
                         const char *what, const char **between, FILE *out) {
    double seconds = (double)stream->every.mean_ticks / (double)scenario->ticks_per_second;
    fprintf(out, "%s%s of %" PRId64 " %s every %.4g s", *between, what, stream->batch,
            scenario->item[stream->item].name, seconds);
    if (span_is_random(&stream->every))
        fputs(" on average", out);
    *between = "; ";
}

void part_words_chest(const struct budget *budget, uint32_t chest, FILE *out) {
    const struct scenario *scenario = budget->scenario;
    const char *between = "";
    for (uint32_t i = 0; i < scenario->supply_count; i++)
        if (scenario->supply[i].chest == chest)
            print_stream(scenario, &scenario->supply[i], "deliveries", &between, out);
    for (uint32_t i = 0; i < scenario->demand_count; i++)
        if (scenario->demand[i].chest == chest && !scenario->demand[i].outlet)
            print_stream(scenario, &scenario->demand[i], "orders", &between, out);
}

static void print_loop(const struct budget *budget, const struct scenario_loop *loop, FILE *out) {
    for (uint32_t k = 0; k < loop->lane_count; k++) {
        if (loop->lane_count > 1)
            fprintf(out, "%s%s: ", k > 0 ? "; " : "",
                    budget->scenario->lane[loop->first_lane + k].name);
        part_words_track(budget, loop->first_lane + k, out);
    }
}

void part_words(const struct budget *budget, const char *section, const char *name, FILE *out) {
    const struct scenario *scenario = budget->scenario;
    for (uint32_t i = 0; i < scenario->station_count && strcmp(section, "stations") == 0; i++)
        if (strcmp(scenario->station[i].name, name) == 0)
            part_words_station(budget, i, out);
    for (uint32_t i = 0; i < scenario->arm_count && strcmp(section, "arms") == 0; i++)
        if (strcmp(scenario->arm[i].name, name) == 0)
            part_words_arm(budget, i, out);
    for (uint32_t i = 0; i < scenario->chest_count && strcmp(section, "chests") == 0; i++)
        if (strcmp(scenario->chest[i].name, name) == 0)
            part_words_chest(budget, i, out);
    for (uint32_t i = 0; i < scenario->loop_count && strcmp(section, "loops") == 0; i++)
        if (strcmp(scenario->loop[i].name, name) == 0)
            print_loop(budget, &scenario->loop[i], out);
    for (uint32_t i = 0; i < scenario->line_count && strcmp(section, "lines") == 0; i++)
        if (strcmp(scenario->line[i].name, name) == 0)
            part_words_track(budget, scenario->lane_count + i, out);
}
