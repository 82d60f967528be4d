#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later floors.sh [ROOT] - includes point only downward, tools
# -> model -> sim, and nothing includes tests. Our own headers are named from the root of the tree.
cd "${1:-.}" || exit 1

# includes_of FLOOR ALLOWED: the includes of FLOOR that name no header of the floors ALLOWED.
includes_of() {
    [ -d "$1" ] || return
    find "$1" -name '*.[ch]' -exec grep -HnE '^ *# *include *"' {} + |
        grep -vE "\"($2)/[a-z_/]*\.h\""
}
wrong=$(
    includes_of sim 'sim'
    includes_of model 'model|sim'
    includes_of tools 'tools|model|sim'
)
[ -n "$wrong" ] || exit 0
echo "These includes point upward, or do not name their header from the root:"
echo "$wrong"
exit 1
