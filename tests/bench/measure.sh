#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later measure.sh - what bench.sh and guard.sh share; read by
# `.` with $programs (the directory of probe and probe-whole) and $work (a directory of theirs) set.

# Sectors out of step, and feeders that must wait for cells: the case that counts.
restless='--stagger --feeder-swing 1.25'

# probe MODE OPTION...: what the probe says, into $work/said.
probe() {
    "$programs/probe" "$@" >"$work/said" || exit 1
}

# value KEY: one number of it.
value() { awk -v key="$1" '$1 == key { print $2 }' "$work/said"; }

# count_of PROGRAM OPTION...: runs it under callgrind, counting in world_advance alone; what is
# found is kept in $work/counts, what it says in $work/said.
count_of() {
    program=$1
    shift
    valgrind -q --tool=callgrind --callgrind-out-file="$work/counts" \
        --toggle-collect=probe_advance "$programs/$program" moves "$@" >"$work/said" || exit 1
}

# Instructions in the counts of the last run; by how many moves it was; the one by the other.
instructions() { awk '$1 == "totals:" { print $2 }' "$work/counts"; }
instructions_a_move() {
    count_of probe "$@"
    ratio "$(instructions)" "$(value moves)" 1
}

# run_instructions FILE DURATION: those of the program, all of it; what it says is in $work/said.
run_instructions() {
    valgrind -q --tool=callgrind --callgrind-out-file="$work/counts" \
        "$programs/../../loopwright" run "$1" --for "$2" --json >"$work/said" || exit 1
    instructions
}
run_moves() { awk '$1 == "\"moves\":" { print $2 + 0 }' "$work/said"; }

# run_instructions_a_move FROM TO OPTION...: of `run` between two times of the scenario, so that
# what it takes to read it, to fill its shelves and to say what came of it does not count.
run_instructions_a_move() {
    from=$1 to=$2
    shift 2
    probe ring "$@"
    mv "$work/said" "$work/ring.yaml"
    few=$(run_instructions "$work/ring.yaml" "$from") && few_moves=$(run_moves)
    many=$(run_instructions "$work/ring.yaml" "$to") && many_moves=$(run_moves)
    ratio "$((many - few))" "$((many_moves - few_moves))" 1
}

# bytes_a_sector KEY: by how much what the probe calls so grows with a sector.
bytes_a_sector() {
    probe memory --sectors 8 --for 1min $restless
    bytes=$(value "$1")
    probe memory --sectors 512 --for 1min $restless
    ratio "$(($(value "$1") - bytes))" 504 0
}

# row_instructions: of a row of a run with all tables and a sample each second, 1 sector, 1 h: what
# the run takes beyond one without, its capsules too, by the rows that it writes.
row_instructions() {
    probe ring --sectors 1 --watch 1s $restless
    mv "$work/said" "$work/ring.yaml"
    without=$(run_instructions "$work/ring.yaml" 60min)
    valgrind -q --tool=callgrind --callgrind-out-file="$work/counts" \
        "$programs/../../loopwright" run "$work/ring.yaml" --for 60min --out "$work/run" --json \
        >"$work/said" || exit 1
    ratio "$(($(instructions) - without))" "$(cat "$work"/run/*.csv | wc -l)" 0
    rm -r "$work/run"
}

# reading_ratio: instructions that reading 64 sectors takes, by those of libyaml alone.
reading_ratio() {
    for part in read parse; do
        valgrind -q --tool=callgrind --callgrind-out-file="$work/$part" \
            --toggle-collect=probe_$part "$programs/probe" $part --sectors 64 >"$work/said" ||
            exit 1
    done
    ratio "$(awk '$1 == "totals:" { print $2 }' "$work/read")" \
        "$(awk '$1 == "totals:" { print $2 }' "$work/parse")" 2
}

# ratio A B PLACES
ratio() { awk -v a="$1" -v b="$2" -v places="$3" 'BEGIN { printf "%.*f\n", places, a / b }'; }

# calls_of PATTERN [CALLER]: how often functions whose name matches were called in the last run, by
# functions whose name matches.
calls_of() {
    awk -v pattern="$1" -v by="${2:-.}" '
        /^c?fn=\(/ {
            split($0, part, /[()]/)
            if (match($0, /\) /)) name[part[2]] = substr($0, RSTART + 2)
            if ($0 ~ /^cfn=/) called = name[part[2]]
            else caller = name[part[2]]
        }
        /^calls=/ && called ~ pattern && caller ~ by { total += substr($1, 7) }
        END { print total + 0 }' "$work/counts"
}
