#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# bench.sh PROGRAMS LOOPWRIGHT - measures what a move costs and prints it beside the goals; some
# minutes. PROGRAMS is the directory of probe and probe-whole.
#
# Instructions and events are counted by callgrind and come out the same each time; times are of the
# processor, the best of three runs, and depend on the machine and on what else it does.
programs=$1 loopwright=$2
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
. "$(dirname "$0")/measure.sh"

# row WHAT GOAL FLOOR FOUND: a line of the table; "-": there is no goal.
row() {
    verdict=$(awk -v goal="$2" -v floor="$3" -v found="$4" 'BEGIN {
        if (goal != "-")
            print found + 0 <= goal ? "goal" : found + 0 <= floor ? "floor" : "MISSED" }')
    printf '%-58s %8s %8s %12s  %s\n' "$1" "$2" "$3" "$4" "$verdict"
}
note() { printf '\n%s\n' "$*"; }

# best_ns OPTION...: nanoseconds a move.
best_ns() {
    for i in 1 2 3; do
        probe moves "$@"
        value ns_a_move
    done | sort -n | head -n 1
}
per() { ratio "$1" "$2" "${3:-2}"; }
minus() { awk -v a="$1" -v b="$2" 'BEGIN { print a - b }'; }

printf '%-58s %8s %8s %12s\n' 'restless: staggered, feeders swing 1.25 s' 'goal' 'floor' 'found'

note 'Instructions a move'
row '1 sector, 1 h' - - "$(instructions_a_move --sectors 1 $restless)"
row '8 sectors, 1 h' 550 1000 "$(instructions_a_move --sectors 8 $restless)"
few=$(instructions_a_move --sectors 8 --for 10min $restless)
row '8 sectors, 10 min' - - "$few"
row '64 sectors, 10 min' - - "$(instructions_a_move --sectors 64 --for 10min $restless)"
many=$(instructions_a_move --sectors 512 --for 10min $restless)
row '512 sectors, 10 min' 550 1000 "$many"
row 'growth: 512 sectors / 8' 1.05 1.2 "$(per "$many" "$few" 3)"
row 'growth: 6000 cells a sector / 60' 1.05 1.1 \
    "$(per "$(instructions_a_move --sectors 8 --for 10min --cells 6000 $restless)" "$few" 3)"
row 'growth: 10000 ticks a second / 100' 1.05 1.2 \
    "$(per "$(instructions_a_move --sectors 8 --for 10min --ticks-per-second 10000 $restless)" \
        "$few" 3)"

note 'Instructions a move in `run`, in the steady state'
row '1 sector' - - "$(run_instructions_a_move 60min 120min --sectors 1 $restless)"
row '8 sectors' 400 470 "$(run_instructions_a_move 60min 70min --sectors 8 $restless)"
row '64 sectors' 400 470 "$(run_instructions_a_move 10min 14min --sectors 64 $restless)"
row '8 sectors, 7 of them at rest' - - \
    "$(run_instructions_a_move 60min 120min --sectors 8 --busy 1 $restless)"

note 'Nanoseconds a move'
row '1 sector, 1 h' - - "$(best_ns --sectors 1 $restless)"
few=$(best_ns --sectors 8 --for 10min $restless)
row '8 sectors, 10 min' - - "$few"
row '64 sectors, 10 min' - - "$(best_ns --sectors 64 --for 10min $restless)"
many=$(best_ns --sectors 512 --for 10min $restless)
row '512 sectors, 10 min' - - "$many"
row 'growth: 512 sectors / 8' 1.3 2 "$(per "$many" "$few")"
probe engines --sectors 1 $restless
row 'times as fast as the literal engine, 1 sector, 1 h' - - "$(value times_as_fast)"
probe engines --sectors 8 --for 10min $restless
row 'times as fast as the literal engine, 8 sectors, 10 min' - - "$(value times_as_fast)"

# times_as_slow OPTION...: as the engine that knows this workshop only; the median of nine pairs.
times_as_slow() {
    for pair in 1 2 3 4 5 6 7 8 9; do
        probe hand "$@" $restless
        value times_as_slow
    done | sort -n | sed -n 5p
}
note 'Times the time of an engine written by hand for this workshop alone'
row '1 sector, 2 h' 2 2.5 "$(times_as_slow --sectors 1 --for 2h)"
row '8 sectors, 1 h' 2 2.5 "$(times_as_slow --sectors 8)"
row '64 sectors, 10 min' 2 2.5 "$(times_as_slow --sectors 64 --for 10min)"
row '512 sectors, 10 min' 2.5 3.5 "$(times_as_slow --sectors 512 --for 10min)"

# arm_acts: how often arms acted: by the table of acts, as one of them may go on as another does.
arm_acts() { calls_of '^arm_(plain|general)_' '^world_run$'; }
note 'A thousand arms more that wait: events each in 60 steps of the loop (10 min are 4500 steps)'
count_of probe-whole --sectors 1 --for 10min $restless
without=$(arm_acts) base=$(instructions)
count_of probe-whole --sectors 1 --for 10min --idle-at-gate 1000 $restless
row 'before a gate that stays shut' 0.05 1 \
    "$(per "$(minus "$(arm_acts)" "$without")" 75000)"
row '  instructions each in 60 steps' - - "$(per "$(minus "$(instructions)" "$base")" 75000)"
count_of probe-whole --sectors 1 --for 10min --idle-at-lane 1000 $restless
row 'before a full lane' 1.05 1.05 "$(per "$(minus "$(arm_acts)" "$without")" 75000)"
row '  instructions each in 60 steps' - - "$(per "$(minus "$(instructions)" "$base")" 75000)"

note 'Memory'
row 'bytes a sector: the world' 4096 6000 "$(bytes_a_sector world_bytes)"
text=$(bytes_a_sector text_bytes)
row '  the scenario, without texts' 4096 7000 $(($(bytes_a_sector scenario_bytes) - text))
row '  texts: the names, and the file as read' - - "$text"
probe memory --sectors 1 --for '365 d' $restless
row 'bytes more after a year than after four days, 1 sector' 0 0 "$(value growth_bytes)"
row '  resident KiB more' - - "$(value growth_kib)"

note 'Tables: all of them, a sample each second, 1 sector, 1 h; into memory where there is /dev/shm'
[ -w /dev/shm ] && tables=$(mktemp -d /dev/shm/bench.XXXXXX) || tables=$work
trap 'rm -rf "$work" "$tables"' EXIT
probe rows "$tables/run" --sectors 1 --watch 1s $restless
rows=$(cat "$tables"/run/*.csv | wc -l)
row 'nanoseconds a row' 25 50 "$(per "$(minus "$(value with_ns)" "$(value without_ns)")" "$rows" 1)"
row '  share of the time of the run' 0.5 1 \
    "$(per "$(minus "$(value with_ns)" "$(value without_ns)")" "$(value with_ns)")"

row 'instructions a row, with the capsules kept meanwhile' 120 200 "$(row_instructions)"

note 'Reading'
row 'instructions, by those of libyaml alone' 1.2 1.4 "$(reading_ratio)"
for sectors in 1400 2800 5600; do
    probe read --sectors $sectors
    row "$(value bytes) bytes: nanoseconds a byte" - - "$(value ns_a_byte)"
done
"$programs/probe" ring --sectors 512 $restless >"$work/ring.yaml"
began=$(date +%s.%N)
"$loopwright" run "$work/ring.yaml" --quiet
row '512 sectors: read, check, run 1 h, sum up: seconds' - - \
    "$(per "$(minus "$(date +%s.%N)" "$began")" 1)"

# seconds_to_judge SECTORS: of a budget; its status is 1 where a rule is broken.
seconds_to_judge() {
    "$programs/probe" ring --sectors "$1" $restless >"$work/ring.yaml"
    began=$(date +%s.%N)
    "$loopwright" budget "$work/ring.yaml" --json >"$work/said"
    [ $? -le 1 ] || exit 1
    per "$(minus "$(date +%s.%N)" "$began")" 1
}
note 'A budget, seconds'
for sectors in 8 64 256 512; do
    row "$sectors sectors" - - "$(seconds_to_judge $sectors)"
done

note 'A night: a run of twelve hours'
"$programs/probe" ring --sectors 64 $restless >"$work/ring.yaml"
times >"$work/before" # in no pipe: there it would tell of another shell
"$loopwright" run "$work/ring.yaml" --for 12h --quiet >"$work/said"
times >"$work/after"
night=$(cat "$work/before" "$work/after" | awk '
    function seconds(text, part) { split(text, part, /[ms]/); return 60 * part[1] + part[2] }
    NR == 2 { before = seconds($1) + seconds($2) }
    NR == 4 { print seconds($1) + seconds($2) - before }')
row '64 sectors: nights an hour of processor; goal 700, floor 500' - - "$(per 3600 "$night" 0)"

note 'A soak of one sector: runs of twelve hours'
"$programs/probe" ring --sectors 1 $restless >"$work/sector.yaml"
"$(dirname "$0")/jobs.sh" "$loopwright" "$work/sector.yaml" >"$work/said" || exit 1
row 'seconds a run, one job' - - "$(value seconds_a_run)"
row 'two jobs: times the rate of one (1.8 on a quiet machine)' - - "$(value times_the_rate)"
row '  a quarter of the pairs is below' - - "$(value low_quarter)"
row '  a quarter is above' - - "$(value high_quarter)"
row '  times its processor time' - - "$(value times_the_processor_time)"

note 'Where the instructions go: 8 sectors, 10 min, whole functions, each without those it calls'
count_of probe-whole --sectors 8 --for 10min $restless
others='(supply|demand|incident)_act$|_batch$|^watch_check_|^incident_break$'
row 'events a move, arms only' - - "$(per "$(arm_acts)" "$(value moves)")"
row 'events a move, all' - - "$(per "$(($(arm_acts) + $(calls_of "$others")))" "$(value moves)")"
callgrind_annotate "$work/counts" | sed -n '/file:function/,$p' | sed -n '3,27p' | sed 's/ \[.*//'
