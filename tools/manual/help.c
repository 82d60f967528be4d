/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/help.c - lists the tables of commands and options. */
#include "tools/manual/help.h"

#include <stdbool.h>
#include <string.h>

#include "tools/manual/wrap.h"

enum { HELP_COLUMN = 22, EXAMPLES_SHORT = 4, OPTIONS_SHORT = 12 };

static const char statuses[] =
    "Exit status:\n"
    "  0  done, and it holds           3  the scenario is wrong\n"
    "  1  done, and it does not hold   4  a file could not be read or written\n"
    "  2  the command line is wrong    5  a bug     128+n  stopped by signal n\n";

void help_print(FILE *out) {
    fputs("Usage: loopwright COMMAND [OPTION ...]\n"
          "Works out on a model how a conveyor loop with many kinds of parts will run: what\n"
          "it carries, where it starves, why it jams.\n\nCommands:\n",
          out);
    for (int i = 0; i < command_table_count(); i++) {
        const struct command *command = command_table_row(i);
        fprintf(out, "  %s %-*s %s\n", command->name, 18 - (int)strlen(command->name),
                command->operand != NULL ? command->operand : "", command->summary);
    }
    fputs("\nloopwright COMMAND --help says more about each; loopwright --version says which\n"
          "version this is.\n\n",
          out);
    fputs(statuses, out);
}

static void print_usage(const struct command *command, FILE *out) {
    fprintf(out, "Usage: loopwright %s%s%s [OPTION ...]\nThis %s.\n\n", command->name,
            command->operand != NULL ? " " : "", command->operand != NULL ? command->operand : "",
            command->summary);
}

static void print_examples(const struct command *command, int most, FILE *out) {
    fputs("Examples:\n", out);
    for (int i = 0; i < most && command->example[i].line != NULL; i++)
        fprintf(out, "  %s\n", command->example[i].line);
    fputc('\n', out);
}

/* The name of an option and its value, up to the column of the texts. */
static int print_name(const struct option_row *row, FILE *out) {
    int used = fprintf(out, "  %s", row->name);
    if (row->kind != WORD_NONE && row->kind != WORD_ALL)
        used += fprintf(out, " %s", row->value);
    if (used > HELP_COLUMN - 2)
        used = fprintf(out, "\n") - 1;
    return used + fprintf(out, "%*s", HELP_COLUMN - used, "");
}

static void print_option(const struct option_row *row, bool all, FILE *out) {
    char text[1024];
    snprintf(text, sizeof text, "%s%s%s%s%s%s", row->says, row->preset != NULL ? " (" : "",
             row->preset != NULL ? row->preset : "", row->preset != NULL ? ")" : "",
             all && row->more != NULL ? ". " : "", all && row->more != NULL ? row->more : "");
    wrap_print(out, print_name(row, out), HELP_COLUMN, text);
}

static bool takes(const struct command *command, int option) {
    return (command->options & OPTION_BIT(option)) != 0;
}

static void print_options_short(const struct command *command, FILE *out) {
    int shown = 0, left = 0;
    fputs("Options:\n", out);
    for (int option = 0; option < OPTIONS; option++) {
        if (!takes(command, option))
            continue;
        const struct option_row *row = option_table_row((enum option)option);
        if (shown++ < OPTIONS_SHORT)
            wrap_print(out, print_name(row, out), HELP_COLUMN, row->says);
        else
            left++;
    }
    fprintf(out, "  %-*s", HELP_COLUMN - 2, "--help=all");
    if (left > 0)
        fprintf(out, "all options, %d more than these, and what they do\n", left);
    else
        fputs("what they do in full, and the exit status\n", out);
}

void help_print_command(const struct command *command, FILE *out) {
    print_usage(command, out);
    print_examples(command, EXAMPLES_SHORT, out);
    print_options_short(command, out);
}

static void print_files(const struct command *command, FILE *out) {
    if (command->file[0].name == NULL)
        return;
    fputs("Files (--out):\n", out);
    for (int i = 0; i < COMMAND_FILES_MAX && command->file[i].name != NULL; i++)
        wrap_print(out, fprintf(out, "  %-*s", HELP_COLUMN - 2, command->file[i].name), HELP_COLUMN,
                   command->file[i].says);
    fputc('\n', out);
}

void help_print_all(const struct command *command, FILE *out) {
    print_usage(command, out);
    print_examples(command, COMMAND_EXAMPLES_MAX, out);
    wrap_print(out, 0, 0, command->about);
    fputs("\nOptions (a value may also follow an =):\n", out);
    for (int option = 0; option < OPTIONS; option++)
        if (takes(command, option) || (OPTIONS_ALWAYS & OPTION_BIT(option)) != 0)
            print_option(option_table_row((enum option)option), true, out);
    fputc('\n', out);
    print_files(command, out);
    fputs(statuses, out);
}
