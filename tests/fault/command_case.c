/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/fault/command_case.h"

#include <stddef.h>

#define SOAK "soak ring.yaml --runs 3 --jobs 1"
#define PLAN "soak ring.yaml --runs 4 --plan plan --shards 2"
#define SHARD_0 "soak --from plan --shard 0 --jobs 1"
#define SHARD_1 "soak --from plan --shard 1 --jobs 1"
#define RUN "run ring.yaml --out out"

/* One number is looked for, and a design has little to survive. */
#define DESIGN                                                                                     \
    "design ring.yaml --tune arms.comb-feeder.gate.below --no-tolerances --jobs 1 --set "          \
    "may={\"survive\":{\"for\":600,\"seeds\":2,\"drain\":false,\"restart\":false,\"flood\":0,"     \
    "\"disturb\":false}}"
#define SWEEP "sweep ring.yaml --over chests.shelf.capacity=6,9 --runs 2 --jobs 1"

const struct command_case command_case_row[] = {
    {.name = "help", .line = "run --help"},
    {.name = "schema", .line = "schema"},
    {.name = "columns", .line = "columns"},
    {.name = "manual", .line = "manual scenario"},
    {.name = "completion", .line = "completion zsh"},
    {.name = "paths", .line = "paths ring.yaml"},
    {.name = "usage", .line = "run ring.yaml --nonsense"},
    {.name = "mistakes", .line = "run wrong.yaml"},
    {.name = "run", .line = "run -"},
    {.name = "run-json", .line = "run ring.yaml --json --set chests.shelf.capacity=6"},
    {.name = "run-out", .line = RUN " --moves --json --keep-every 40"},
    {.name = "run-vcd",
     .line = "run ring.yaml --vcd dump.vcd",
     .before = {"run ring.yaml --seed 5 --vcd dump.vcd"}},
    {.name = "run-over", .line = RUN " --moves", .before = {RUN " --seed 5"}},
    {.name = "run-long", /* more events than stay in memory */
     .line = RUN " --for 3h --set watch.every=1h --set watch.starved_after=1"},
    {.name = "run-waveforms", .line = "run ring.yaml --vcd waves.vcd"},
    {.name = "budget", .line = "budget ring.yaml"},
    {.name = "budget-json", .line = "budget ring.yaml --json"},
    {.name = "cause",
     .line = "cause out --prove 1min --write mended.yaml --dot waits.dot",
     .before = {RUN, "cause out --prove 1min --write mended.yaml --dot waits.dot"}},
    {.name = "cause-json",
     .line = "cause out/jam-1.capsule --prove 1min --json --write mended.yaml --dot waits.dot",
     .before = {RUN}},
    {.name = "cause-printed", .line = "cause out --prove 1min --write -", .before = {RUN}},
    {.name = "replay-show", .line = "replay out --from 150 --for 10 --show", .before = {RUN}},
    {.name = "replay-out",
     .line = "replay out --from 100 --until 160 --out again --moves --json",
     .before = {RUN, RUN "-2", "replay out --out again"}},
    {.name = "drain", .line = "drain ring.yaml --after 60 --restart --flood 0.5 --json"},
    {.name = "drain-out", .line = "drain ring.yaml --after 60 --out out", .before = {RUN}},
    {.name = "drain-runs", .line = "drain ring.yaml --runs 3 --jobs 1"},
    {.name = "drain-jobs", .line = "drain ring.yaml --runs 3 --jobs 3"},
    {.name = "soak", .line = SOAK " --json"},
    {.name = "soak-out", .line = SOAK " --out night", .again = SOAK " --out night --resume"},
    {.name = "soak-over",
     .line = SOAK " --out night",
     .before = {SOAK " --out night --seed 5"},
     .again = SOAK " --out night --resume"},
    {.name = "soak-resume",
     .line = SOAK " --out night --resume",
     .before = {"~" SOAK " --out night"}},
    {.name = "soak-jobs", .line = "soak ring.yaml --runs 3 --jobs 3 --out night --resume"},
    {.name = "soak-against",
     .line = "soak ring.yaml --runs 2 --jobs 1 --out night --against-set chests.shelf.capacity=9",
     .again = "soak ring.yaml --runs 2 --jobs 1 --out night --against-set chests.shelf.capacity=9 "
              "--resume"},
    {.name = "soak-plan", .line = PLAN, .by_file = true},
    {.name = "soak-shard", .line = SHARD_1, .before = {PLAN, SHARD_0}, .by_file = true},
    {.name = "merge", .line = "merge plan", .before = {PLAN, SHARD_0, SHARD_1}, .by_file = true},
    {.name = "merge-out",
     .line = "merge plan --out night --json",
     .before = {PLAN, SHARD_0, SHARD_1, SOAK " --out night"}},
    {.name = "report", .line = "report out --prove 1min", .before = {RUN " --moves"}},
    {.name = "report-over",
     .line = "report out --prove 1min --out page.html --json",
     .before = {RUN, "report out --prove 30 --out page.html"}},
    {.name = "report-soak",
     .line = "report night --out night.html",
     .before = {SOAK " --out night"}},
    {.name = "check", .line = "check ring.yaml --json"},
    {.name = "new", .line = "new fresh.yaml --brief", .once = true},
    {.name = "design", .line = DESIGN " --json"},
    {.name = "design-out", .line = DESIGN " --out made.yaml"},
    {.name = "design-over",
     .line = DESIGN " --out made.yaml",
     .before = {DESIGN " --set chests.shelf.capacity=9 --out made.yaml"}},
    {.name = "sweep", .line = SWEEP " --json"},
    {.name = "sweep-out", .line = SWEEP " --out rates", .again = SWEEP " --out rates --resume"},
    {.name = "sweep-over",
     .line = SWEEP " --out rates",
     .before = {SWEEP " --out rates --seed 5"},
     .again = SWEEP " --out rates --resume"},
};
const uint32_t command_case_count = sizeof command_case_row / sizeof *command_case_row;
