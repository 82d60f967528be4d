#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# paper.sh RAN [write] - docs/checks.md is what the programs of tests/outside printed, in RAN/*.ran,
# between its head and its end; with `write` it is made so. Where another program was not there to
# compare with, what it would have said is not looked at.
ran=$1
here=$(dirname "$0")
order="identities belts merging filling queues networks lines gates states breaks moments second"
new=$(mktemp) && old=$(mktemp) || exit 1
trap 'rm -f "$new" "$old"' EXIT

{
    cat "$here/about.md"
    for name in $order; do
        grep -v '^[0-9]* values, ' "$ran/test_$name.ran" || exit 1
    done
    cat "$here/left-out.md"
} >"$new" || exit 1

for program in "$here"/test_*.c; do
    name=$(basename "$program" .c)
    case " $order " in *" ${name#test_} "*) ;; *) echo "$name is not in the paper" && exit 1 ;; esac
done
if [ "${2-}" = write ]; then
    ! grep -q '| skipped' "$new" || echo "some programs are not installed: see | skipped"
    cp "$new" docs/checks.md
    exit
fi
without_second() { sed '/^## Move by move/,/^## Left out/d' "$1"; }
if grep -q '| skipped' "$new"; then
    grep '| skipped' "$new"
    without_second docs/checks.md >"$old" && without_second "$new" | diff "$old" -
else
    diff docs/checks.md "$new"
fi || {
    echo "docs/checks.md does not say what the checks find; if they are right, run: make paper"
    exit 1
}
