#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# types.sh - the scripts of the page keep to the types in their comments. Status 77: not to be
# checked here.
checker=build/npm-check/node_modules/typescript/bin/tsc
[ -r $checker ] && command -v node >/dev/null || {
    echo "typescript is not here"
    exit 77
}
exec node $checker --project tests/page/tsconfig.json
