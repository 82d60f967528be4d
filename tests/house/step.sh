#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later step.sh LOG_DIRECTORY NAME COMMAND... - runs one step of
# a check: one line with its result and time, and, when it fails, the end of what it printed. The
# whole is kept in LOG_DIRECTORY.
logs=$1 name=$2
shift 2
mkdir -p "$logs"
log=$logs/$(echo "$name" | tr -c 'a-z0-9\n' -).log
began=$(date +%s)
"$@" >"$log" 2>&1 </dev/null
status=$?
took=$(($(date +%s) - began))
if [ $status -eq 0 ]; then
    printf '  holds  %-26s %4d s\n' "$name" "$took"
    exit 0
fi
printf '  FAILS  %-26s %4d s, status %d, log %s\n' "$name" "$took" "$status" "$log"
tail -n 60 "$log"
exit 1
