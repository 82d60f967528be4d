#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# jobs.sh LOOPWRIGHT SCENARIO - a soak by two jobs beside the same by one, in turn, seven times.
# Prints: seconds a run by one job (least); times its rate that two jobs reach (median of the
# pairs); processor time of two jobs by that of one (median), which no busy machine changes much and
# which locks, shared cache lines and allocators would raise.
loopwright=$1 scenario=$2 runs=32
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT

# soak JOBS: wall and processor seconds, on a line. The status of a soak with a jam is 1.
soak() {
    began=$(date +%s.%N)
    times >"$work/before" # in no pipe: there it would tell of another shell
    "$loopwright" soak "$scenario" --runs $runs --for 12h --jobs "$1" --quiet
    [ $? -le 1 ] || exit 1
    times >"$work/after"
    echo "$began $(date +%s.%N) $(sed -n 2p "$work/before") $(sed -n 2p "$work/after")" | awk '
        function seconds(text, part) { split(text, part, /[ms]/); return 60 * part[1] + part[2] }
        { print $2 - $1, seconds($5) + seconds($6) - seconds($3) - seconds($4) }'
}
for pair in 1 2 3 4 5 6 7; do
    echo "$(soak 1) $(soak 2)"
done >"$work/pairs"

# median EXPRESSION of the pairs; fields: wall and processor time of one job, then of two.
median() { awk "{ print $1 }" "$work/pairs" | sort -n | sed -n 4p; }
echo "seconds_a_run $(awk -v runs=$runs '{ print $1 / runs }' "$work/pairs" | sort -n | head -n 1)"
echo "times_the_rate $(median '$1 / $3')"
echo "times_the_processor_time $(median '$4 / $2')"
