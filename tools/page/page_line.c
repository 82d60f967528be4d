/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_line.c - values that are numbers of one unit in rising order stand to scale,
 * others side by side. */
#include "tools/page/page_line.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "tools/page/html.h"

enum { WIDTH = 352, HEIGHT = 208, LEFT = 46, RIGHT = 14, TOP = 12, BOTTOM = 26, LETTER = 8 };
enum { TICK = 9 }; /* from the numbers to the axis, on which a ring of half of that may stand */

struct line {
    const struct page_grid *grid;
    const struct page_grid_measure *measure;
    double *x;  /* of each value */
    double top; /* of the axis upwards */
};

/* A number, maybe with a unit, which is what stands after it. */
static bool is_number(const char *text, double *number, const char **unit) {
    char *end;
    *number = strtod(text, &end);
    *unit = end;
    return end != text && isfinite(*number);
}

/* A round number from there on: 1, 2 or 5 times a power of ten. */
static double round_up(double number) {
    static const double step[] = {1, 2, 5, 10};
    if (number <= 0)
        return 1;
    double power = pow(10, floor(log10(number)));
    int i = 0;
    while (i < 3 && step[i] * power < number * (1 - 1e-9))
        i++;
    return step[i] * power;
}

static void place_values(struct line *line) {
    const struct page_grid_axis *axis = &line->grid->axis[0];
    const char *unit, *first_unit = NULL;
    double number, before = -INFINITY;
    bool to_scale = axis->count > 1;
    line->x = require_memory(axis->count, sizeof *line->x);
    for (size_t i = 0; i < axis->count; i++, before = number) {
        to_scale = is_number(axis->value[i], &number, &unit) && number > before && to_scale;
        first_unit = i == 0 ? unit : first_unit;
        to_scale = to_scale && strcmp(unit, first_unit) == 0;
        line->x[i] = number;
    }
    for (size_t i = 0; i < axis->count && !to_scale; i++)
        line->x[i] = (double)i;
    double first = line->x[0], span = line->x[axis->count - 1] - first;
    for (size_t i = 0; i < axis->count; i++)
        line->x[i] = LEFT + (span > 0 ? (line->x[i] - first) / span : 0.5) * (WIDTH - LEFT - RIGHT);
}

static double number_at(const struct line *line, size_t column, size_t i) {
    return page_grid_number(line->grid, line->measure, column, page_grid_row(line->grid, &i));
}

static double height_of(const struct line *line, double number) {
    double share = number / line->top;
    return TOP + (1 - share) * (HEIGHT - TOP - BOTTOM);
}

static void write_path(const struct line *line, size_t column, const char *class, FILE *out) {
    fprintf(out, "<path class=\"%s\" d=\"", class);
    for (size_t i = 0; i < line->grid->axis[0].count; i++)
        fprintf(out, "%c%.1f %.1f", i == 0 ? 'M' : 'L', line->x[i],
                height_of(line, number_at(line, column, i)));
    fputs("\"/>", out);
}

/* There along the upper ends of the intervals, and back along the lower ones. */
static void write_band(const struct line *line, FILE *out) {
    size_t count = line->grid->axis[0].count;
    fputs("<path class=\"band\" d=\"", out);
    for (size_t i = 0; i < 2 * count; i++) {
        bool back = i >= count;
        size_t at = back ? 2 * count - 1 - i : i;
        size_t column = back ? line->measure->low : line->measure->high;
        fprintf(out, "%c%.1f %.1f", i == 0 ? 'M' : 'L', line->x[at],
                height_of(line, number_at(line, column, at)));
    }
    fputs("Z\"/>", out);
}

static void write_points(const struct line *line, FILE *out) {
    const struct page_grid_measure *measure = line->measure;
    for (size_t i = 0; i < line->grid->axis[0].count; i++) {
        bool best = page_grid_is_best(line->grid, page_grid_row(line->grid, &i));
        double number = number_at(line, measure->column, i), y = height_of(line, number);
        fprintf(out, "<circle class=\"%s\" cx=\"%.1f\" cy=\"%.1f\" r=\"%d\"><title>",
                best ? "best point" : "point", line->x[i], y, best ? 5 : 3);
        html_print(out, "%s: %.4g", line->grid->axis[0].value[i], number);
        if (measure->high > 0)
            html_print(out, " (%.3g to %.3g)", number_at(line, measure->low, i),
                       number_at(line, measure->high, i));
        if (measure->most > 0)
            html_print(out, ", %.4g at most", number_at(line, measure->most, i));
        fprintf(out, "%s</title></circle>", best ? ", the best" : "");
    }
}

static void write_axes(const struct line *line, FILE *out) {
    fprintf(out, "<path class=\"axis\" d=\"M%d %dV%dH%d\"/>", LEFT, TOP, HEIGHT - BOTTOM,
            WIDTH - RIGHT);
    for (int i = 0; i <= 2; i++) {
        double y = height_of(line, line->top * i / 2);
        if (i > 0)
            fprintf(out, "<path class=\"grid\" d=\"M%d %.1fH%d\"/>", LEFT, y, WIDTH - RIGHT);
        fprintf(out, "<text x=\"%d\" y=\"%.1f\" text-anchor=\"end\">%.3g</text>", LEFT - TICK,
                y + 4, line->top * i / 2);
    }
}

/* As many of them as have room side by side, the first and the last always. */
static void write_values(const struct line *line, FILE *out) {
    const struct page_grid_axis *axis = &line->grid->axis[0];
    double free_from = -INFINITY, last_from = WIDTH;
    for (size_t i = 0; i < axis->count; i++) {
        size_t k = i == 0 ? axis->count - 1 : i - 1; /* the last one first */
        double width = (double)(strlen(axis->value[k]) * LETTER);
        double from = fmin(line->x[k] - width / 2, WIDTH - width);
        from = fmax(from, 0);
        if (i > 0 && (from < free_from || from + width > last_from))
            continue;
        fprintf(out, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"middle\">", from + width / 2,
                HEIGHT - BOTTOM + 17);
        html_text(out, axis->value[k]);
        fputs("</text>", out);
        if (i == 0)
            last_from = from;
        else
            free_from = from + width;
    }
}

void page_line_write(const struct page_grid *grid, const struct page_grid_measure *measure,
                     FILE *out) {
    struct line line = {.grid = grid, .measure = measure, .top = measure->top};
    if (measure->factor < 100)
        line.top = round_up(measure->top);
    place_values(&line);
    fputs("<figure class=\"line\"><figcaption>", out);
    html_text(out, measure->title);
    fprintf(out, "</figcaption><svg class=\"%s\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"",
            measure->bad ? "bad" : "", WIDTH, HEIGHT);
    html_print(out, "%s, over %s", measure->title, grid->axis[0].path);
    fputs("\">", out);
    write_axes(&line, out);
    if (measure->high > 0)
        write_band(&line, out);
    if (measure->most > 0)
        write_path(&line, measure->most, "most", out);
    write_path(&line, measure->column, "mean", out);
    write_points(&line, out);
    write_values(&line, out);
    fputs("</svg></figure>\n", out);
    free(line.x);
}
