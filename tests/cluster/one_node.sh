#!/usr/bin/env bash
# A Slurm cluster of one node on this machine's loopback, as long as a command runs:
#
#   bash tests/cluster/one_node.sh COMMAND...
#
# Needs root, and Debian's slurm-wlm and munge. Everything it writes is in a folder of its own that is removed.
# Exit code 75: the cluster did not start.
set -euo pipefail
home=$(mktemp -d)
chmod 755 "$home"
node=$(hostname -s)
mkdir "$home"/{munge,state,spool}
started=()

stop() {
    local code=$?
    for ((k = ${#started[@]} - 1; k >= 0; k--)); do
        kill "${started[k]}" 2>/dev/null || true
        wait "${started[k]}" 2>/dev/null || true
    done
    [ ! -f "$home/munge/pid" ] || kill "$(cat "$home/munge/pid")" 2>/dev/null || true
    rm -rf "$home" 2>/dev/null || { sleep 1; rm -rf "$home" || true; }
    exit "$code"
}
trap stop EXIT

head -c 1024 /dev/urandom >"$home/munge/key"
chmod 700 "$home/munge"
chmod 400 "$home/munge/key"
chown -R munge: "$home/munge"
chmod 711 "$home/munge"
runuser -u munge -- munged --socket="$home/munge/socket" --key-file="$home/munge/key" \
    --pid-file="$home/munge/pid" --log-file="$home/munge/log" --seed-file="$home/munge/seed"

cat >"$home/slurm.conf" <<CONF
ClusterName=fretwork
SlurmctldHost=$node(127.0.0.1)
SlurmctldPort=16817
SlurmdPort=16818
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$home/munge/socket
CredType=cred/munge
StateSaveLocation=$home/state
SlurmdSpoolDir=$home/spool
SlurmctldPidFile=$home/slurmctld.pid
SlurmdPidFile=$home/slurmd.pid
SlurmctldLogFile=$home/slurmctld.log
SlurmdLogFile=$home/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
MpiDefault=none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
CommunicationParameters=NoInAddrAny,NoCtldInAddrAny
ReturnToService=2
SchedulerParameters=sched_interval=2,bf_interval=2
NodeName=$node NodeAddr=127.0.0.1 CPUs=$(nproc) State=UNKNOWN
PartitionName=all Nodes=$node Default=YES MaxTime=INFINITE State=UP
CONF
export SLURM_CONF=$home/slurm.conf

slurmctld -D >/dev/null 2>&1 &
started+=($!)
slurmd -D >/dev/null 2>&1 &
started+=($!)
for _ in $(seq 60); do
    [ "$(sinfo --noheader --format=%T 2>/dev/null)" = idle ] && break
    sleep 0.5
done
if [ "$(sinfo --noheader --format=%T 2>/dev/null)" != idle ]; then
    echo "the cluster did not start:" >&2
    tail -n 5 "$home"/slurm*.log >&2 || true
    exit 75
fi
"$@"
