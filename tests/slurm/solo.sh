#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# solo.sh up|down DIRECTORY - a Slurm of one machine, on the loopback interface only, with all that
# is its own in DIRECTORY. `up` says why it can't and ends with status 77 where there is none to
# start.
set -u
command=$1 state=$2

cannot() {
    echo "no Slurm here: $1"
    exit 77
}

configure() {
    host=$(hostname -s)
    memory=$(awk '/MemTotal/{print int($2/1024*0.9)}' /proc/meminfo)
    cat >"$state/slurm.conf" <<CONF
ClusterName=solo
SlurmctldHost=$host(127.0.0.1)
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$state/run/munge.sock,cred_expire=10
CredType=cred/munge
SlurmctldPort=16817
SlurmdPort=16818
CommunicationParameters=NoCtldInAddrAny,NoInAddrAny
StateSaveLocation=$state/ctld
SlurmdSpoolDir=$state/spool
SlurmctldPidFile=$state/run/slurmctld.pid
SlurmdPidFile=$state/run/slurmd.pid
SlurmctldLogFile=$state/log/slurmctld.log
SlurmdLogFile=$state/log/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SwitchType=switch/none
MpiDefault=none
ReturnToService=2
SchedulerType=sched/backfill
SchedulerParameters=sched_min_interval=0,batch_sched_delay=0
SelectType=select/cons_tres
SelectTypeParameters=CR_Core_Memory
DefMemPerCPU=256
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
JobCompType=jobcomp/none
KillWait=5
NodeName=$host NodeAddr=127.0.0.1 CPUs=$(nproc) RealMemory=$memory State=UNKNOWN
PartitionName=soak Nodes=$host Default=YES MaxTime=INFINITE State=UP
CONF
}

up() {
    [ "$(id -u)" -eq 0 ] || cannot "only root can start it"
    for program in munged slurmctld slurmd sbatch scontrol squeue scancel; do
        command -v $program >/dev/null || cannot "$program is missing (slurm-wlm, munge)"
    done
    mkdir -p "$state/ctld" "$state/spool" "$state/log" "$state/run" "$state/munge"
    chmod 700 "$state/munge"
    chmod 755 "$state" "$state/run"
    dd if=/dev/urandom of="$state/munge/key" bs=128 count=1 status=none
    chmod 600 "$state/munge/key"
    configure
    munged --force --socket="$state/run/munge.sock" --key-file="$state/munge/key" \
        --pid-file="$state/run/munged.pid" --log-file="$state/log/munged.log" \
        --seed-file="$state/munge/seed" || cannot "munged does not start"
    slurmctld -f "$state/slurm.conf" || cannot "slurmctld does not start"
    slurmd -f "$state/slurm.conf" -N "$(hostname -s)" || cannot "slurmd does not start"
    for second in $(seq 300); do
        SLURM_CONF=$state/slurm.conf sinfo -h -o %t 2>/dev/null | grep -q idle && exit 0
        sleep 1
    done
    cannot "the machine does not become idle"
}

# Stops what `up` started, by the numbers that were kept.
down() {
    for daemon in slurmd slurmctld munged; do
        file=$state/run/$daemon.pid
        [ -s "$file" ] || continue
        number=$(cat "$file")
        [ "$(cat "/proc/$number/comm" 2>/dev/null)" = $daemon ] && kill "$number"
        for moment in 1 2 3 4 5 6 7 8 9 10; do
            [ -d "/proc/$number" ] || break
            sleep 0.5
        done
    done
}

case $command in
up) up ;;
down) down ;;
esac
