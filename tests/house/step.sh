#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# step.sh LOG_DIRECTORY NAME COMMAND... - runs one step of a check and prints one line with its
# result and time. The output is kept in LOG_DIRECTORY; its end is shown when the step fails. A
# command that ends with status 77 has skipped the step: the last line of its output is the reason,
# and the name of the step is added to LOG_DIRECTORY/skipped.
logs=$1 name=$2
shift 2
mkdir -p "$logs"
log=$logs/$(echo "$name" | tr -c 'a-z0-9\n' -).log
began=$(date +%s)
"$@" >"$log" 2>&1 </dev/null
status=$?
took=$(($(date +%s) - began))
case $status in
0) printf '  holds    %-26s %4d s\n' "$name" "$took" ;;
77)
    printf '  skipped  %-26s %4d s, %s\n' "$name" "$took" "$(tail -n 1 "$log")"
    echo "$name" >>"$logs/skipped"
    ;;
*)
    printf '  FAILS    %-26s %4d s, status %d, log %s\n' "$name" "$took" "$status" "$log"
    tail -n 60 "$log"
    exit 1
    ;;
esac
exit 0
