#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# analyze.sh [FILE...] - gcc's analyzer, clang-tidy and cppcheck on the program, or on some of its
# files: status 1 where one of them finds anything. What is suppressed, and why, stands here alone.
[ $# -gt 0 ] || set -- $(git ls-files 'sim/*.c' 'model/*.c' 'tools/*.c')
flags="-std=c17 -I. -D_POSIX_C_SOURCE=200809L $(pkg-config --cflags gsl yaml-0.1 jansson zlib)"
log=$(mktemp) || exit 1
trap 'rm -f "$log"' EXIT
status=0
say() { # say NAME: what stands in the log, if anything
    if [ -s "$log" ]; then
        echo "$1 finds:"
        cat "$log"
        status=1
    else
        echo "$1 finds nothing"
    fi
}

# cppcheck.
#  internalAstError: version 2.10 cannot parse `? (struct listener){0} : ...` (model/engine/world.c)
#    and leaves that file out; the other two read it.
cppcheck -q --std=c17 --enable=warning,performance,portability -I. \
    --suppress=missingIncludeSystem --suppress=internalAstError:model/engine/world.c \
    --template='{file}:{line}: {id}: {message}' "$@" >"$log" 2>&1
say cppcheck

# clang-tidy: all that looks for mistakes, but for
#  bugprone-easily-swappable-parameters: two numbers side by side are what most of our functions
#    take; their names tell them apart, and tests find a swap.
#  clang-analyzer-security.insecureAPI.DeprecatedOrUnsafeBufferHandling: wants memcpy_s and its like
#    of Annex K, which the C library does not have.
#  bugprone-narrowing-conversions: counts are made doubles for shares and rates on purpose; what
#    could lose digits in integers is an error by -Wconversion.
#  bugprone-implicit-widening-of-multiplication-result: products of small constants (sizes of
#    buffers), all within int.
#  bugprone-sizeof-expression: the length of an array of pointers is taken for a mistake.
#  misc-no-recursion: trees (gates, YAML) are walked by recursion, no deeper than LIMIT_DEPTH.
#  bugprone-not-null-terminated-result: texts whose length is kept, or that end in zeroed memory.
#  bugprone-reserved-identifier: _GNU_SOURCE and its like are asked for by defining them.
#  bugprone-macro-parentheses: macros that are rows of tables; their arguments are initializers.
#  bugprone-misplaced-widening-cast: an int64_t is cast for the `%lld` that prints it, no more.
#  clang-analyzer-security.insecureAPI.strcpy: each text is copied to where room was made for it.
#  clang-analyzer-security.FloatLoopCounter: it counts down by ones, without rounding
#    (model/reader/read_span.c).
#  bugprone-integer-division: whole batches and whole samples are meant.
#  performance-no-int-to-ptr: how a const is taken off.
#  bugprone-branch-clone: two conditions of a chain that end alike say more than one joined by ||.
tidy='clang-analyzer-*,bugprone-*,performance-*,misc-*'
tidy="-*,$tidy,-bugprone-easily-swappable-parameters,-bugprone-narrowing-conversions"
tidy="$tidy,-clang-analyzer-security.insecureAPI.DeprecatedOrUnsafeBufferHandling"
tidy="$tidy,-bugprone-implicit-widening-of-multiplication-result"
tidy="$tidy,-bugprone-sizeof-expression,-misc-no-recursion,-bugprone-branch-clone"
tidy="$tidy,-bugprone-not-null-terminated-result,-bugprone-reserved-identifier"
tidy="$tidy,-bugprone-macro-parentheses,-bugprone-misplaced-widening-cast"
tidy="$tidy,-clang-analyzer-security.insecureAPI.strcpy,-bugprone-integer-division"
tidy="$tidy,-clang-analyzer-security.FloatLoopCounter,-performance-no-int-to-ptr"
# One file at a time: from the second on it takes every va_list for uninitialized. $flags is a list
# of words.
for file in "$@"; do
    clang-tidy --quiet --checks="$tidy" "$file" -- $flags 2>/dev/null
done >"$log"
say clang-tidy

# gcc -fanalyzer.
for file in "$@"; do
    gcc -O1 -fanalyzer $flags -S "$file" -o - 2>&1 >/dev/null
done >"$log"
say "gcc -fanalyzer"
exit $status
