#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# readme.sh [ROOT] - the first scenario that README.md shows is scenarios/first.yaml, and all files
# that it, DEVELOPERS.md and the pages in docs/ name are there.
cd "${1:-.}" || exit 1
shown=$(sed -n '/^```yaml$/,/^```$/p' README.md | grep -v '^```')
kept=$(grep -v '^#' scenarios/first.yaml)
status=0
if [ "$shown" != "$kept" ]; then
    echo "README.md does not show scenarios/first.yaml as it is"
    status=1
fi
named='`(docs|scenarios|tests|tools|model|sim|\.ci)/[A-Za-z0-9_./-]*`'
for file in $(grep -ohE "$named" README.md DEVELOPERS.md docs/*.md | tr -d '`' | sort -u); do
    [ -e "$file" ] || {
        echo "named but not there: $file"
        status=1
    }
done
exit $status
