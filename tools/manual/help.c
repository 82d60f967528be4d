/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/help.c - lists the tables of commands and options. */
#include "tools/manual/help.h"

#include <stdbool.h>
#include <string.h>

#include "model/reader/suggest.h"
#include "tools/base/status.h"
#include "tools/manual/wrap.h"

enum { HELP_COLUMN = 22, EXAMPLES_SHORT = 4, OPTIONS_SHORT = 12 };

static const char statuses[] =
    "Exit status:\n"
    "  0  done, and it holds           3  the scenario is wrong\n"
    "  1  done, and it does not hold   4  a file could not be read or written\n"
    "  2  the command line is wrong    5  a bug     128+n  stopped by signal n\n";

/* A command and its operand, in the same column for all. */
static void print_command(const struct command *command, FILE *out) {
    const char *operand = command->operand != NULL ? command->operand : "";
    int room = HELP_COLUMN - 4 - (int)strlen(command->name);
    fprintf(out, "  %s %-*s %s\n", command->name, room, operand, command->summary);
}

static void print_commands_aside(FILE *out) {
    const char *before = "Beside these: ";
    for (int i = 0; i < command_table_count(); i++) {
        if (command_table_row(i)->aside) {
            fprintf(out, "%s%s", before, command_table_row(i)->name);
            before = ", ";
        }
    }
    fputs(".\n", out);
}

void help_print(FILE *out) {
    fputs("Usage: loopwright COMMAND [OPTION ...]\n"
          "Works out on a model how a loop conveyor will run: what it carries, why it jams.\n\n"
          "Examples:\n"
          "  loopwright run ring.yaml --out run-1     what happens, and tables of it\n"
          "  loopwright cause run-1                   why it jammed, and what prevents it\n"
          "  loopwright soak ring.yaml --for 12h      how often it jams in a hundred nights\n\n"
          "Commands:\n",
          out);
    for (int i = 0; i < command_table_count(); i++)
        if (!command_table_row(i)->aside)
            print_command(command_table_row(i), out);
    print_commands_aside(out);
    fputs("loopwright COMMAND --help says more about each.\n", out);
}

int help_unknown(const char *name) {
    struct suggestion nearest = suggest_start(name);
    for (int i = 0; i < command_table_count(); i++)
        suggest_look(&nearest, command_table_row(i)->name);
    suggest_look(&nearest, option_table_row(OPTION_HELP)->name);
    suggest_look(&nearest, option_table_row(OPTION_VERSION)->name);
    fprintf(stderr, "loopwright: unknown command `%s`\n", name);
    if (suggest_word(&nearest) != NULL)
        fprintf(stderr, "    help: did you mean `%s`?\n", suggest_word(&nearest));
    else
        fputs("    help: loopwright --help\n", stderr);
    return STATUS_USAGE;
}

static void print_usage(const struct command *command, FILE *out) {
    fprintf(out, "Usage: loopwright %s%s%s [OPTION ...]\nThis %s.\n\n", command->name,
            command->operand != NULL ? " " : "", command->operand != NULL ? command->operand : "",
            command->summary);
}

static void print_examples(const struct command *command, int most, FILE *out) {
    fputs("Examples:\n", out);
    for (int i = 0; i < most && command->example[i] != NULL; i++)
        fprintf(out, "  %s\n", command->example[i]);
    fputc('\n', out);
}

/* The name of an option and its value, up to the column of the texts. */
static int print_name(const struct option_row *row, FILE *out) {
    int used = fprintf(out, "  %s", row->name);
    if (row->letter != '\0')
        used += fprintf(out, ", -%c", row->letter);
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
