#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# pages.sh PROGRAM DIRECTORY - writes what the program prints to be installed: the manual pages into
# DIRECTORY/man1 and man5, and the completion, loopwright.bash and _loopwright.
set -e
program=$1 made=$2
rm -rf "$made"
mkdir -p "$made/man1" "$made/man5"
"$program" manual >"$made/man1/loopwright.1"
for command in $(sed -n 's/^\.Xr loopwright-\([a-z]*\) 1.*/\1/p' "$made/man1/loopwright.1"); do
    "$program" manual "$command" >"$made/man1/loopwright-$command.1"
done
"$program" manual scenario >"$made/man5/loopwright-scenario.5"
"$program" completion bash >"$made/loopwright.bash"
"$program" completion zsh >"$made/_loopwright"
