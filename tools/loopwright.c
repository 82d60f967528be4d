/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/loopwright.c - the program: a table of commands, and what all of them share. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>

#include "model/nearest.h"
#include "tools/command.h"
#include "tools/interrupt.h"
#include "tools/status.h"
#include "tools/version.h"

static const struct command {
    const char *name, *operand;
    const char *summary; /* one line */
    uint32_t options;
    int (*run)(const struct options *options);
    const char *about; /* the rest of its --help */
} command_row[] = {
    {"run", "SCENARIO", "runs a scenario and prints a summary to read",
     OPTION_BIT(OPTION_OUT) | OPTION_BIT(OPTION_SEED) | OPTION_BIT(OPTION_FOR) |
         OPTION_BIT(OPTION_SET) | OPTION_BIT(OPTION_MOVES) | OPTION_BIT(OPTION_QUIET) |
         OPTION_BIT(OPTION_JSON),
     run_command,
     "SCENARIO is a file in YAML, or - for standard input. The same scenario with the\n"
     "same seed gives the same results, to the byte, on every machine.\n"
     "\n"
     "Files (--out):\n"
     "  occupancy.csv   what lies on each lane and line, at each sample\n"
     "  levels.csv      what lies in chests and stations, whenever a sample differs\n"
     "  stations.csv    batches and time in each state, running totals\n"
     "  arms.csv        swings, items moved and time in each state, running totals\n"
     "  events.csv      incidents, starved, blocked, congested, jam, deadlock, ...\n"
     "  moves.csv       each pick and place (--moves)\n"
     "  summary.json    the verdict and the numbers of the run\n"
     "  scenario.yaml   the scenario as it was run, changes applied\n"
     "The directory appears when all of them are complete; a run that is stopped or\n"
     "fails leaves nothing, and an earlier run as it was.\n"
     "\n"
     "Examples:\n"
     "  loopwright run ring.yaml\n"
     "  loopwright run ring.yaml --out run-1 --for 12h --seed 7\n"
     "  loopwright run ring.yaml --set chests.shelf.capacity=30 --json\n"},
};
enum { COMMANDS = sizeof command_row / sizeof *command_row };

static const char statuses[] =
    "Exit status:\n"
    "  0  done, and it holds           3  the scenario is wrong\n"
    "  1  done, and it does not hold   4  a file could not be read or written\n"
    "  2  the command line is wrong    5  a bug     128+n  stopped by signal n\n";

static void print_help(FILE *out) {
    fputs("Usage: loopwright COMMAND [OPTION ...]\n"
          "Works out on a model how a loop of belt with many kinds of parts will run: what\n"
          "it carries, where it starves, why it jams.\n\nCommands:\n",
          out);
    for (int i = 0; i < COMMANDS; i++)
        fprintf(out, "  %s %-*s %s\n", command_row[i].name, 18 - (int)strlen(command_row[i].name),
                command_row[i].operand, command_row[i].summary);
    fputs("\nloopwright COMMAND --help says more about each; loopwright --version says which\n"
          "version this is.\n\n",
          out);
    fputs(statuses, out);
}

static void print_command_help(const struct command *command, FILE *out) {
    fprintf(out, "Usage: loopwright %s %s [OPTION ...]\nThis %s.\n\n", command->name,
            command->operand, command->summary);
    fputs(command->about, out);
    fputs("\nOptions (a value may also stand behind =):\n", out);
    options_print(command->options, out);
    fputc('\n', out);
    fputs(statuses, out);
}

static void print_version(void) { puts("loopwright " LOOPWRIGHT_VERSION); }

static const struct command *command_named(const char *name) {
    for (int i = 0; i < COMMANDS; i++)
        if (strcmp(command_row[i].name, name) == 0)
            return &command_row[i];
    return NULL;
}

static int unknown_command(const char *name) {
    struct nearest nearest = nearest_start(name);
    for (int i = 0; i < COMMANDS; i++)
        nearest_look(&nearest, command_row[i].name);
    fprintf(stderr, "loopwright: unknown command `%s`\n", name);
    if (nearest_word(&nearest) != NULL)
        fprintf(stderr, "    help: did you mean `%s`?\n", nearest_word(&nearest));
    else
        fputs("    help: loopwright --help\n", stderr);
    return STATUS_USAGE;
}

static int run_words(const struct command *command, int count, char *const *word) {
    struct options options;
    if (!options_read(&options, command->name, command->operand, command->options, count, word))
        return STATUS_USAGE;
    int status = STATUS_HOLDS;
    if (options.given[OPTION_HELP])
        print_command_help(command, stdout);
    else if (options.given[OPTION_VERSION])
        print_version();
    else
        status = command->run(&options);
    options_free(&options);
    return status;
}

static int dispatch(int count, char *const *word) {
    if (count < 2) {
        print_help(stderr);
        return STATUS_USAGE;
    }
    if (strcmp(word[1], "--help") == 0)
        print_help(stdout);
    else if (strcmp(word[1], "--version") == 0)
        print_version();
    else if (command_named(word[1]) == NULL)
        return unknown_command(word[1]);
    else
        return run_words(command_named(word[1]), count - 2, word + 2);
    return STATUS_HOLDS;
}

/* What was printed must have arrived, unless the reader has seen enough and gone. */
static int finish_output(int status) {
    bool failed = fflush(stdout) != 0 || ferror(stdout);
    if (!failed || errno == EPIPE)
        return status;
    fprintf(stderr, "loopwright: standard output: %s\n", strerror(errno != 0 ? errno : EIO));
    return STATUS_FILE;
}

enum { OUTPUT_BUFFER_BYTES = 1 << 16 };

int main(int count, char **word) {
    setvbuf(stdout, NULL, _IOFBF, OUTPUT_BUFFER_BYTES); /* written when all is done */
    gsl_set_error_handler_off();
    interrupt_watch();
    return finish_output(dispatch(count, word));
}
