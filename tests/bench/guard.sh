#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later guard.sh PROGRAMS - a move has not become dear: counted
# instructions, which no busy machine changes, stay near the best that was reached, and do not grow
# with the number of sectors. PROGRAMS is the directory of probe.
programs=$1
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
. "$(dirname "$0")/measure.sh"

# within FOUND MOST WHAT
within() {
    echo "$3: $1, at most $2"
    awk -v found="$1" -v most="$2" 'BEGIN { exit !(found + 0 > 0 && found + 0 <= most) }' || bad=1
}
bad=0

# near BEST WHAT FROM TO OPTION...: instructions a move in `run`, with all that it looks at, between
# two times of the run; at most a tenth above the best that was reached, which docs/speed.md has.
near() {
    best=$1 what=$2
    shift 2
    found=$(run_instructions_a_move "$@" $restless)
    within "$found" "$(ratio $((best * 11)) 10 1)" "instructions a move, $what"
}
near 380 '1 sector' 60min 120min --sectors 1
near 373 '8 sectors' 60min 70min --sectors 8
few=$found
near 368 '64 sectors' 10min 14min --sectors 64
# An engine that knows this workshop only makes as many moves; the probe ends with status 1 if not.
probe hand --sectors 8 --for 10min $restless
within "$(ratio "$found" "$few" 3)" 1.05 'growth from 8 to 64 sectors'
# A workshop at rest costs nothing: what one of eight sectors does alone.
near 395 '8 sectors, 7 of them at rest' 60min 120min --sectors 8 --busy 1
within "$(bytes_a_sector world_bytes)" 6000 'bytes of a world, a sector'
# A row takes at most a tenth above the best that was reached, and reading little more than libyaml.
within "$(row_instructions)" 132 'instructions a row of a run with all tables'
within "$(reading_ratio)" 1.45 'instructions of reading, by those of libyaml alone'
exit $bad
