#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# setup.sh PURPOSE... - installs what is needed for each PURPOSE (build, page, check, fuzz, analyze,
# octave) and is not on this machine yet. Where nothing is missing it prints and changes nothing. It
# calls apt-get, without a question, as root or through sudo; where that is not possible, it names
# the packages and fails. What is no package of Debian it has npm put into build/: the chart library
# of the page, and for the checks a driver of the browser; where that is not possible, it says what
# is left out.
set -u

missing=
# need PACKAGE TEST...: PACKAGE, as Debian names it, is missing when TEST fails.
need() {
    package=$1
    shift
    "$@" >/dev/null 2>&1 || missing="$missing $package"
}
# wish PACKAGE TEST...: the same for what the checks can do without.
wish() {
    package=$1
    shift
    "$@" >/dev/null 2>&1 || wished="$wished $package"
}
compiles() { echo "#include <$1>" | "${CC:-cc}" -E - ; }

need_to_build() {
    case ${CC:-cc} in
    *clang*) need clang command -v "$CC" ;;
    *) need gcc command -v "${CC:-cc}" ;;
    esac
    need libc6-dev compiles stdlib.h
    need make command -v make
    need pkg-config command -v pkg-config
    need libgsl-dev pkg-config --exists gsl
    need libyaml-dev pkg-config --exists yaml-0.1
    need libjansson-dev pkg-config --exists jansson
    need libglpk-dev compiles glpk.h
    need zlib1g-dev pkg-config --exists zlib
    # The page is built in where npm is there already; only `page` installs npm for it.
    ! command -v npm >/dev/null || fetch npm uplot@1.6.32
}

need_to_page() {
    wish npm command -v npm
    fetch npm uplot@1.6.32
}

need_to_check() {
    need check pkg-config --exists check
    need binutils command -v nm
    need clang command -v clang
    need valgrind command -v valgrind
    need python3-simpy /usr/bin/python3 -c 'import SimPy'
    need slurm-wlm test -x /usr/sbin/slurmctld
    need slurm-client command -v sbatch
    need munge test -x /usr/sbin/munged
    wish clang-format command -v clang-format
    wish python3-jsonschema /usr/bin/python3 -c 'import jsonschema'
    wish python3-yaml /usr/bin/python3 -c 'import yaml'
    wish python3-pandas /usr/bin/python3 -c 'import pandas'
    wish mandoc command -v mandoc
    wish gtkwave command -v vcd2fst
    wish zsh command -v zsh
    wish chromium command -v chromium
    need_to_page
    fetch npm-check playwright-core@1.65.1 typescript@5.9.3
}

# What clang adds to a program that libFuzzer calls; its package has clang's version in its name.
need_to_fuzz() {
    need clang command -v clang
    version=$(clang -dumpversion 2>/dev/null | cut -d . -f 1)
    need "libclang-rt-${version:-14}-dev" \
        sh -c 'ls "$(clang -print-runtime-dir)"/libclang_rt.fuzzer-*.a'
}

need_to_analyze() {
    need clang-tidy command -v clang-tidy
    need cppcheck command -v cppcheck
}

# 201 packages: only on request (make check OCTAVE=1).
need_to_octave() {
    wish octave command -v octave-cli
    wish octave-queueing test -e /usr/share/octave/packages/queueing-*
}

give_up() {
    echo "set-up: $1." >&2
    echo "set-up: please install these packages (named as in Debian), then run make again:" >&2
    echo "   $missing" >&2
    exit 1
}

# Sets `root`: what to put before a command that only root may run. Where that can't be, `hindrance`
# says why.
become_root() {
    root= hindrance=
    [ "$(id -u)" -ne 0 ] || return 0
    root=sudo hindrance="you are not root and there is no sudo"
    command -v sudo >/dev/null || return 1
    root="sudo -n" hindrance="you are not root and sudo wants a password"
    $root true 2>/dev/null && return 0
    root=sudo
    [ -t 0 ]
}

# apt WORD...: apt-get, with what it prints in $log. While another program holds one of its locks
# (on a fresh machine often its own daily update) it is tried again, for ten minutes.
apt() {
    for attempt in $(seq 300); do
        $root env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=600 "$@" \
            >"$log" 2>&1 && return 0
        grep -q 'Could not get lock' "$log" || return 1
        [ "$attempt" -ne 1 ] || echo "set-up: waiting for another program that uses apt-get"
        sleep 2
    done
    return 1
}

# install WORD...: packages. An update that fails may do no harm: the lists may be new enough.
install() {
    apt update
    apt install -y --no-install-recommends "$@"
}

install_missing() {
    command -v apt-get >/dev/null || give_up "something is missing and there is no apt-get here"
    become_root || give_up "$hindrance"
    echo "set-up: installing$missing"
    # $missing is a list of words.
    if ! install $missing; then
        tail -n 15 "$log" >&2
        give_up "apt-get could not install what is missing (no network?)"
    fi
}

# What the checks can do without: where it cannot be installed, the steps that need it are skipped.
install_wished() {
    echo "set-up: installing$wished"
    # $wished is a list of words.
    command -v apt-get >/dev/null && become_root && install $wished ||
        echo "set-up: not possible here; the steps that need them are skipped"
}

# fetch PLACE PACKAGE@VERSION...: these belong into build/PLACE. Each place is filled in one go,
# because npm removes what it was not asked for.
fetch() {
    place=build/$1
    shift
    for package in "$@"; do
        grep -qs "\"version\": \"${package##*@}\"" \
            "$place/node_modules/${package%@*}/package.json" && continue
        fetched="$fetched
$place $*"
        return
    done
}

# fetch_all: what `fetch` found not to be there.
fetch_all() {
    echo "$fetched" | while read -r place packages; do
        [ -n "$place" ] || continue
        mkdir -p "$place"
        echo "set-up: fetching $packages"
        # $packages is a list of words.
        command -v npm >/dev/null &&
            npm install --prefix "$place" --no-save --no-audit --no-fund --ignore-scripts \
                --fetch-timeout=30000 --fetch-retries=1 $packages >"$log" 2>&1 ||
            echo "set-up: not possible here; what needs them is left out"
    done
}

find_missing() {
    missing= wished= fetched=
    for purpose in "$@"; do
        "need_to_$purpose"
    done
}

log=$(mktemp) || exit 1
trap 'rm -f "$log"' EXIT
find_missing "$@"
if [ -n "$missing" ]; then
    install_missing
    find_missing "$@"
    [ -z "$missing" ] ||
        give_up "apt-get said that all went well, yet something is missing still"
fi
[ -z "$wished" ] || install_wished
[ -z "$fetched" ] || fetch_all
exit 0
