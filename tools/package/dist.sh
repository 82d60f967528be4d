#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# dist.sh NAME FILE - packs the sources, each below NAME/, into FILE, a .tar.gz: those that git
# knows, or where there is no git all but build/. The bytes depend on the sources and on
# SOURCE_DATE_EPOCH (0 if it is not set) alone.
set -e
packed=$(mktemp)
trap 'rm -f "$packed" "$packed.list"' EXIT
if [ -d .git ]; then
    git ls-files
else
    find . -path ./build -prune -o \( -type f -o -type l \) -print | sed 's|^\./||'
fi | LC_ALL=C sort >"$packed.list"
tar --create --file="$packed" --no-recursion --files-from="$packed.list" --transform="s|^|$1/|" \
    --owner=0 --group=0 --numeric-owner --mode=u+rw,go=rX --mtime="@${SOURCE_DATE_EPOCH:-0}" \
    --format=ustar
gzip -9n <"$packed" >"$2"
echo "$2"
