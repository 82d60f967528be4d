#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# symbols.sh OBJECTS [ROOT] - each extern symbol of an object in OBJECTS/sim, /model, /tools and
# their rooms starts with the name of its file, with the first word of it (read_station.c -> read_),
# or with the name of a struct that the file's own header defines.
objects=$1
root=${2:-.}

# prefixes STEM ROOM: what symbols of the file may start with, one a line.
prefixes() {
    echo "$1"
    echo "${1%%_*}_"
    sed -n 's/^struct \([a-z_]*\) {.*/\1/p' "$root/$2/$1.h" 2>/dev/null
}
wrong=$(
    find "$objects/sim" "$objects/model" "$objects/tools" -name '*.o' 2>/dev/null | sort |
        while read -r object; do
        stem=$(basename "$object" .o)
        allowed=$(prefixes "$stem" "$(dirname "${object#"$objects"/}")" | paste -sd '|')
        nm --defined-only --extern-only --format=posix "$object" | cut -d ' ' -f 1 |
            grep -vE "^($allowed|main\$|__)" | sed "s|^|$object: |"
    done
)
[ -n "$wrong" ] || exit 0
echo "These extern symbols are not named for their file:"
echo "$wrong"
exit 1
