#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# page.sh PROGRAM DIRECTORY - the tests of the page in a real browser, with runs and pictures left
# in DIRECTORY. Status 77, with the reason: they cannot be run here.
program=$1 directory=$2
skip() {
    echo "$1"
    exit 77
}
command -v node >/dev/null || skip "no node here"
[ -d build/npm-check/node_modules/playwright-core ] || skip "playwright-core is not here"
browser=${CHROMIUM:-$(command -v chromium)} || skip "no chromium here"
mkdir -p "$directory"
"$program" report "$directory" 2>&1 | grep -q 'without the page' && skip "built without the page"
CHROMIUM=$browser exec node tests/page/page.mjs "$program" "$directory"
