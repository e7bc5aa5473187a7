#!/bin/bash
# The README's array job on a cluster of one node, started for this test alone: the parts put
# together are the serial bytes, and every part names the same books.
set -u
work=$TMPDIR/cluster
mkdir -p "$work/state" "$work/spool"
program=$TALLYSTONE
books=$PWD/pricebooks
sheet=$PWD/demo/halo.csv
failed=0

holds() { # NAME COMMAND...
    name=$1
    shift
    if "$@"; then
        echo "ok $name"
    else
        echo "not ok $name"
        failed=1
    fi
}

# Two ports that nobody listens on now.
ports=$(/usr/bin/python3 -c '
import socket
held = [socket.socket() for _ in range(2)]
for one in held:
    one.bind(("127.0.0.1", 0))
print(*(one.getsockname()[1] for one in held))')
host=$(hostname -s)
export SLURM_CONF=$work/slurm.conf
cat >"$SLURM_CONF" <<CONF
ClusterName=one
SlurmctldHost=$host(127.0.0.1)
SlurmUser=$(id -un)
SlurmdUser=$(id -un)
AuthType=auth/munge
AuthInfo=socket=$work/munge.socket
CryptoType=crypto/munge
MpiDefault=none
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerType=sched/builtin
JobAcctGatherType=jobacct_gather/none
ReturnToService=2
StateSaveLocation=$work/state
SlurmdSpoolDir=$work/spool
SlurmctldPidFile=$work/slurmctld.pid
SlurmdPidFile=$work/slurmd.pid
SlurmctldLogFile=$work/slurmctld.log
SlurmdLogFile=$work/slurmd.log
SlurmctldPort=${ports% *}
SlurmdPort=${ports#* }
NodeName=$host NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
CONF
head -c 1024 /dev/urandom >"$work/munge.key"
chmod 400 "$work/munge.key"

# shellcheck disable=SC2317
stop() {
    for daemon in slurmctld slurmd munged; do
        [ ! -s "$work/$daemon.pid" ] || kill "$(cat "$work/$daemon.pid")" 2>/dev/null
    done
}
trap stop EXIT

start() {
    /usr/sbin/munged --force --key-file="$work/munge.key" --socket="$work/munge.socket" \
        --pid-file="$work/munged.pid" --log-file="$work/munged.log" \
        --seed-file="$work/munged.seed" &&
        /usr/sbin/slurmctld -i && /usr/sbin/slurmd || return 1
    for _ in $(seq 50); do
        sinfo -h -t idle -o %n 2>/dev/null | grep -q . && return 0
        sleep 0.2
    done
    return 1
}

if ! start >"$work/said" 2>&1; then
    echo 'not ok a cluster of one node starts'
    cat "$work"/said "$work"/*.log
    exit 1
fi
echo 'ok a cluster of one node starts'

cd "$work" || exit 1
{
    echo 'variant,ring/size,ring/alloy,shank/width top'
    for i in $(seq 200); do
        case $((i % 3)) in 0) alloy='750 yellow' ;; 1) alloy='platinum 950' ;; *) alloy='585 rose' ;; esac
        echo "v$i,$((5 + i % 7)),$alloy,2.$((i % 10))"
    done
} >season.csv
cp "$sheet" ring.csv
ln -s "$books" pricebooks
mkdir bin
ln -s "$program" bin/tallystone
export PATH="$work/bin:$PATH"
tallystone variants ring.csv season.csv >serial.csv
holds 'the table is priced in one piece' test "$(wc -l <serial.csv)" -eq 201

# The job is the README's own, but for the number of parts.
{
    echo '#!/bin/sh'
    sed -n '/^#SBATCH --array/,/^```/p' "$OLDPWD/README.md" | grep -v '^```' | sed 's/64/4/g'
} >job
# shellcheck disable=SC2016
holds 'the README shows the job' grep -q 'shard "$SLURM_ARRAY_TASK_ID/4"' job
holds 'the array runs to its end' timeout 100 sbatch --wait --output=/dev/null job >said 2>&1
grep -v '^Submitted' said
cat part-*.csv >priced.csv
holds 'its parts put together are the serial bytes' cmp priced.csv serial.csv
holds 'every part says by which books' test "$(grep -lo 'books [0-9a-f]*' part-*.log | wc -l)" -eq 4
holds 'and all by the same' test "$(grep -ho 'books .*' part-*.log | sort -u | wc -l)" -eq 1

# Books that changed between two parts are noticed.
rm pricebooks
cp -r "$books" pricebooks
echo '# another remark' >>pricebooks/metals.csv
tallystone variants ring.csv season.csv --shard 4/4 >part-04.csv 2>part-04.log
holds 'a part priced by other books shows' \
    test "$(grep -ho 'books .*' part-*.log | sort -u | wc -l)" -eq 2
exit "$failed"
