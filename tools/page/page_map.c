/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/page_map.c - a table, so that it scrolls, is read aloud, and prints; page.css makes
 * colours of the shares. */
#include "tools/page/page_map.h"

#include <math.h>

#include "tools/page/html.h"

static void write_cell(const struct page_grid *grid, const struct page_grid_measure *measure,
                       size_t row, FILE *out) {
    double number = page_grid_number(grid, measure, measure->column, row);
    double share = measure->top > 0 ? fmin(number / measure->top, 1) : 0;
    fprintf(out, "<td%s style=\"--share:%.3f\"",
            page_grid_is_best(grid, row) ? " class=\"best\"" : "", share);
    if (measure->high > 0)
        fprintf(out, " title=\"%.3g to %.3g\"", page_grid_number(grid, measure, measure->low, row),
                page_grid_number(grid, measure, measure->high, row));
    if (measure->most > 0)
        fprintf(out, " title=\"%.4g at most\"",
                page_grid_number(grid, measure, measure->most, row));
    fprintf(out, ">%.3g</td>", number);
}

void page_map_write(const struct page_grid *grid, const struct page_grid_measure *measure,
                    size_t *at, FILE *out) {
    size_t down = grid->axis_count - 2, across = grid->axis_count - 1;
    fprintf(out, "<table class=\"map%s\">", measure->bad ? " bad" : "");
    html_element(out, "caption", measure->title);
    fputs("<thead><tr><td class=\"corner\"></td>", out);
    for (size_t i = 0; i < grid->axis[across].count; i++)
        html_element(out, "th scope=\"col\"", grid->axis[across].value[i]);
    fputs("</tr></thead><tbody>\n", out);
    for (at[down] = 0; at[down] < grid->axis[down].count; at[down]++) {
        fputs("<tr>", out);
        html_element(out, "th scope=\"row\"", grid->axis[down].value[at[down]]);
        for (at[across] = 0; at[across] < grid->axis[across].count; at[across]++)
            write_cell(grid, measure, page_grid_row(grid, at), out);
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table>\n", out);
}
