#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# same.sh - the program has the same bytes when it is built in another directory.
set -e
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT
unset MAKEFLAGS MAKELEVEL
for directory in one another/and/deeper; do
    mkdir -p "$place/$directory"
    tools/package/dist.sh tree "$place/tree.tar.gz" >/dev/null
    tar xzf "$place/tree.tar.gz" -C "$place/$directory"
    make -C "$place/$directory/tree" -j"$(nproc)" SETUP=done >/dev/null
done
built=tree/build/release/loopwright
cmp "$place/one/$built" "$place/another/and/deeper/$built"
echo "same bytes"
