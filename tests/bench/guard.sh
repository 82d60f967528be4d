#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later guard.sh PROGRAMS - a move has not become dear: counted
# instructions, which no busy machine changes, stay near the best that was reached, and do not grow
# with the number of sectors. PROGRAMS is the directory of probe.
programs=$1
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
. "$(dirname "$0")/measure.sh"

# Instructions a move of eight restless sectors in an hour, as docs/speed.md has it: the best yet.
best=587

# within FOUND MOST WHAT
within() {
    echo "$3: $1, at most $2"
    awk -v found="$1" -v most="$2" 'BEGIN { exit !(found + 0 > 0 && found + 0 <= most) }' || bad=1
}
bad=0
within "$(instructions_a_move --sectors 8 $restless)" $((best * 3 / 2)) \
    'instructions a move, 8 sectors'
few=$(instructions_a_move --sectors 8 --for 10min $restless)
many=$(instructions_a_move --sectors 64 --for 10min $restless)
within "$(ratio "$many" "$few" 3)" 1.2 'growth from 8 to 64 sectors'
# A workshop at rest costs little: of eight sectors one works, with all that `run` looks at. A move
# costs more than in a busy workshop because supplies, and arms at the loop, go on in the others.
busy=$(run_instructions_a_move --sectors 8 $restless)
idle=$(run_instructions_a_move --sectors 8 --busy 1 $restless)
within "$(ratio "$idle" "$busy" 3)" 1.6 'a move with 7 of 8 sectors at rest, to one with none'
exit $bad
