#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# jobs.sh LOOPWRIGHT SCENARIO - a soak by two jobs beside the same by one, in turn, 41 times.
# Prints: seconds a run by one job (least); times its rate that two jobs reach, of all pairs the
# median and the quarters, because a processor may run half as fast again from one second to the
# next; processor time of two jobs by that of one (median), which a busy machine changes less and
# which locks, shared cache lines and allocators would raise.
loopwright=$1 scenario=$2 runs=32 pairs=41
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
for pair in $(seq $pairs); do
    echo "$(soak 1) $(soak 2)"
done >"$work/pairs"

# ranked EXPRESSION QUARTERS: what so many quarters of the pairs do not exceed. Fields: wall and
# processor time of one job, then of two.
ranked() { awk "{ print $1 }" "$work/pairs" | sort -n | sed -n "$(((pairs - 1) * $2 / 4 + 1))p"; }
echo "seconds_a_run $(ranked "\$1 / $runs" 0)"
echo "times_the_rate $(ranked '$1 / $3' 2)"
echo "low_quarter $(ranked '$1 / $3' 1)"
echo "high_quarter $(ranked '$1 / $3' 3)"
echo "times_the_processor_time $(ranked '$4 / $2' 2)"
