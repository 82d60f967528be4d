#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# bite.sh - the checks of the house find what they are for: each is run on a small tree that is as
# it should be, and on one with a single fault. A check without such a case is a fault, too.
here=$(cd "$(dirname "$0")" && pwd)
tree=$(mktemp -d) || exit 1
trap 'rm -rf "$tree"' EXIT
line='/* SPDX-License-Identifier: GPL-3.0-or-later */'

fresh() {
    rm -rf "$tree"
    mkdir -p "$tree/.ci" "$tree/sim" "$tree/model/reader" "$tree/model/engine" "$tree/tools" \
        "$tree/tests"
    printf '%s\n#include "sim/require.h"\nint require_one = 1;\n' "$line" >"$tree/sim/require.c"
    printf '%s\nstruct span {\n    int a;\n};\n' "$line" >"$tree/sim/require.h"
    printf '%s\n#include "sim/require.h"\nint read_two = 2;\n' "$line" \
        >"$tree/model/reader/read_station.c"
    printf '%s\n#include "model/reader/read.h"\nint main(void) { return 0; }\n' "$line" \
        >"$tree/tools/tool.c"
    printf '# SPDX-License-Identifier: GPL-3.0-or-later\n' >"$tree/Makefile"
    printf '#!/bin/sh\n# SPDX-License-Identifier: GPL-3.0-or-later\n' >"$tree/.ci/run"
    cp "$here/../../.clang-format" "$tree"
    mkdir -p "$tree/scenarios" "$tree/docs"
    printf '# a scenario\nrun: {for: 1 min}\n' >"$tree/scenarios/first.yaml"
    printf 'A scenario:\n```yaml\nrun: {for: 1 min}\n```\nin `scenarios/`.\n' >"$tree/README.md"
    echo 'Begin in `sim/require.h`.' >"$tree/DEVELOPERS.md"
    echo 'See `tools/tool.c`.' >"$tree/docs/page.md"
}
objects() { # only what has no model/reader/read.h, which the small tree lacks
    (cd "$tree" && for stem in sim/require model/reader/read_station; do
        ${CC:-cc} -I. -c "$stem.c" -o "$stem.o" || exit 1
    done)
}
bad=0
want() { # want STATUS CHECK ARGUMENT...: the check ends with STATUS
    status=$1
    shift
    "$@" >/dev/null 2>&1
    found=$?
    [ "$found" -eq "$status" ] && return
    echo "status $found in place of $status: $*"
    bad=1
}

fresh
objects
want 0 "$here/floors.sh" "$tree"
want 0 "$here/circles.sh" "$tree"
want 0 "$here/licence.sh" "$tree"
want 0 "$here/columns.sh" "$tree"
want 0 "$here/symbols.sh" "$tree" "$tree"
echo '#include "model/reader/read.h"' >>"$tree/sim/require.h"
want 1 "$here/floors.sh" "$tree"
fresh
echo '#include "tests/help.h"' >>"$tree/tools/tool.c"
want 1 "$here/floors.sh" "$tree"
fresh
echo '#include "model/engine/world.h"' >>"$tree/model/reader/read_station.c"
want 1 "$here/floors.sh" "$tree"
fresh
printf '%s\n/* one.h - private to this room. */\n' "$line" >"$tree/model/engine/one.h"
echo '#include "model/engine/one.h"' >>"$tree/tools/tool.c"
want 1 "$here/floors.sh" "$tree"
fresh
mkdir "$tree/model/attic"
echo "int attic;" >"$tree/model/attic/attic.c"
want 1 "$here/floors.sh" "$tree"
fresh
echo '# include "../tools/tool.h"' >>"$tree/model/reader/read_station.c"
want 1 "$here/floors.sh" "$tree"
fresh
for pair in 'read_station read_span' 'read_span read_place' 'read_place read_station'; do
    echo "#include \"model/reader/${pair#* }.h\"" >"$tree/model/reader/${pair% *}.h"
done
want 1 "$here/circles.sh" "$tree"
want 0 "$here/circles.sh" "$tree" sim
rm "$tree/model/reader/read_place.h"
want 0 "$here/circles.sh" "$tree"
fresh
echo 'int x;' >"$tree/tests/test_x.c"
want 1 "$here/licence.sh" "$tree"
fresh
printf '/* %0100d */\n' 0 >>"$tree/sim/require.h"
want 1 "$here/columns.sh" "$tree"
fresh
echo 'int span_ask(void) { return 1; }' >>"$tree/sim/require.c"
objects
want 0 "$here/symbols.sh" "$tree" "$tree"
echo 'int stray(void) { return 1; }' >>"$tree/model/reader/read_station.c"
objects
want 1 "$here/symbols.sh" "$tree" "$tree"

# Where clang-format is of another version the check is skipped, and so are its cases.
fresh
"$here/format.sh" "$tree" >/dev/null 2>&1
if [ $? -ne 77 ]; then
    want 0 "$here/format.sh" "$tree"
    printf 'int  three ;\n' >>"$tree/sim/require.c"
    want 1 "$here/format.sh" "$tree"
fi

fresh
want 0 "$here/readme.sh" "$tree"
echo 'title: Another' >>"$tree/scenarios/first.yaml"
want 1 "$here/readme.sh" "$tree"
fresh
echo 'See `docs/nowhere.md`.' >>"$tree/docs/page.md"
want 1 "$here/readme.sh" "$tree"

fresh
echo 'START_TEST(it_holds) {' >"$tree/tests/test_it.c"
promise() {
    printf '| promise | held by |\n|---|---|\n| it | %s |\n' "$1" >"$tree/docs/guarantees.md"
}
promise '`tests/test_it.c:it_holds` `tests/test_it.c`'
want 0 "$here/guarantees.sh" "$tree"
promise '`tests/test_it.c:it_breaks`'
want 1 "$here/guarantees.sh" "$tree"
promise '`tests/test_that.c`'
want 1 "$here/guarantees.sh" "$tree"
promise 'faith'
want 1 "$here/guarantees.sh" "$tree"

# program STATEMENT: a program that does this and ends, whatever its arguments are.
program() {
    printf '#include <stdlib.h>\nint main(void) { %s }\n' "$1" >"$tree/program.c"
    ${CC:-cc} -g "$tree/program.c" -o "$tree/program" || exit 1
}
program 'return 1;'
want 0 "$here/valgrind.sh" "$tree/program" a.yaml b.yaml
program 'return 2;'
want 1 "$here/valgrind.sh" "$tree/program" a.yaml
program 'char *volatile lost = malloc(5); lost = NULL; return lost != NULL;'
want 1 "$here/valgrind.sh" "$tree/program" a.yaml
program 'char *five = malloc(5); char sixth = five[5]; free(five); return sixth == 0 ? 0 : 1;'
want 1 "$here/valgrind.sh" "$tree/program" a.yaml

# skipped COUNT: so many steps have said that they were skipped.
skipped() { [ "$(cat "$tree/log/skipped" 2>/dev/null | wc -l)" -eq "$1" ]; }
want 0 "$here/step.sh" "$tree/log" good true
want 0 skipped 0
want 1 "$here/step.sh" "$tree/log" bad false
want 0 "$here/step.sh" "$tree/log" absent sh -c 'echo no such program; exit 77'
want 0 skipped 1

for check in "$here"/*.sh; do
    name=$(basename "$check")
    [ "$name" = bite.sh ] || grep -q "^ *want [0-9]* \"\$here/$name\"" "$0" || {
        echo "no case for $name"
        bad=1
    }
done
exit $bad
