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
# wish PACKAGE TEST...: likewise, of what is done without where it can't be had.
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
apt() { $root env DEBIAN_FRONTEND=noninteractive apt-get "$@"; }

# install WORD...: packages, with what apt-get says in $log.
install() {
    apt update >"$log" 2>&1
    apt install -y --no-install-recommends "$@" >>"$log" 2>&1
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

# What is only wished for, a hundred packages: where it can't be had, that is all that is said.
install_wished() {
    echo "set-up: installing$wished, half a minute; what needs them is skipped without"
    # $wished is a list of words.
    command -v apt-get >/dev/null && become_root && install $wished ||
        echo "set-up: that could not be"
}

find_missing() {
    missing= wished=
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
exit 0
