#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# man.sh PROGRAM - every manual page is without fault for mandoc(1), references among them included.
# Status 77: there is no mandoc.
command -v mandoc >/dev/null || { echo "no mandoc on this machine"; exit 77; }
pages=$(mktemp -d) || exit 1
trap 'rm -rf "$pages"' EXIT
mkdir "$pages/man1" "$pages/man5"
commands=$("$1" manual | sed -n 's/^\.Xr loopwright-\([a-z]*\) 1.*/\1/p')
"$1" manual >"$pages/man1/loopwright.1" || exit 1
"$1" manual scenario >"$pages/man5/loopwright-scenario.5" || exit 1
for command in $commands; do
    "$1" manual "$command" >"$pages/man1/loopwright-$command.1" || exit 1
done
# mandoc does not find a page that is not installed yet: that pages lead to pages is seen below.
if mandoc -Tlint -Wall "$pages"/man?/* | grep -v 'referenced manual not found'; then
    exit 1
fi
sed -n 's/^\.Xr \([a-z-]*\) \([0-9]\).*/man\2\/\1.\2/p' "$pages"/man?/* | sort -u |
    while read -r page; do
        [ -s "$pages/$page" ] || { echo "there is no $page"; exit 1; }
    done || exit 1
echo "$(ls "$pages"/man?/* | wc -l) pages without fault"
