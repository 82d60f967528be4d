#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# licence.sh [ROOT] - each source file says its licence in one of its first two lines.
cd "${1:-.}" || exit 1
wrong=$(
    find Makefile .ci sim model tools tests -type f \
        \( -name '*.[ch]' -o -name '*.sh' -o -name '*.js' -o -name '*.mjs' -o -name Makefile \
        -o -path '.ci/*' \) |
        while read -r file; do
            head -n 2 "$file" | grep -q 'SPDX-License-Identifier: GPL-3.0-or-later' || echo "$file"
        done
)
[ -n "$wrong" ] || exit 0
echo "These files do not begin with the licence line:"
echo "$wrong"
exit 1
