#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# texts.sh FILE... - writes a C source with the bytes of each FILE, called by its name without
# directory and ending, for `loopwright new`. The line by which editors find the schema names it as
# it is called beside a scenario of one's own.
cat <<'HEAD'
#include "tools/new/kinds.h"

HEAD
number=0
for file in "$@"; do
    echo "static const char text_$number[] = {"
    sed 's|\(\$schema=\).*|\1scenario.schema.json|' "$file" | od -An -v -tu1 |
        sed 's/\([0-9][0-9]*\)/(char)\1,/g'
    echo "0};"
    number=$((number + 1))
done
echo "const struct kind kinds_table[] = {"
number=0
for file in "$@"; do
    echo "    {\"$(basename "$file" .yaml)\", text_$number},"
    number=$((number + 1))
done
echo "};"
echo "const unsigned kinds_count = $number;"
