#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# floors.sh [ROOT] - includes point only downward: between the floors (tools -> model -> sim), and
# between the rooms of a floor in the order of the table below; nothing includes tests. Our own
# headers are named from the root of the tree.
cd "${1:-.}" || exit 1

# The order of the rooms: a room may include itself and those that are named after it.
order='
sim           .
model/scenario sim
model/reader  model/scenario sim
model/engine  model/scenario sim
model/state   model/engine model/scenario sim
model/budget  model/state model/engine model/scenario sim
model/cause   model/state model/engine model/scenario sim
model/design  model/scenario sim
tools/base    model/.* sim
tools/record  tools/base model/.* sim
tools/checkpoint tools/record tools/base model/.* sim
tools/budget  tools/checkpoint tools/record tools/base model/.* sim
tools/cause   tools/checkpoint tools/record tools/base model/.* sim
tools/drain   tools/cause tools/checkpoint tools/record tools/base model/.* sim
tools/manual  tools/base model/.* sim
tools/soak    tools/checkpoint tools/record tools/base model/.* sim
tools/sweep   tools/soak tools/record tools/base model/.* sim
tools/new     tools/base model/.* sim
tools/design  tools/(soak|drain|cause|checkpoint|record|base) model/.* sim
tools/page    tools/cause tools/checkpoint tools/record tools/base model/.* sim
tools         tools/.* model/.* sim
'
# includes_of ROOM ALLOWED: the includes in ROOM's own files that name no header of ALLOWED rooms.
includes_of() {
    [ -d "$1" ] || return
    find "$1" -maxdepth 1 -name '*.[ch]' -exec grep -HnE '^ *# *include *"' {} + |
        grep -vE "\"($1|$2)/[a-z0-9_]*\.h\""
}
wrong=$(
    echo "$order" | while read -r room below; do
        [ -n "$room" ] && includes_of "$room" "$(echo "$below" | tr ' ' '|')"
    done
    # A room that the table does not have.
    for directory in sim/*/ model/*/ model/*.[ch] tools/*/ ; do
        [ -n "$(find "$directory" -name '*.[ch]' 2>/dev/null)" ] || continue
        echo "$order" | grep -q "^${directory%/} " || echo "$directory: not a room of the table"
    done
)
# A header whose head says that it is private to its room, included from another one.
private=$(
    find model tools -name '*.h' 2>/dev/null | while read -r header; do
        sed -n '1,/\*\//p' "$header" | head -n 40 | grep -qi 'private to this room\.' || continue
        grep -rlF "#include \"$header\"" --include='*.[ch]' sim model tools |
            grep -v "^$(dirname "$header")/[^/]*$" | sed "s|$|: includes $header|"
    done
)
wrong="$wrong$private"
[ -n "$wrong" ] || exit 0
echo "These includes point upward, are of a private header, or do not name theirs from the root:"
echo "$wrong"
exit 1
