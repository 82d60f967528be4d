/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_sweep.c - from sweep.csv. Over one path lines are drawn, over two maps; of more
 * paths a map for each choice of the values of those before the last two. */
#include "tools/page/page_sweep.h"

#include <stdlib.h>

#include "sim/require.h"
#include "tools/page/html.h"
#include "tools/page/page_grid.h"
#include "tools/page/page_line.h"
#include "tools/page/page_map.h"

/* So many choices of the paths before the last two have maps. */
enum { GROUPS_MOST = 12 };

/* ---- the best ---- */

static double number_of(const struct csv_table *table, size_t row, const char *column) {
    return strtod(csv_table_field(table, row, column), NULL);
}

/* "3 of 20 runs have a jam (95 % sure: 3.2 to 38 %)." */
static void write_jams(const struct csv_table *table, size_t row, FILE *out) {
    double share = number_of(table, row, "jam_probability");
    double runs = number_of(table, row, "runs");
    if (share <= 0)
        fprintf(out, ". No jam in %.0f run%s", runs, runs > 1 ? "s" : "");
    else
        fprintf(out, ". %.0f of %.0f runs have a jam", share * runs, runs);
    fprintf(out, " (95 %% sure: %.3g to %.3g %%).", 100 * number_of(table, row, "low"),
            100 * number_of(table, row, "high"));
}

/* "2 of 4 runs end stuck." */
static void write_stuck(const struct csv_table *table, size_t row, FILE *out) {
    double runs = number_of(table, row, "runs"), stuck = number_of(table, row, "stuck") * runs;
    if (stuck > 0)
        fprintf(out, " %.0f of %.0f run%s end%s stuck.", stuck, runs, runs > 1 ? "s" : "",
                runs > 1 ? "" : "s");
}

/* The least bad of combinations all of which jam or get stuck is none that holds. */
static bool best_holds(const struct csv_table *table, size_t row) {
    return number_of(table, row, "jam_probability") <= 0 && number_of(table, row, "stuck") <= 0;
}

static void write_best(const struct source *source, const struct page_grid *grid, FILE *out) {
    const struct csv_table *table = &source->sweep;
    size_t row = 1;
    while (row + 1 < table->rows && !page_grid_is_best(grid, row))
        row++;
    fprintf(out, "<p class=\"verdict %s\">The best: ", best_holds(table, row) ? "holds" : "fails");
    for (size_t i = 0; i < grid->axis_count; i++)
        html_print(out, "%s%s=%s", i > 0 ? ", " : "", grid->axis[i].path,
                   table->field[row * table->columns + i]);
    write_jams(table, row, out);
    write_stuck(table, row, out);
    fprintf(out, " Of the demand %.4g %% is met.</p>\n", 100 * number_of(table, row, "met"));
    fputs("<p class=\"quiet\">The best has the fewest runs that end stuck; of those with equally "
          "many it has the fewest jams, then meets most of its demand, then makes most, then has "
          "the emptiest lanes. To run it:</p>\n"
          "<pre class=\"paste\" tabindex=\"0\">",
          out);
    html_print(out, "loopwright run %s/scenario.yaml", source->path);
    for (size_t i = 0; i < grid->axis_count; i++)
        html_print(out, " --set '%s=%s'", grid->axis[i].path,
                   table->field[row * table->columns + i]);
    fputs("</pre>\n", out);
}

/* ---- lines and maps ---- */

static void write_lines(const struct page_grid *grid, FILE *out) {
    html_element(out, "h3", grid->axis[0].path);
    fputs("<p class=\"quiet\">Band: where the share of runs with a jam lies, 95 % sure. Thin line: "
          "the most at any time in any run. Ring: the best.</p>\n<div class=\"lines\">\n",
          out);
    for (size_t i = 0; i < grid->measure_count; i++)
        page_line_write(grid, &grid->measure[i], out);
    fputs("</div>\n", out);
}

/* The values of the paths before the last two, by the number of the choice. */
static void choose(const struct page_grid *grid, size_t number, size_t *at) {
    for (size_t i = grid->axis_count - 2; i-- > 0;) {
        at[i] = number % grid->axis[i].count;
        number /= grid->axis[i].count;
    }
}

static void write_choice(const struct page_grid *grid, const size_t *at, FILE *out) {
    fputs("<h3>", out);
    for (size_t i = 0; i + 2 < grid->axis_count; i++)
        html_print(out, "%s%s=%s", i > 0 ? ", " : "", grid->axis[i].path,
                   grid->axis[i].value[at[i]]);
    if (grid->axis_count == 2)
        fputs("Maps", out);
    fputs("</h3>\n", out);
}

static void write_maps(const struct page_grid *grid, FILE *out) {
    size_t choices = 1, *at = require_memory(grid->axis_count, sizeof *at);
    for (size_t i = 0; i + 2 < grid->axis_count; i++)
        choices *= grid->axis[i].count;
    fputs("<p class=\"quiet\">Down: <strong>", out);
    html_text(out, grid->axis[grid->axis_count - 2].path);
    fputs("</strong>; across: <strong>", out);
    html_text(out, grid->axis[grid->axis_count - 1].path);
    fputs("</strong>. The stronger a cell's colour, the greater its number; the best is framed."
          "</p>\n",
          out);
    for (size_t k = 0; k < choices && k < GROUPS_MOST; k++) {
        choose(grid, k, at);
        write_choice(grid, at, out);
        fputs("<div class=\"tables\">\n", out);
        for (size_t i = 0; i < grid->measure_count; i++)
            page_map_write(grid, &grid->measure[i], at, out);
        fputs("</div>\n", out);
    }
    if (choices > GROUPS_MOST)
        fprintf(out, "<p class=\"quiet\">%zu more choices are only in the table below.</p>\n",
                choices - GROUPS_MOST);
    free(at);
}

void page_sweep_write(const struct source *source, FILE *out) {
    struct page_grid grid;
    page_grid_init(&grid, &source->sweep);
    write_best(source, &grid, out);
    if (grid.is_whole && grid.axis_count == 1)
        write_lines(&grid, out);
    else if (grid.is_whole)
        write_maps(&grid, out);
    html_table(out, "All combinations", &source->sweep);
    page_grid_free(&grid);
}
