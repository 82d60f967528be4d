#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# others.sh RAN - the comparisons with other programs, in RAN/test_second.ran, have been made; where
# a program is not installed, status 77 and its name.
skipped=$(sed -n 's/^| skipped: \([^|]*[^ |]\) *|.*/\1/p' "$1/test_second.ran" | paste -sd ,)
[ -n "$skipped" ] || exit 0
echo "$skipped"
exit 77
