#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# man.sh PROGRAM - every manual page is without fault for mandoc(1), references among them included.
# Status 77: there is no mandoc.
command -v mandoc >/dev/null || { echo "no mandoc on this machine"; exit 77; }
pages=$(mktemp -d) || exit 1
trap 'rm -rf "${pages%/made}"' EXIT
tools/package/pages.sh "$1" "$pages/made" || exit 1
pages=$pages/made
# mandoc does not find a page that is not installed yet: that pages lead to pages is seen below.
if mandoc -Tlint -Wall "$pages"/man?/* | grep -v 'referenced manual not found'; then
    exit 1
fi
sed -n 's/^\.Xr \([a-z-]*\) \([0-9]\).*/man\2\/\1.\2/p' "$pages"/man?/* | sort -u |
    while read -r page; do
        [ -s "$pages/$page" ] || { echo "there is no $page"; exit 1; }
    done || exit 1
echo "$(ls "$pages"/man?/* | wc -l) pages without fault"
