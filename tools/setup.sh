#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later setup.sh build [check] - sees to it that what is needed
# to build (and to check) is on this machine. Where nothing is missing it says and changes nothing.
# What is missing is installed by apt-get, without a question, as root or through sudo; where that
# can't be, it names the packages and fails.
set -u

missing=
# need PACKAGE TEST...: PACKAGE, as Debian names it, is missing when TEST fails.
need() {
    package=$1
    shift
    "$@" >/dev/null 2>&1 || missing="$missing $package"
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
}

give_up() {
    echo "set-up: $1." >&2
    echo "set-up: please install these packages (named as in Debian), then run make again:" >&2
    echo "   $missing" >&2
    exit 1
}

# Sets `root`: what to put before a command that only root may run.
become_root() {
    root=
    [ "$(id -u)" -ne 0 ] || return 0
    command -v sudo >/dev/null || give_up "you are not root and there is no sudo"
    root="sudo -n"
    $root true 2>/dev/null && return 0
    [ -t 0 ] || give_up "you are not root and sudo wants a password"
    root=sudo
}

install_missing() {
    command -v apt-get >/dev/null || give_up "something is missing and there is no apt-get here"
    become_root
    echo "set-up: installing$missing"
    log=$(mktemp) || exit 1
    $root env DEBIAN_FRONTEND=noninteractive apt-get update >"$log" 2>&1
    # $missing is a list of words.
    if ! $root env DEBIAN_FRONTEND=noninteractive \
        apt-get install -y --no-install-recommends $missing >>"$log" 2>&1; then
        tail -n 15 "$log" >&2
        rm -f "$log"
        give_up "apt-get could not install what is missing (no network?)"
    fi
    rm -f "$log"
}

find_missing() {
    missing=
    for purpose in "$@"; do
        "need_to_$purpose"
    done
}

find_missing "$@"
[ -n "$missing" ] || exit 0
install_missing
find_missing "$@"
[ -z "$missing" ] || give_up "apt-get said that all went well, yet something is missing still"
