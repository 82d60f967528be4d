#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# distcheck.sh NAME FILE - unpacks FILE, builds it, checks it (FAST=1), installs it below a
# directory, runs what was installed, uninstalls it, of which nothing may stay, and packs it again,
# which must give the same bytes.
set -e
name=$1 file=$(realpath "$2")
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT
tar xzf "$file" -C "$place"
cd "$place/$name"
unset MAKEFLAGS MAKELEVEL
make
make check FAST=1
make install DESTDIR="$place/root" prefix=/opt/loopwright >/dev/null
root=$place/root/opt/loopwright
"$root/bin/loopwright" run "$root/share/doc/loopwright/scenarios/first.yaml" --quiet
make uninstall DESTDIR="$place/root" prefix=/opt/loopwright >/dev/null
left=$(find "$place/root" ! -type d)
[ -z "$left" ] || { echo "uninstall leaves: $left"; exit 1; }
make dist >/dev/null
cmp "build/$name.tar.gz" "$file"
echo "$file builds, holds, installs, uninstalls, and packs itself again"
