#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# corpora.sh PROGRAMS CORPORA - gives each target the inputs of its corpus, which are those that
# once were findings and those that between them reach most of the code.
programs=$1 corpora=$2 status=0
log=$(mktemp) || exit 1
trap 'rm -f "$log"' EXIT
for corpus in "$corpora"/*/; do
    target=$(basename "$corpus")
    printf '%s: ' "$target"
    if ! "$programs/fuzz_$target" "$corpus" 2>"$log"; then
        tail -n 40 "$log"
        status=1
    fi
done
exit $status
