#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# embed.sh FILE... - prints a C source with the bytes of these files (tools/page/assets.h). When one
# of them is not there, the table is empty.
echo '/* SPDX-License-Identifier: GPL-3.0-or-later */'
echo '#include "tools/page/assets.h"'
for file in "$@"; do
    [ -r "$file" ] && continue
    echo 'const struct assets_file assets_data[] = {{0}};'
    exit 0
done
number=0
rows=
for file in "$@"; do
    number=$((number + 1))
    echo "static const char text_$number[] = {"
    od -An -v -td1 "$file" | sed 's/ *\(-\{0,1\}[0-9][0-9]*\)/\1,/g'
    echo '0};'
    rows="$rows{\"${file##*/}\", text_$number}, "
done
echo "const struct assets_file assets_data[] = {$rows{0}};"
