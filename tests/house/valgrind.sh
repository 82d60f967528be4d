#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# valgrind.sh PROGRAM SCENARIO... - the first minutes of each scenario touch no memory that is not
# theirs and give all of it back. A run may hold or not (status 0 or 1): other steps judge that.
program=$1
shift
out=$(mktemp -d) || exit 1
trap 'rm -rf "$out"' EXIT
for scenario in "$@"; do
    valgrind -q --leak-check=full --show-leak-kinds=definite,indirect,possible --error-exitcode=99 \
        "$program" run "$scenario" --for '5 min' --out "$out/run" --quiet
    status=$?
    if [ $status -gt 1 ]; then
        echo "$scenario: status $status"
        exit 1
    fi
done
