#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# array.sh PROGRAM - a soak as an array of four Slurm jobs, one of them killed on its way and put
# back, gives the bytes of a soak in one piece. It starts a Slurm of its own (solo.sh); where that
# is not possible it runs the shards itself, with the number of the task as Slurm would give it, and
# ends with status 77 and the reason.
set -u
here=$(cd "$(dirname "$0")" && pwd)
program=$(realpath "$1")
script=$here/../../docs/soak.sbatch
scenario=$here/../../scenarios/demo.yaml
work=$(mktemp -d) || exit 1
state=$work/slurm
trap '"$here/solo.sh" down "$state"; rm -rf "$work"' EXIT
cd "$work" || exit 1
export LOOPWRIGHT="$program"

fail() {
    echo "$1"
    exit 1
}

# Status 1 says that some run did not hold, which is no matter here.
soak() {
    "$program" soak "$scenario" --set expect=null --set demands.movement-orders.until=null \
        --set demands.winder-orders.until=null --set demands.mount-orders.until=null \
        --runs 400 --for 12h --quiet "$@"
}

# wait_for COMMAND...: until the command holds, for an hour at most: a busy machine takes its time.
wait_for() {
    for second in $(seq 3600); do
        "$@" >/dev/null 2>&1 && return 0
        sleep 1
    done
    return 1
}

has_begun() { [ "$(stat -c %s "night/.shard-$1.unfinished/soak.journal")" -gt 20000 ]; }
is_over() { ! squeue -h -j "$1" -t R,CG,PD,S | grep -q .; }
ended() { scontrol show job "$1" | grep -Eq 'JobState=(FAILED|CANCELLED|COMPLETED|NODE_FAIL)'; }

by_slurm() {
    export SLURM_CONF="$state/slurm.conf"
    array=$(sbatch --parsable --array=0-3 "$script" night) || fail "sbatch refuses the array"
    wait_for has_begun 1 || fail "task 1 does not get going"
    scancel --signal=KILL --full "${array}_1"
    wait_for ended "${array}_1" || fail "task 1 does not end when it is killed"
    [ -e night/shard-1 ] && fail "task 1 was done before it was killed"
    "$program" merge night 2>missing
    grep -q 'shard 1 ' missing || fail "merge does not miss the shard that was killed"
    scontrol requeue "${array}_1" || fail "task 1 is not put back"
    wait_for is_over "$array" || fail "the array does not end"
    echo "four tasks by Slurm, one of them killed and put back"
}

by_hand() {
    for task in 0 1 2 3; do
        SLURM_ARRAY_TASK_ID=$task sh "$script" night >/dev/null || fail "shard $task fails"
    done
}

soak --out whole
soak --plan night --shards 4 || fail "no plan is written"
reason=
if "$here/solo.sh" up "$state" >said 2>&1; then
    by_slurm
else
    reason=$(tail -n 1 said)
    cat said
    by_hand
fi
"$program" merge night --quiet
[ $? -le 1 ] || fail "the shards are not merged"
cmp whole/runs.csv night/runs.csv && cmp whole/soak.json night/soak.json ||
    fail "the bytes differ from those of a soak in one piece"
echo "the bytes are those of a soak in one piece"
[ -z "$reason" ] || {
    echo "$reason; the shards were run without it, and hold"
    exit 77
}
