#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# deb.sh VERSION WORK INTO - makes INTO/loopwright_VERSION_ARCH.deb of what is installed below
# WORK/root. The bytes depend on that and on SOURCE_DATE_EPOCH alone.
set -e
version=$1 work=$2 into=$3 root=$2/root
doc=$root/usr/share/doc/loopwright
architecture=$(dpkg --print-architecture)

# As Debian wants it: licence named in `copyright`, pages and the log packed.
rm -f "$doc/docs/LICENCE"
gzip -9nf "$root"/usr/share/man/man?/*
cat >"$doc/copyright" <<END
Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: loopwright

Files: *
Copyright: 2026 The authors of loopwright
License: GPL-3+
 This program is free software: you can redistribute it and/or modify it under the terms of the GNU
 General Public License as published by the Free Software Foundation, either version 3 of the
 License, or (at your option) any later version. It is distributed in the hope that it will be
 useful, but WITHOUT ANY WARRANTY; without even the implied warranty of MERCHANTABILITY or FITNESS
 FOR A PARTICULAR PURPOSE.
 .
 On Debian systems the full text of the license is in /usr/share/common-licenses/GPL-3.
END
gzip -9n >"$doc/changelog.gz" <<END
loopwright ($version) unstable; urgency=low

  * Version $version.

 -- Loopwright maintainers <maintainers@loopwright.invalid>  $(date -u -R -d "@$SOURCE_DATE_EPOCH")
END

# The libraries it was linked with, in the versions that are needed.
rm -rf "$work/info"
mkdir -p "$work/info/debian" "$root/DEBIAN"
printf 'Source: loopwright\n\nPackage: loopwright\nArchitecture: any\n' >"$work/info/debian/control"
depends=$(cd "$work/info" && dpkg-shlibdeps -O "$(realpath "$OLDPWD/$root")/usr/bin/loopwright" \
    2>/dev/null | sed -n 's/^shlibs:Depends=//p')
(cd "$root" && find usr -type f -print0 | LC_ALL=C sort -z | xargs -0 md5sum) \
    >"$root/DEBIAN/md5sums"
cat >"$root/DEBIAN/control" <<END
Package: loopwright
Version: $version
Section: science
Priority: optional
Architecture: $architecture
Maintainer: Loopwright maintainers <maintainers@loopwright.invalid>
Installed-Size: $(du -sk --apparent-size "$root/usr" | cut -f1)
Depends: $depends
Description: simulator of recirculating loop conveyors with pick-and-place arms
 It works out on a model how a conveyor loop will run that many kinds of parts
 share: what it carries, where it starves, why it jams and what prevents that,
 whether it runs empty and starts again, and how often it jams in a hundred
 nights. The same scenario gives the same results, to the byte, everywhere.
END
find "$root" -print0 | xargs -0 touch --no-dereference --date="@$SOURCE_DATE_EPOCH"
chmod -R u+rwX,go=rX "$root"
dpkg-deb --root-owner-group --build "$root" "$into/loopwright_${version}_$architecture.deb"
