#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# columns.sh [ROOT] - no line of a source file is longer than 100 columns.
cd "${1:-.}" || exit 1
wrong=$(
    find Makefile .ci sim model tools tests -type f \
        \( -name '*.[ch]' -o -name '*.sh' -o -name '*.py' -o -name '*.js' -o -name '*.mjs' \
        -o -name '*.css' -o -name Makefile -o -path '.ci/*' \) \
        -exec env LC_ALL=C.UTF-8 grep -nEHo '^.{101}' {} + | cut -d : -f 1,2
)
[ -n "$wrong" ] || exit 0
echo "These lines are longer than 100 columns:"
echo "$wrong"
exit 1
