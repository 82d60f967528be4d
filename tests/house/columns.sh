#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# columns.sh [ROOT] - no line of a source file is longer than 100 columns.
cd "${1:-.}" || exit 1
wrong=$(
    find Makefile .ci sim model tools tests -type f \
        \( -name '*.[ch]' -o -name '*.sh' -o -name '*.py' -o -name Makefile -o -path '.ci/*' \) \
        -exec awk 'length > 100 { print FILENAME ":" FNR }' {} +
)
[ -n "$wrong" ] || exit 0
echo "These lines are longer than 100 columns:"
echo "$wrong"
exit 1
