/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/checkpoint/live_view.c - pictures on the terminal's second screen, and time to see them.
 * The sequences are those of ECMA-48, and for the second screen that of xterm (DECSET 1049), which
 * terminals share today. */
#include "tools/checkpoint/live_view.h"

#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "model/scenario/quantity.h"
#include "sim/text_stream.h"
#include "tools/base/elapsed.h"
#include "tools/base/interrupt.h"

enum { FRAME_MS = 150, ROWS_WITHOUT = 24, COLUMNS_WITHOUT = 80 };

/* ---- the terminal ---- */

/* Past the guard of standard output, which would show the sequences as text. What is drawn is names
 * and numbers alone. What cannot be written is not drawn. */
static void put(const char *text, size_t length) {
    while (length > 0) {
        ssize_t count = write(STDOUT_FILENO, text, length);
        if (count <= 0)
            return;
        text += count;
        length -= (size_t)count;
    }
}

static void put_text(const char *text) { put(text, strlen(text)); }

bool live_view_is_possible(void) {
    const char *terminal = getenv("TERM");
    return isatty(STDOUT_FILENO) == 1 && isatty(STDIN_FILENO) == 1 &&
           (terminal == NULL || strcmp(terminal, "dumb") != 0);
}

/* Keys come one by one and are not shown; a second screen, without cursor. */
static void take_terminal(struct live_view *view) {
    tcgetattr(STDIN_FILENO, &view->before);
    struct termios raw = view->before;
    raw.c_lflag &= (tcflag_t) ~(ICANON | ECHO);
    tcsetattr(STDIN_FILENO, TCSANOW, &raw);
    put_text("\033[?1049h\033[?25l\033[2J");
}

static void give_terminal_back(struct live_view *view) {
    put_text("\033[?25h\033[?1049l");
    tcsetattr(STDIN_FILENO, TCSANOW, &view->before);
}

/* As many lines and columns of a text as the terminal has, each up to its end. */
static void put_screen(const char *text) {
    struct winsize size = {0};
    bool known = ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0;
    size_t columns = known && size.ws_col > 0 ? size.ws_col : COLUMNS_WITHOUT;
    int rows = known && size.ws_row > 0 ? size.ws_row : ROWS_WITHOUT;
    put_text("\033[H");
    for (int row = 0; row < rows && *text != '\0'; row++) {
        size_t length = strcspn(text, "\n");
        put(text, length < columns ? length : columns);
        put_text(row + 1 < rows ? "\033[K\r\n" : "\033[K");
        text += length + (text[length] == '\n');
    }
    put_text("\033[J");
}

/* ---- the picture ---- */

static void draw(struct live_view *view) {
    char pace[QUANTITY_TEXT_SIZE], clock[QUANTITY_TEXT_SIZE];
    const struct scenario *scenario = view->picture.scenario;
    int64_t rate = scenario->ticks_per_second, tick = world_tick(view->picture.world);
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    view->picture.out = out;
    fprintf(out, "%s at a pace of ", quantity_clock(tick > 0 ? tick : 0, rate, clock));
    fprintf(out, "%s a second; q stops\n", quantity_clock(view->pace_ticks, rate, pace));
    replay_view_tracks(&view->picture);
    fputc('\n', out);
    for (int i = 0; i < LIVE_EVENTS; i++)
        if (view->event[i] != NULL)
            fputs(view->event[i], out);
    fputc('\n', out);
    replay_view_stocks(&view->picture);
    fputc('\n', out);
    replay_view_legend(&view->picture);
    char *text = text_stream_end(&stream);
    put_screen(text);
    free(text);
    view->drawn_ms = elapsed_ms();
}

/* ---- the last events ---- */

static void keep(struct live_view *view, const char *mark, const struct event *event,
                 int64_t tick) {
    struct text_stream stream;
    view->picture.out = text_stream_begin(&stream);
    replay_view_event(&view->picture, mark, event, tick);
    fputc('\n', view->picture.out);
    free(view->event[0]);
    memmove(view->event, view->event + 1, (LIVE_EVENTS - 1) * sizeof *view->event);
    view->event[LIVE_EVENTS - 1] = text_stream_end(&stream);
}

static void moved(void *self, const struct move *move) {
    const struct live_view *view = self;
    if (view->next.moved != NULL)
        view->next.moved(view->next.self, move);
}

static void happened(void *self, const struct event *event) {
    struct live_view *view = self;
    if (view->next.happened != NULL)
        view->next.happened(view->next.self, event);
    keep(view, "!", event, event->start_tick);
}

static void began(void *self, const struct event *event) {
    struct live_view *view = self;
    if (view->next.began != NULL)
        view->next.began(view->next.self, event);
    keep(view, ">", event, event->start_tick);
}

static void ended(void *self, const struct event *event) {
    struct live_view *view = self;
    if (view->next.ended != NULL)
        view->next.ended(view->next.self, event);
    keep(view, "<", event, event->end_tick);
}

static void arm_changed(void *self, uint32_t arm) {
    const struct live_view *view = self;
    if (view->next.arm_changed != NULL)
        view->next.arm_changed(view->next.self, arm);
}

/* ---- its time ---- */

static void read_key(void) {
    char key;
    if (read(STDIN_FILENO, &key, 1) == 1 && (key == 'q' || key == 'Q'))
        raise(SIGINT);
}

/* Waits until a time, or for a signal, and reads the keys that come meanwhile. */
static void wait_until(int64_t due_ms) {
    struct pollfd keys = {STDIN_FILENO, POLLIN, 0};
    for (int64_t left; interrupt_signal() == 0 && (left = due_ms - elapsed_ms()) > 0;)
        if (poll(&keys, 1, left < FRAME_MS ? (int)left : FRAME_MS) > 0)
            read_key();
}

bool live_view_look(struct live_view *view) {
    double seconds = (double)world_tick(view->picture.world) / (double)view->pace_ticks;
    int64_t due_ms = view->begun_ms + (int64_t)(seconds * 1000);
    if (due_ms >= view->drawn_ms + FRAME_MS) {
        wait_until(due_ms);
        draw(view);
    }
    return interrupt_signal() == 0;
}

void live_view_open(struct live_view *view, const struct scenario *scenario, struct world *world,
                    struct listener next, int64_t pace_ticks) {
    *view = (struct live_view){.next = next, .pace_ticks = pace_ticks, .begun_ms = elapsed_ms()};
    replay_view_init(&view->picture, scenario, world);
    world_listen(world, &(struct listener){view, moved, happened, began, ended, arm_changed});
    take_terminal(view);
    draw(view);
}

void live_view_close(struct live_view *view, struct world *world) {
    world_listen(world, &view->next);
    give_terminal_back(view);
    replay_view_drop(&view->picture);
    for (int i = 0; i < LIVE_EVENTS; i++)
        free(view->event[i]);
    *view = (struct live_view){0};
}
