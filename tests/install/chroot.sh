#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# chroot.sh PACKAGE - lintian finds nothing in a Debian package, and the program in it runs in a
# bare Debian of the same release, in a directory of its own. Status 77: something that it needs is
# missing.
for tool in lintian debootstrap; do
    command -v $tool >/dev/null || { echo "no $tool on this machine"; exit 77; }
done
[ "$(id -u)" -eq 0 ] || { echo "only root may do this"; exit 77; }
lintian --fail-on error,warning "$1" || exit 1
place=$(mktemp -d) || exit 1
trap 'rm -rf "$place"' EXIT
. /etc/os-release
debootstrap --variant=minbase "$VERSION_CODENAME" "$place" >"$place.log" 2>&1 || {
    tail -n 3 "$place.log"
    echo "debootstrap does not work here"
    exit 77
}
rm "$place.log"
cp "$1" "$place/loopwright.deb"
run() { chroot "$place" /usr/bin/env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin LC_ALL=C "$@"; }
run apt-get install -y --no-install-recommends ./loopwright.deb >/dev/null || exit 1
run loopwright run /usr/share/doc/loopwright/scenarios/first.yaml || exit 1
run apt-get remove -y loopwright >/dev/null || exit 1
echo "it runs in a bare $PRETTY_NAME"
