#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# guarantees.sh [ROOT] - each line of a table in docs/guarantees.md names a test, and each test that
# is named there, as FILE:NAME, or as a file or directory alone, is in the tree.
cd "${1:-.}" || exit 1
page=docs/guarantees.md
status=0
complain() {
    echo "$page: $1"
    status=1
}
for test in $(grep -oE '`tests/[A-Za-z0-9_./:-]*`' "$page" | tr -d '`' | sort -u); do
    file=${test%%:*}
    name=${test#"$file"}
    if [ ! -e "$file" ]; then
        complain "there is no $file"
    elif [ -n "$name" ] && ! grep -qF "START_TEST(${name#:})" "$file"; then
        complain "there is no test ${name#:} in $file"
    fi
done
bare=$(grep -E '^\|' "$page" | grep -vE '^\| promise|^\|---' | grep -vE '`tests/')
[ -z "$bare" ] || complain "no test is named: $bare"
exit $status
