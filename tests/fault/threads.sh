#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# threads.sh PROGRAM - the commands that use several threads, by a program that was built with the
# thread sanitizer, which reports each access that no lock and no order protects. Status 77 where
# it cannot run.
program=$(realpath "$1") scenario=$(realpath tests/fault/ring.yaml)
place=$(mktemp -d) || exit 1
trap 'rm -rf "$place"' EXIT
cd "$place" || exit 1
# Some kernels spread addresses wider than the sanitizer allows for.
if ! "$program" --version >/dev/null 2>&1; then
    program="setarch -R $program"
    $program --version || {
        echo "the thread sanitizer does not run here"
        exit 77
    }
fi

# try STATUS WORDS...: the program ends with STATUS and nothing is reported.
try() {
    wanted=$1
    shift
    $program "$@" >out 2>err
    status=$?
    if [ $status -ne "$wanted" ] || grep -q ThreadSanitizer err; then
        echo "loopwright $*: status $status"
        cat err
        exit 1
    fi
}
try 1 soak "$scenario" --runs 40 --jobs 4 --keep 5 --out night
try 1 soak "$scenario" --runs 40 --jobs 4 --keep 5 --out night --resume
try 0 soak "$scenario" --runs 10 --jobs 4 --against-set chests.shelf.capacity=9
try 1 drain "$scenario" --runs 12 --jobs 4
try 0 sweep "$scenario" --over chests.shelf.capacity=6,9 --runs 8 --jobs 4 --out rates
try 1 run "$scenario" --out run
try 0 cause run --prove 1min
try 0 new loop.yaml
try 0 design loop.yaml --tune arms.gear-feeder.gate.below --jobs 4 \
    --set 'may.survive={for: 1h, seeds: 3}'
echo "nine command lines, nothing reported"
