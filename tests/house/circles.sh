#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# circles.sh [ROOT [ROOM...]] - within a room no files include each other in a circle; a file is its
# .c and its .h together. Without ROOM: sim and all rooms of model and tools.
cd "${1:-.}" || exit 1
[ $# -gt 0 ] && shift
[ $# -gt 0 ] || set -- sim $(find model tools -type d)

# edges_of ROOM: a line "FROM TO" for each include of one file of the room by another.
edges_of() {
    find "$1" -maxdepth 1 -name '*.[ch]' -exec grep -HE '^ *# *include *"' {} + |
        sed -nE "s|^$1/([a-z_]*)\.[ch]:[^\"]*\"$1/([a-z_]*)\.h\".*|\1 \2|p" |
        awk '$1 != $2' | sort -u
}
wrong=$(
    for room in "$@"; do
        # A file that includes nobody, or only such as are taken away, is taken away, until none is
        # left; likewise one that nobody includes. What remains is circles and the way between them.
        edges_of "$room" | awk -v room="$room" '
            { from[NR] = $1; to[NR] = $2; live[NR] = 1 }
            END {
                do {
                    split("", includes); split("", included); gone = 0
                    for (i = 1; i <= NR; i++)
                        if (live[i]) { includes[from[i]] = 1; included[to[i]] = 1 }
                    for (i = 1; i <= NR; i++)
                        if (live[i] && !((to[i] in includes) && (from[i] in included))) {
                            live[i] = 0
                            gone = 1
                        }
                } while (gone)
                for (i = 1; i <= NR; i++)
                    if (live[i]) print room ": " from[i] " -> " to[i]
            }'
    done
)
[ -n "$wrong" ] || exit 0
echo "These includes form circles of files, or lie between two circles:"
echo "$wrong"
exit 1
