#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# format.sh [ROOT] - C sources and the page's scripts are laid out as `.clang-format` says. Another
# version of clang-format lays some lines out otherwise: then the step is skipped (status 77).
cd "${1:-.}" || exit 1
made_for=14

skip() {
    echo "$1"
    exit 77
}
command -v clang-format >/dev/null || skip "clang-format is not installed"
version=$(clang-format --version | sed 's/.*version \([0-9]*\).*/\1/')
[ "$version" = $made_for ] ||
    skip "clang-format is version $version, .clang-format was made for $made_for"
find sim model tools tests \( -name '*.[ch]' -o -name '*.js' -o -name '*.mjs' \) \
    -exec clang-format --dry-run --Werror {} + && exit 0
echo "To lay them out as they should be: make format"
exit 1
