/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/command_table.c - the rows, in the order in which lists show them. */
#include "tools/base/command_table.h"

#include <stddef.h>
#include <string.h>

#include "sim/require.h"
#include "tools/base/command.h"

#define BIT(option) OPTION_BIT(OPTION_##option)

static const struct command command_row[] = {
    {.name = "run",
     .operand = "SCENARIO",
     .kind = WORD_SCENARIO,
     .summary = "runs a scenario and prints a summary to read",
     .about = "SCENARIO is a file in YAML, or - for standard input. The same scenario with the "
              "same seed gives the same results, to the byte, on every machine.\n\n"
              "The directory of --out appears when all its files are complete; a run that is "
              "stopped or fails leaves no files and does not change an earlier run.",
     .options = BIT(OUT) | BIT(SEED) | BIT(FOR) | BIT(SET) | BIT(MOVES) | BIT(KEEP_EVERY) |
                BIT(VCD) | BIT(FORCE) | BIT(WATCH) | BIT(PACE) | BIT(AUDIT) | BIT(QUIET) |
                BIT(JSON),
     .example = {"loopwright run ring.yaml",
                 "loopwright run ring.yaml --out run-1 --for 12h --seed 7",
                 "loopwright run ring.yaml --set chests.shelf.capacity=30 --json"},
     .file = {{"occupancy.csv", "what lies on each lane and line, kind by kind, at each sample"},
              {"lanes.csv", "what lies on each lane and line as a whole"},
              {"levels.csv", "what lies in chests and stations, whenever a sample differs"},
              {"stations.csv", "batches and time in each state, running totals"},
              {"arms.csv", "swings, items moved and time in each state, running totals"},
              {"events.csv", "incidents, starved, blocked, congested, jam, deadlock, ..."},
              {"moves.csv", "each pick and place (--moves)"},
              {"summary.json", "the verdict and the numbers of the run"},
              {"scenario.yaml", "the scenario as it was run, changes applied"},
              {"*.capsule", "saved moments: the start, every ten minutes, before each jam"}},
     .run = run_command},
    {.name = "budget",
     .operand = "SCENARIO",
     .kind = WORD_SCENARIO,
     .summary = "works out what must be carried, and which rules are broken",
     .about = "Nothing is run. Demand is traced back through the recipes. The result is what each "
              "lane, arm and station must carry against what it can, the greatest rate of each "
              "product and what limits it, which of eight rules of the trade are broken and what "
              "would mend them, and which lanes are proven never to fill. The status is 1 if a "
              "rule is broken or demand cannot be met.",
     .options = BIT(SET) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright budget ring.yaml",
                 "loopwright budget ring.yaml --set arms.feeder.hand=2 --json"},
     .run = budget_command},
    {.name = "replay",
     .operand = "CAPSULE|DIR",
     .kind = WORD_RUN,
     .summary = "runs a stretch again exactly, from a saved moment",
     .about = "CAPSULE is a file that a run has kept, DIR the directory of a run. Given DIR, it "
              "starts from the last capsule before --from; without --from, from the one before the "
              "first jam or, if there was none, from the start. Rows of the tables begin at "
              "--from; totals and the summary are those of the whole run. With --set or --seed the "
              "run goes on differently; the parts of the workshop must stay the same.",
     .options = BIT(FROM_TIME) | BIT(FOR) | BIT(UNTIL) | BIT(OUT) | BIT(MOVES) | BIT(KEEP_EVERY) |
                BIT(SHOW) | BIT(SET) | BIT(SEED) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright replay run-1 --show",
                 "loopwright replay run-1 --from 1:29:30 --for 60 --out look --moves",
                 "loopwright replay run-1/at-600.capsule --set arms.feeder.gate.below=12"},
     .run = replay_command},
    {.name = "cause",
     .operand = "DIR|CAPSULE",
     .kind = WORD_RUN,
     .summary = "says why a run jammed or starved, and what prevents it",
     .about = "DIR is the directory of a run, CAPSULE a saved moment of a run, from which on "
              "things are explained. The scenario is run again. The answer is who waited for whom, "
              "since when, what let it happen, the last moment at which stopping the feeders could "
              "still have prevented it, and which changes would have prevented it. Each was tried "
              "by running again with it, and what helped was run on for a night (--prove) before "
              "it is called a cure.\n\n"
              "Without --event or --at it explains each jam, deadlock and clog, and each "
              "starvation that lasted. The status is 0 when there is an answer.",
     .options = BIT(AT) | BIT(EVENT) | BIT(DOT) | BIT(WRITE) | BIT(FORCE) | BIT(PROVE) |
                BIT(QUIET) | BIT(JSON),
     .example = {"loopwright run ring.yaml --out run-1; loopwright cause run-1",
                 "loopwright cause run-1 --event 12 --json",
                 "loopwright cause run-1 --write mended.yaml --dot waits.dot"},
     .run = cause_command},
    {.name = "drain",
     .operand = "SCENARIO",
     .kind = WORD_SCENARIO,
     .summary = "stops the demands; says if and when the loops run empty",
     .about = "It runs the scenario up to --after, stops all demands, and runs on until nothing "
              "moves and no delivery or repair is still to come. The scenario is drained if every "
              "loop is empty then. If not, it says what is left, where, and why it cannot leave. "
              "With --out, the run itself is written too, with drain.json, and `loopwright cause "
              "DIR` explains it.",
     .options = BIT(AFTER) | BIT(WITHIN) | BIT(SUPPLIES_TOO) | BIT(RESTART) | BIT(RUNS) |
                BIT(FLOOD) | BIT(FLOOD_UNTIL_IT_FAILS) | BIT(OUT) | BIT(SEED) | BIT(SET) |
                BIT(JOBS) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright drain ring.yaml",
                 "loopwright drain ring.yaml --after 20min --supplies-too --restart",
                 "loopwright drain ring.yaml --flood 0.8 --out flooded",
                 "loopwright drain ring.yaml --runs 50 --json"},
     .run = drain_command},
    {.name = "soak",
     .operand = "SCENARIO",
     .kind = WORD_SCENARIO,
     .summary = "runs many seeds for long times, and says how often it jams",
     .about = "Run k has the seed of the scenario plus k. Its result depends on nothing else: not "
              "on --jobs, nor on how often the soak was stopped and resumed.",
     .options = BIT(RUNS) | BIT(FOR) | BIT(SEED) | BIT(SET) | BIT(JOBS) | BIT(OUT) | BIT(RESUME) |
                BIT(UNTIL_JAM) | BIT(DISTURB) | BIT(AGAINST) | BIT(AGAINST_SET) | BIT(KEEP) |
                BIT(PLAN) | BIT(SHARDS) | BIT(FROM_PLAN) | BIT(SHARD) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright soak ring.yaml --runs 200 --for 12h --out night",
                 "loopwright soak ring.yaml --runs 200 --for 12h --out night --resume",
                 "loopwright soak ring.yaml --disturb --for 12h --runs 20 --out rough",
                 "loopwright soak ring.yaml --against longer-ring.yaml --for 12h",
                 "loopwright soak ring.yaml --against-set arms.feeder.swing=1s --for 12h",
                 "loopwright soak ring.yaml --for 12h --runs 1000 --plan night --shards 16",
                 "loopwright soak --from night --shard 3"},
     .file = {{"runs.csv", "a row for each run"},
              {"soak.json",
               "probability of a jam and of being stuck at the end, time to the first jam, "
               "throughput, items at work, occupied shares, each with its 95 % interval; with "
               "--disturb, how long it takes to recover"},
              {"jam-K.capsule",
               "for `cause` and `replay`: from before the first jam of run K, of the first 20 runs "
               "that jam"},
              {"jam-K-events.csv", "what happened up to it"}},
     .run = soak_command},
    {.name = "merge",
     .operand = "DIR",
     .kind = WORD_DIRECTORY,
     .summary = "puts the shards of a soak together",
     .about = "DIR is the directory of the plan. runs.csv, soak.json and the capsules are written "
              "there, or into --out: the same bytes as those of a soak in one piece.",
     .options = BIT(OUT) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright merge night"},
     .run = merge_command},
    {.name = "report",
     .operand = "DIR",
     .kind = WORD_DIRECTORY,
     .summary = "makes one HTML file: the workshop in motion, charts, cause",
     .about =
         "DIR is the directory of a run, a replay, a drain, a soak or a sweep. The run is run "
         "again, so that every move can be shown whether DIR has a moves.csv or not. The page "
         "needs no network and no other file. Of a long run it shows in full the start, the end "
         "and what lies around events, and samples of the rest; of a soak the runs that failed, of "
         "a sweep lines or maps.",
     .options = BIT(OUT_PAGE) | BIT(FORCE) | BIT(PROVE) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright report run-1", "loopwright report night --out night.html"},
     .run = report_command},
    {.name = "design",
     .operand = "FILE",
     .kind = WORD_SCENARIO,
     .summary = "completes what is left open, and proves it by running",
     .about = "FILE is a brief: items, recipes, supplies, demands, and what may be used; or a "
              "scenario in which numbers are written `find`. What is written has a reason beside "
              "each number and has come through nights, a drain, a restart, a heap on each lane "
              "and disturbed nights. Where nothing does, the status is 1 and a sentence says what "
              "stands in the way. The sheet of parts and trials goes to standard error, with "
              "--json to standard output.",
     .options = BIT(OUT_FILE) | BIT(SEED) | BIT(SET) | BIT(TUNE) | BIT(TIGHTEN) | BIT(FOR_DEMAND) |
                BIT(NO_TOLERANCES) | BIT(FORCE) | BIT(JOBS) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright design brief.yaml --out ring.yaml",
                 "loopwright design ring.yaml --tighten --out tight.yaml",
                 "loopwright design ring.yaml --tune arms.feeder.gate.below",
                 "loopwright design ring.yaml --for-demand clock=14 --json"},
     .run = design_command},
    {.name = "sweep",
     .operand = "SCENARIO",
     .kind = WORD_SCENARIO,
     .summary = "runs all combinations of some values",
     .about =
         "Each combination is run with the same seeds, so that they differ by their values and "
         "not by their luck. The table marks the best: the one with the fewest runs that end "
         "stuck, then the fewest jams, then the one that meets most of its demand, then the one "
         "that makes most. The status is 0 when all is done.",
     .options = BIT(OVER) | BIT(RUNS) | BIT(FOR) | BIT(SEED) | BIT(SET) | BIT(JOBS) | BIT(OUT) |
                BIT(RESUME) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright sweep ring.yaml --over arms.feeder.gate.below=2,4,8,16",
                 "loopwright sweep ring.yaml --over loops.ring.rate=4,6 --out rates"},
     .file = {{"sweep.csv", "a row for each combination"},
              {"sweep.results", "all results, for --resume"},
              {"scenario.yaml", "the scenario that was changed"}},
     .run = sweep_command},
    {.name = "new",
     .operand = "NAME",
     .kind = WORD_FILE,
     .summary = "writes a scenario to start from",
     .about = "NAME is the file that is written; one that is there already is left as it is, with "
              "status 4. It is a small loop with comments, with --brief what `design` can make a "
              "loop of, with --from one of the examples that come with the program.",
     .options = BIT(BRIEF) | BIT(FROM_KIND) | BIT(QUIET),
     .example = {"loopwright new ring.yaml; loopwright run ring.yaml",
                 "loopwright new wanted.yaml --brief; loopwright design wanted.yaml",
                 "loopwright new jam.yaml --from surplus-jam"},
     .run = new_command},
    {.name = "check",
     .operand = "SCENARIO",
     .kind = WORD_SCENARIO,
     .summary = "reads and checks a scenario, and runs nothing",
     .about = "All errors and warnings are listed, each with its file, line and column. A brief, "
              "or a scenario that leaves numbers to `design`, is checked as well. The status is 3 "
              "when there is an error, else 0.",
     .options = BIT(SET) | BIT(QUIET) | BIT(JSON),
     .example = {"loopwright check ring.yaml", "loopwright check ring.yaml --json"},
     .run = check_command},
    {.name = "help",
     .operand = "[COMMAND]",
     .kind = WORD_COMMAND,
     .summary = "says how a command is used",
     .about = "It prints what COMMAND --help=all prints; without COMMAND, what the program is for "
              "and which commands it has.",
     .example = {"loopwright help soak"},
     .aside = true,
     .run = help_command},
    {.name = "schema",
     .summary = "prints the JSON Schema of scenarios, for editors",
     .about = "It is a schema by draft-07 of JSON Schema, with all keys, their meaning, their "
              "ranges and defaults. An editor that reads such schemas completes keys, explains "
              "them, and marks what is wrong while you type. Many find the schema by a first line "
              "of the scenario: \"# yaml-language-server: $schema=scenario.schema.json\", with the "
              "path as seen from the scenario.",
     .example = {"loopwright schema >scenario.schema.json"},
     .aside = true,
     .run = schema_command},
    {.name = "columns",
     .summary = "prints what the columns of all tables mean, as JSON",
     .about = "For each CSV file it gives, of each column, name, type (string, integer, number), "
              "unit, whether a field may be empty, and meaning.",
     .example = {"loopwright columns >columns.json"},
     .aside = true,
     .run = columns_command},
    {.name = "manual",
     .operand = "[PAGE]",
     .kind = WORD_COMMAND,
     .summary = "prints a manual page, for man",
     .about = "PAGE is the name of a command, or \"scenario\" for what a scenario may contain; "
              "without it, the page of the program is printed. They are written in mdoc, as man "
              "reads it.",
     .example = {"loopwright manual run | man -l -", "loopwright manual scenario | man -l -"},
     .aside = true,
     .run = manual_command},
    {.name = "completion",
     .operand = "SHELL",
     .kind = WORD_SHELL,
     .summary = "prints what bash or zsh needs to complete command lines",
     .about = "SHELL is bash or zsh. Commands, options and files are completed, and after --set "
              "the parts and keys of the scenario that stands on the line.",
     .example = {"source <(loopwright completion bash)",
                 "loopwright completion zsh >~/.zfunc/_loopwright"},
     .aside = true,
     .run = completion_command},
    {.name = "paths",
     .operand = "SCENARIO",
     .kind = WORD_SCENARIO,
     .summary = "lists what --set can change in a scenario",
     .about = "It prints a line for each path that --set takes: each key of each part, whether "
              "the scenario gives it or not, with the words that it may be, where it is a choice.",
     .options = BIT(SET),
     .example = {"loopwright paths ring.yaml", "loopwright paths ring.yaml | grep gate"},
     .aside = true,
     .run = paths_command},
};

int command_table_count(void) { return sizeof command_row / sizeof *command_row; }

const struct command *command_table_row(int index) {
    require(index >= 0 && index < command_table_count());
    return &command_row[index];
}

const struct command *command_table_named(const char *name) {
    for (int i = 0; i < command_table_count(); i++)
        if (strcmp(command_row[i].name, name) == 0)
            return &command_row[i];
    return NULL;
}
