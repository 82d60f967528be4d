/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/story.c - runs the program in a child process and reads its three tables. */
#include "tests/story/story.h"

#include <check.h>
#include <fcntl.h>
#include <jansson.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { ARGUMENTS_MAX = 64, PATH_BYTES = 128 };

/* ---- running ---- */

static void path_in(const struct story *story, const char *file, char path[PATH_BYTES]) {
    snprintf(path, PATH_BYTES, "%s/%s", story->directory, file);
}

static void run_child(const struct story *story, char **argument) {
    char path[PATH_BYTES];
    path_in(story, "printed", path);
    int printed = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (printed < 0 || dup2(printed, STDOUT_FILENO) < 0)
        _exit(126);
    execv(argument[0], argument);
    _exit(127);
}

static int run_and_wait(const struct story *story, char **argument) {
    fflush(NULL);
    pid_t child = fork();
    ck_assert(child >= 0);
    if (child == 0)
        run_child(story, argument);
    int status = 0;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_msg(WIFEXITED(status), "the program died of signal %d", WTERMSIG(status));
    return WEXITSTATUS(status);
}

static int run_program(const struct story *story, const char *scenario, const char *const *set) {
    const char *program = getenv("LOOPWRIGHT");
    ck_assert_msg(program != NULL, "the variable LOOPWRIGHT names no program");
    char out[PATH_BYTES];
    path_in(story, "out", out);
    const char *argument[ARGUMENTS_MAX] = {program, "run", scenario, "--json", "--out", out};
    size_t count = 6;
    for (; set != NULL && *set != NULL; set++) {
        ck_assert(count + 2 < ARGUMENTS_MAX);
        argument[count++] = "--set";
        argument[count++] = *set;
    }
    char *list[ARGUMENTS_MAX];
    memcpy(list, argument, sizeof list);
    return run_and_wait(story, list);
}

/* ---- tables ---- */

char *story_text(const char *path) {
    FILE *file = fopen(path, "rb");
    ck_assert_msg(file != NULL, "%s is missing", path);
    ck_assert(fseek(file, 0, SEEK_END) == 0);
    long bytes = ftell(file);
    ck_assert(bytes >= 0);
    rewind(file);
    char *text = malloc((size_t)bytes + 1);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_eq(fread(text, 1, (size_t)bytes, file), (size_t)bytes);
    text[bytes] = '\0';
    fclose(file);
    return text;
}

static size_t count_of(const char *text, char wanted) {
    size_t count = 0;
    for (; *text != '\0'; text++)
        count += *text == wanted;
    return count;
}

static struct table read_table(const struct story *story, const char *file) {
    char path[PATH_BYTES];
    path_in(story, file, path);
    struct table table = {.text = story_text(path)};
    table.rows = count_of(table.text, '\n');
    ck_assert_msg(table.rows > 0, "%s has no header", file);
    table.columns = 1;
    for (const char *at = table.text; *at != '\n'; at++)
        table.columns += *at == ',';
    table.field = calloc(table.rows * table.columns, sizeof *table.field);
    ck_assert_ptr_nonnull(table.field);
    char *at = table.text;
    for (size_t i = 0; i < table.rows * table.columns; i++) {
        bool last = i % table.columns == table.columns - 1;
        size_t length = strcspn(at, ",\n");
        ck_assert_msg(at[length] == (last ? '\n' : ','), "%s: row %zu is not whole", file,
                      i / table.columns);
        table.field[i] = at;
        at[length] = '\0';
        at += length + 1;
    }
    return table;
}

static void free_table(struct table *table) {
    free(table->text);
    free(table->field);
}

static size_t column_of(const struct table *table, const char *name) {
    for (size_t column = 0; column < table->columns; column++) {
        if (strcmp(table->field[column], name) == 0)
            return column;
    }
    ck_abort_msg("there is no column %s", name);
    return 0;
}

static const char *text_at(const struct table *table, size_t row, const char *column) {
    return table->field[row * table->columns + column_of(table, column)];
}

static double number_at(const struct table *table, size_t row, const char *column) {
    const char *text = text_at(table, row, column);
    char *end = NULL;
    double number = strtod(text, &end);
    ck_assert_msg(end != text && *end == '\0', "%s of row %zu is no number: %s", column, row, text);
    return number;
}

static bool is_at(const struct table *table, size_t row, const char *column, const char *text) {
    return strcmp(text_at(table, row, column), text) == 0;
}

/* ---- one story ---- */

struct story story_run(const char *scenario, const char *const *set) {
    struct story story = {.directory = "build/story-XXXXXX"};
    ck_assert_ptr_nonnull(mkdtemp(story.directory));
    story.status = run_program(&story, scenario, set);
    ck_assert_msg(story.status <= 1, "%s: status %d", scenario, story.status);
    char path[PATH_BYTES];
    path_in(&story, "printed", path);
    json_error_t error;
    story.summary = json_load_file(path, 0, &error);
    ck_assert_msg(story.summary != NULL, "%s: %s, line %d", path, error.text, error.line);
    story.events = read_table(&story, "out/events.csv");
    story.occupancy = read_table(&story, "out/occupancy.csv");
    story.lanes = read_table(&story, "out/lanes.csv");
    story.levels = read_table(&story, "out/levels.csv");
    return story;
}

void story_free(struct story *story) {
    json_decref(story->summary);
    free_table(&story->events);
    free_table(&story->occupancy);
    free_table(&story->lanes);
    free_table(&story->levels);
    char remove[] = "/bin/rm", recursive[] = "-rf";
    char *argument[] = {remove, recursive, story->directory, NULL};
    ck_assert_int_eq(run_and_wait(story, argument), 0);
}

double story_number(const struct story *story, ...) {
    va_list keys;
    va_start(keys, story);
    const json_t *at = story->summary;
    for (const char *key; (key = va_arg(keys, const char *)) != NULL;) {
        at = json_object_get(at, key);
        ck_assert_msg(at != NULL, "the summary has no %s there", key);
    }
    va_end(keys);
    if (json_is_boolean(at))
        return json_is_true(at) ? 1 : 0;
    ck_assert_msg(json_is_number(at), "not a number in the summary");
    return json_number_value(at);
}

/* ---- events ---- */

static bool event_fits(const struct table *events, size_t row, const char *event,
                       const char *subject) {
    return is_at(events, row, "event", event) &&
           (subject == NULL || is_at(events, row, "subject", subject));
}

size_t story_count(const struct story *story, const char *event, const char *subject) {
    size_t count = 0;
    for (size_t row = 1; row < story->events.rows; row++)
        count += event_fits(&story->events, row, event, subject);
    return count;
}

struct happening story_event(const struct story *story, const char *event, const char *subject,
                             size_t n) {
    const struct table *events = &story->events;
    for (size_t row = 1; row < events->rows; row++) {
        if (!event_fits(events, row, event, subject) || n-- > 0)
            continue;
        const char *detail = text_at(events, row, "detail");
        return (struct happening){number_at(events, row, "start_s"),
                                  number_at(events, row, "end_s"), strstr(detail, "open") != NULL,
                                  detail};
    }
    ck_abort_msg("there is no such event: %s %s", event, subject != NULL ? subject : "");
    return (struct happening){0};
}

/* ---- lanes ---- */

static bool lane_fits(const struct table *table, size_t row, const char *loop, const char *lane) {
    return is_at(table, row, "loop", loop) && is_at(table, row, "lane", lane);
}

double story_on_lane(const struct story *story, const char *loop, const char *lane,
                     const char *item, double time_s) {
    bool all = item[0] == '\0', sampled = false;
    const struct table *table = all ? &story->lanes : &story->occupancy;
    for (size_t row = 1; row < table->rows; row++) {
        if (!lane_fits(table, row, loop, lane) || number_at(table, row, "time_s") != time_s)
            continue;
        sampled = true;
        if (all || is_at(table, row, "item", item))
            return number_at(table, row, "count");
    }
    ck_assert_msg(sampled, "%s/%s has no sample at %g s", loop, lane, time_s);
    return 0;
}

struct range {
    double least, most;
};

static struct range share_range(const struct story *story, const char *loop, const char *lane,
                                double from_s, double to_s) {
    const struct table *table = &story->lanes;
    struct range range = {2, -1};
    for (size_t row = 1; row < table->rows; row++) {
        if (!lane_fits(table, row, loop, lane))
            continue;
        double time = number_at(table, row, "time_s"), share = number_at(table, row, "share");
        if (time < from_s || time > to_s)
            continue;
        range.least = share < range.least ? share : range.least;
        range.most = share > range.most ? share : range.most;
    }
    ck_assert_msg(range.most >= 0, "%s/%s has no sample there", loop, lane);
    return range;
}

double story_share(const struct story *story, const char *loop, const char *lane, double time_s) {
    return share_range(story, loop, lane, time_s, time_s).most;
}

double story_share_least(const struct story *story, const char *loop, const char *lane,
                         double from_s, double to_s) {
    return share_range(story, loop, lane, from_s, to_s).least;
}

double story_share_most(const struct story *story, const char *loop, const char *lane,
                        double from_s, double to_s) {
    return share_range(story, loop, lane, from_s, to_s).most;
}

/* ---- levels ---- */

static bool level_fits(const struct table *table, size_t row, const char *place, const char *item) {
    return is_at(table, row, "place", place) && is_at(table, row, "item", item);
}

double story_level(const struct story *story, const char *place, const char *item, double time_s) {
    const struct table *table = &story->levels;
    double level = -1;
    for (size_t row = 1; row < table->rows; row++) {
        if (level_fits(table, row, place, item) && number_at(table, row, "time_s") <= time_s)
            level = number_at(table, row, "count");
    }
    ck_assert_msg(level >= 0, "%s has no row for %s", place, item);
    return level;
}

double story_level_most(const struct story *story, const char *place, const char *item) {
    const struct table *table = &story->levels;
    double most = -1;
    for (size_t row = 1; row < table->rows; row++) {
        if (!level_fits(table, row, place, item))
            continue;
        double count = number_at(table, row, "count");
        most = count > most ? count : most;
    }
    ck_assert_msg(most >= 0, "%s has no row for %s", place, item);
    return most;
}
