/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/loopwright.c - the program: a table of commands, and what all of them share. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <jansson.h>

#include "model/reader/suggest.h"
#include "tools/base/command.h"
#include "tools/base/interrupt.h"
#include "tools/base/status.h"
#include "tools/base/terminal.h"
#include "tools/base/version.h"

static const struct command {
    const char *name, *operand;
    const char *summary; /* one line */
    uint64_t options;
    int (*run)(const struct options *options);
    const char *about; /* the rest of its --help */
} command_row[] = {
    {"run", "SCENARIO", "runs a scenario and prints a summary to read",
     OPTION_BIT(OPTION_OUT) | OPTION_BIT(OPTION_SEED) | OPTION_BIT(OPTION_FOR) |
         OPTION_BIT(OPTION_SET) | OPTION_BIT(OPTION_MOVES) | OPTION_BIT(OPTION_KEEP_EVERY) |
         OPTION_BIT(OPTION_AUDIT) | OPTION_BIT(OPTION_QUIET) | OPTION_BIT(OPTION_JSON),
     run_command,
     "SCENARIO is a file in YAML, or - for standard input. The same scenario with the\n"
     "same seed gives the same results, to the byte, on every machine.\n"
     "\n"
     "Files (--out):\n"
     "  occupancy.csv   what lies on each lane and line, kind by kind, at each sample\n"
     "  lanes.csv       what lies on each lane and line as a whole\n"
     "  levels.csv      what lies in chests and stations, whenever a sample differs\n"
     "  stations.csv    batches and time in each state, running totals\n"
     "  arms.csv        swings, items moved and time in each state, running totals\n"
     "  events.csv      incidents, starved, blocked, congested, jam, deadlock, ...\n"
     "  moves.csv       each pick and place (--moves)\n"
     "  summary.json    the verdict and the numbers of the run\n"
     "  scenario.yaml   the scenario as it was run, changes applied\n"
     "  *.capsule       saved moments: the start, every ten minutes, before\n"
     "                  each jam\n"
     "The directory appears when all of them are complete; a run that is stopped or\n"
     "fails leaves no files and does not change an earlier run.\n"
     "\n"
     "Examples:\n"
     "  loopwright run ring.yaml\n"
     "  loopwright run ring.yaml --out run-1 --for 12h --seed 7\n"
     "  loopwright run ring.yaml --set chests.shelf.capacity=30 --json\n"},
    {"budget", "SCENARIO", "works out what must be carried, and which rules are broken",
     OPTION_BIT(OPTION_SET) | OPTION_BIT(OPTION_QUIET) | OPTION_BIT(OPTION_JSON), budget_command,
     "Nothing is run. Demand is traced back through the recipes. The result is what\n"
     "each lane, arm and station must carry against what it can, the greatest rate of\n"
     "each product and what limits it, which of eight rules of the trade are broken\n"
     "and what would mend them, and which lanes are proven never to fill.\n"
     "The status is 1 if a rule is broken or demand cannot be met.\n"
     "\n"
     "Examples:\n"
     "  loopwright budget ring.yaml\n"
     "  loopwright budget ring.yaml --set arms.feeder.hand=2 --json\n"},
    {"replay", "CAPSULE|DIR", "runs a stretch again exactly, from a saved moment",
     OPTION_BIT(OPTION_FROM_TIME) | OPTION_BIT(OPTION_FOR) | OPTION_BIT(OPTION_UNTIL) |
         OPTION_BIT(OPTION_OUT) | OPTION_BIT(OPTION_MOVES) | OPTION_BIT(OPTION_KEEP_EVERY) |
         OPTION_BIT(OPTION_SHOW) | OPTION_BIT(OPTION_SET) | OPTION_BIT(OPTION_SEED) |
         OPTION_BIT(OPTION_QUIET) | OPTION_BIT(OPTION_JSON),
     replay_command,
     "CAPSULE is a file that a run has kept, DIR the directory of a run. Given DIR, it\n"
     "starts from the last capsule before --from; without --from, from the one before\n"
     "the first jam or, if there was none, from the start. Rows of the tables begin at\n"
     "--from; totals and the summary are those of the whole run. With --set or --seed\n"
     "the run goes on differently; the parts of the workshop must stay the same.\n"
     "\n"
     "Examples:\n"
     "  loopwright replay run-1 --show\n"
     "  loopwright replay run-1 --from 1:29:30 --for 60 --out look --moves\n"
     "  loopwright replay run-1/at-600.capsule --set arms.feeder.gate.below=12\n"},
    {"cause", "DIR|CAPSULE", "says why a run jammed or starved, and what prevents it",
     OPTION_BIT(OPTION_AT) | OPTION_BIT(OPTION_EVENT) | OPTION_BIT(OPTION_DOT) |
         OPTION_BIT(OPTION_WRITE) | OPTION_BIT(OPTION_PROVE) | OPTION_BIT(OPTION_QUIET) |
         OPTION_BIT(OPTION_JSON),
     cause_command,
     "DIR is the directory of a run, CAPSULE a saved moment of a run, from which on\n"
     "things are explained. The scenario is run again. The answer is who waited for\n"
     "whom, since when, what let it happen, the last moment at which stopping the\n"
     "feeders could still have prevented it, and which changes would have prevented\n"
     "it. Each was tried by running again with it, and what helped was run on for a\n"
     "night (--prove) before it is called a cure.\n"
     "Without --event or --at it explains each jam, deadlock and clog, and each\n"
     "starvation that lasted. The status is 0 when there is an answer.\n"
     "\n"
     "Examples:\n"
     "  loopwright run ring.yaml --out run-1; loopwright cause run-1\n"
     "  loopwright cause run-1 --event 12 --json\n"
     "  loopwright cause run-1 --write mended.yaml --dot waits.dot\n"},
    {"drain", "SCENARIO", "stops the demands; says if and when the loops run empty",
     OPTION_BIT(OPTION_AFTER) | OPTION_BIT(OPTION_WITHIN) | OPTION_BIT(OPTION_SUPPLIES_TOO) |
         OPTION_BIT(OPTION_RESTART) | OPTION_BIT(OPTION_RUNS) | OPTION_BIT(OPTION_FLOOD) |
         OPTION_BIT(OPTION_FLOOD_UNTIL_IT_FAILS) | OPTION_BIT(OPTION_OUT) |
         OPTION_BIT(OPTION_SEED) | OPTION_BIT(OPTION_SET) | OPTION_BIT(OPTION_JOBS) |
         OPTION_BIT(OPTION_QUIET) | OPTION_BIT(OPTION_JSON),
     drain_command,
     "It runs the scenario up to --after, stops all demands, and runs on until nothing\n"
     "moves and no delivery or repair is still to come. The scenario is drained if\n"
     "every loop is empty then. If not, it says what is left, where, and why it cannot\n"
     "leave. With --out, the run itself is written too, with drain.json, and\n"
     "`loopwright cause DIR` explains it.\n"
     "\n"
     "Examples:\n"
     "  loopwright drain ring.yaml\n"
     "  loopwright drain ring.yaml --after 20min --supplies-too --restart\n"
     "  loopwright drain ring.yaml --flood 0.8 --out flooded\n"
     "  loopwright drain ring.yaml --runs 50 --json\n"},
    {"soak", "SCENARIO", "runs many seeds for long times, and says how often it jams",
     OPTION_BIT(OPTION_RUNS) | OPTION_BIT(OPTION_FOR) | OPTION_BIT(OPTION_SEED) |
         OPTION_BIT(OPTION_SET) | OPTION_BIT(OPTION_JOBS) | OPTION_BIT(OPTION_OUT) |
         OPTION_BIT(OPTION_RESUME) | OPTION_BIT(OPTION_UNTIL_JAM) | OPTION_BIT(OPTION_DISTURB) |
         OPTION_BIT(OPTION_AGAINST) | OPTION_BIT(OPTION_AGAINST_SET) | OPTION_BIT(OPTION_KEEP) |
         OPTION_BIT(OPTION_PLAN) | OPTION_BIT(OPTION_SHARDS) | OPTION_BIT(OPTION_FROM_PLAN) |
         OPTION_BIT(OPTION_SHARD) | OPTION_BIT(OPTION_QUIET) | OPTION_BIT(OPTION_JSON),
     soak_command,
     "Run k has the seed of the scenario plus k. Its result depends on nothing else:\n"
     "not on --jobs, nor on how often the soak was stopped and resumed.\n"
     "\n"
     "Files (--out):\n"
     "  runs.csv        a row for each run\n"
     "  soak.json       probability of a jam and of being stuck at the end, time to the\n"
     "                  first jam, throughput, items at work, occupied shares, each with\n"
     "                  its 95 % interval; with --disturb, how long it takes to recover\n"
     "  jam-K.capsule   for `cause` and `replay`: from before the first jam of run K,\n"
     "  jam-K-events.csv  and what happened up to it; of the first 20 runs that jam\n"
     "\n"
     "Examples:\n"
     "  loopwright soak ring.yaml --runs 200 --for 12h --out night\n"
     "  loopwright soak ring.yaml --runs 200 --for 12h --out night --resume\n"
     "  loopwright soak ring.yaml --disturb --for 12h --runs 20 --out rough\n"
     "  loopwright soak ring.yaml --against longer-ring.yaml --for 12h\n"
     "  loopwright soak ring.yaml --against-set arms.feeder.swing=1s --for 12h\n"
     "  loopwright soak ring.yaml --for 12h --runs 1000 --plan night --shards 16\n"
     "  loopwright soak --from night --shard 3\n"},
    {"merge", "DIR", "puts the shards of a soak together",
     OPTION_BIT(OPTION_OUT) | OPTION_BIT(OPTION_QUIET) | OPTION_BIT(OPTION_JSON), merge_command,
     "DIR is the directory of the plan. runs.csv, soak.json and the capsules are\n"
     "written there, or into --out: the same bytes as those of a soak in one piece.\n"},
};
enum { COMMANDS = sizeof command_row / sizeof *command_row };

static const char statuses[] =
    "Exit status:\n"
    "  0  done, and it holds           3  the scenario is wrong\n"
    "  1  done, and it does not hold   4  a file could not be read or written\n"
    "  2  the command line is wrong    5  a bug     128+n  stopped by signal n\n";

static void print_help(FILE *out) {
    fputs("Usage: loopwright COMMAND [OPTION ...]\n"
          "Works out on a model how a conveyor loop with many kinds of parts will run: what\n"
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
    fputs("\nOptions (a value may also follow an =):\n", out);
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
    struct suggestion nearest = suggest_start(name);
    for (int i = 0; i < COMMANDS; i++)
        suggest_look(&nearest, command_row[i].name);
    fprintf(stderr, "loopwright: unknown command `%s`\n", name);
    if (suggest_word(&nearest) != NULL)
        fprintf(stderr, "    help: did you mean `%s`?\n", suggest_word(&nearest));
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

/* What GSL finds wrong it also returns, and that is looked at where it is called; but a vector for
 * which there is no memory would be NULL. */
static void gsl_failed(const char *reason, const char *file, int line, int error) {
    (void)reason, (void)file, (void)line;
    if (error == GSL_ENOMEM)
        require_no_memory("GSL");
}

/* jansson leaves out a key for which it has no memory, and does not say so. */
static void *json_memory(size_t bytes) { return require_memory(bytes, 1); }

int main(int count, char **word) {
    terminal_guard();
    setvbuf(stdout, NULL, _IOFBF, OUTPUT_BUFFER_BYTES); /* written when all is done */
    gsl_set_error_handler(gsl_failed);
    json_set_alloc_funcs(json_memory, free);
    interrupt_watch();
    return finish_output(dispatch(count, word));
}
