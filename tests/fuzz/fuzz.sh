#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# fuzz.sh PROGRAMS FOR TARGET - fuzzes one target (tests/fuzz/fuzz_TARGET.c), or all of them in
# turn, for so long altogether ("90", "10m", "2h"). Starts from the corpus in the tree and from what
# earlier calls have found, which is kept in build/fuzz/TARGET. An input that is a finding is left
# in build/fuzz/found; then the status is 1.
programs=$1 length=$2 wanted=$3
work=build/fuzz
case $length in
*h) seconds=$((${length%h} * 3600)) ;;
*m) seconds=$((${length%m} * 60)) ;;
*) seconds=${length%s} ;;
esac
case $wanted in
all) targets=$(ls "$programs" | sed -n 's/^fuzz_\([a-z]*\)$/\1/p') ;;
*) targets=$wanted ;;
esac
each=$((seconds / $(echo "$targets" | wc -w)))
mkdir -p "$work/found"
# Each key of a scenario, and what stands between.
grep -o '"[a-z_]*": {' docs/scenario.schema.json | sed 's/": {/: "/' | sort -u >"$work/dictionary"
printf '%s\n' '"{"' '"}"' '"["' '"]"' '", "' '"\x0a  - "' '"\x0a"' '"="' '" min"' '" ms"' \
    >>"$work/dictionary"
status=0
for target in $targets; do
    mkdir -p "$work/$target" "tests/fuzz/corpus/$target"
    "$programs/fuzz_$target" -max_total_time="$each" -timeout=20 -rss_limit_mb=2048 \
        -dict="$work/dictionary" -print_final_stats=1 -artifact_prefix="$work/found/$target-" \
        "$work/$target" "tests/fuzz/corpus/$target" >"$work/$target.log" 2>&1
    found=$?
    executed=$(sed -n 's/^stat::number_of_executed_units: *//p' "$work/$target.log")
    printf '%-12s %12s executions' "$target" "$executed"
    if [ $found -eq 0 ]; then
        echo
    else
        echo ", a finding: see $work/$target.log and $work/found"
        status=1
    fi
done
exit $status
