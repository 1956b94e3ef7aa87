#!/bin/bash
# A survey measured on a real Slurm cluster of one node, held byte for byte against the same survey measured
# in one go. Tasks are killed, requeued and sent twice on the way.
#   sudo bash tests/cluster.sh            (HEARWOOD=/path/to/hearwood skips the build)
# Everything of the cluster lies in one temporary folder and listens on 127.0.0.1 only; a Slurm that the
# machine may have is not touched. What was started here, and only that, is stopped at the end.
set -euo pipefail
root=$(cd "$(dirname "$0")/.." && pwd)
[ "$(id -u)" = 0 ] || { echo "cluster.sh: run it as root: daemons are started" >&2; exit 2; }

# ---- programs ------------------------------------------------------------------------------------------
if ! command -v slurmctld >/dev/null || ! command -v slurmd >/dev/null || ! command -v munged >/dev/null; then
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends slurm-wlm munge >/dev/null
fi
if [ -z "${HEARWOOD:-}" ]; then
    . "$root/tests/prepare.sh"
    install_packages "$root/tests/packages.txt"
    build OFF
    HEARWOOD=$root/build/hearwood
fi
export HEARWOOD_REAL=$HEARWOOD

# ---- a cluster of one node -----------------------------------------------------------------------------
work=$(mktemp -d /tmp/hearwood-cluster-XXXXXX)
chmod 755 "$work"
node=$(hostname -s)
say() { echo "cluster.sh: $*"; }
fail() { say "FAILED: $*" >&2; exit 1; }

# is_ours PIDFILE NAME: the process of this number is alive and of this name.
is_ours() { [ -s "$1" ] && [ "$(cat "/proc/$(cat "$1")/comm" 2>/dev/null)" = "$2" ]; }

stop_cluster() {
    local pair
    # What a failed test left running; this configuration knows of no other jobs.
    if is_ours "$work/slurmctld.pid" slurmctld && [ -n "$(squeue -h)" ]; then
        scancel --user=root
        wait_for 30 sh -c '[ -z "$(squeue -h)" ]' || true
    fi
    for pair in slurmd.pid:slurmd slurmctld.pid:slurmctld munge/munged.pid:munged; do
        is_ours "$work/${pair%%:*}" "${pair##*:}" || continue
        kill "$(cat "$work/${pair%%:*}")"
        for _ in $(seq 100); do is_ours "$work/${pair%%:*}" "${pair##*:}" || break; sleep 0.1; done
    done
}
ended() {
    local status=$?
    stop_cluster
    if [ "$status" -eq 0 ] && [ -z "${KEEP:-}" ]; then rm -rf "$work"; else say "kept: $work"; fi
}
trap ended EXIT

wait_for() { # wait_for SECONDS COMMAND...
    local end=$((SECONDS + $1))
    shift
    until "$@" >/dev/null 2>&1; do
        [ "$SECONDS" -lt "$end" ] || return 1
        sleep 0.1
    done
}

install -d -o munge -g munge -m 0755 "$work/munge"
install -d -o munge -g munge -m 0700 "$work/munge/key"
install -d -o slurm -g slurm "$work/state"
install -d "$work/spool"
dd if=/dev/urandom of="$work/munge/key/munge.key" bs=128 count=1 status=none
chown munge:munge "$work/munge/key/munge.key"
chmod 400 "$work/munge/key/munge.key"
runuser -u munge -- munged --key-file="$work/munge/key/munge.key" --socket="$work/munge/socket" \
    --pid-file="$work/munge/munged.pid" --log-file="$work/munge/munged.log" \
    --seed-file="$work/munge/munged.seed"
wait_for 10 sh -c "munge --socket=$work/munge/socket -n | unmunge --socket=$work/munge/socket" ||
    fail "munge does not work: $work/munge/munged.log"

cpus=$(nproc)
memory=$(($(awk '/^MemTotal/{print $2}' /proc/meminfo) / 1024 - 512))
export SLURM_CONF=$work/slurm.conf
# Cgroups and an accounting database are not to be had here; requeued tasks wait for the expiry of
# their credential, which is 5 s instead of two minutes.
cat >"$SLURM_CONF" <<CONF
ClusterName=hearwood
SlurmctldHost=$node(127.0.0.1)
SlurmctldPort=26817
SlurmdPort=26818
SlurmUser=slurm
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$work/munge/socket,cred_expire=5
CredType=cred/munge
CommunicationParameters=NoCtldInAddrAny,NoInAddrAny
StateSaveLocation=$work/state
SlurmdSpoolDir=$work/spool
SlurmctldPidFile=$work/slurmctld.pid
SlurmdPidFile=$work/slurmd.pid
SlurmctldLogFile=$work/slurmctld.log
SlurmdLogFile=$work/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerParameters=batch_sched_delay=0,bf_interval=1,sched_interval=2
MpiDefault=none
ReturnToService=2
KillWait=5
MinJobAge=3600
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
JobCompType=jobcomp/none
MailProg=/bin/true
NodeName=$node NodeAddr=127.0.0.1 CPUs=$cpus RealMemory=$memory State=UNKNOWN
PartitionName=main Nodes=$node Default=YES MaxTime=INFINITE State=UP
CONF
# The controller writes its own files as the user slurm.
touch "$work/slurmctld.log" "$work/slurmctld.pid"
chown slurm "$work/slurmctld.log" "$work/slurmctld.pid"
slurmctld -f "$SLURM_CONF"
wait_for 20 scontrol ping || fail "slurmctld does not answer: $work/slurmctld.log"
slurmd -f "$SLURM_CONF"
node_ready() { [ "$(sinfo -h -n "$node" -o %t)" = idle ]; }
wait_for 60 node_ready || fail "the node does not become ready: $work/slurmd.log"
say "cluster is up: $(sinfo -h -o '%N %t, %c processors')"

# ---- the same survey twice -----------------------------------------------------------------------------
"$HEARWOOD_REAL" demo "$work/single" --quiet >/dev/null
cp -a "$work/single" "$work/parts" # with the files' times
unusable_or_ok() { "$@" || [ $? -eq 1 ]; }
unusable_or_ok "$HEARWOOD_REAL" measure "$work/single" --quiet >/dev/null 2>&1
unusable_or_ok "$HEARWOOD_REAL" tabulate "$work/single" --quiet >/dev/null 2>&1

# In place of the program for tasks 2 and 3: on their first attempt they halt in the middle of their work
# until they are killed.
cat >"$work/halting" <<'HALT'
#!/bin/bash
if [ "$1" = measure ] && [ -z "${SLURM_RESTART_COUNT:-}" ] && [ -e "$HALT_DIR/halt-$SLURM_ARRAY_TASK_ID" ]; then
    rm "$HALT_DIR/halt-$SLURM_ARRAY_TASK_ID"
    "$HEARWOOD_REAL" "$@" &
    until [ -e "$2/hearwood/parts/part-000$SLURM_ARRAY_TASK_ID-of-0004.db-wal" ]; do sleep 0.01; done
    sleep 0.1
    kill -STOP $!
    touch "$HALT_DIR/halted-$SLURM_ARRAY_TASK_ID"
    wait
fi
exec "$HEARWOOD_REAL" "$@"
HALT
chmod +x "$work/halting"
touch "$work/halt-2" "$work/halt-3"
export HEARWOOD=$work/halting HALT_DIR=$work

cd "$work"
state() { scontrol show job "$1" -o 2>/dev/null | grep -o 'JobState=[A-Z_]*' | head -1 | cut -d= -f2; }
in_state() { [ "$(state "$1")" = "$2" ]; }
over() { case "$(state "$1")" in COMPLETED | FAILED | CANCELLED | TIMEOUT | NODE_FAIL) ;; *) false ;; esac; }

read -r array gather < <(sh "$root/docs/cluster/submit.sh" "$work/parts" 4 --cpus-per-task=1)
say "array $array, gather $gather"

# Task 2 is killed in the middle; task 3 is requeued there and runs again from where it stood.
for task in 2 3; do
    wait_for 60 test -e "$work/halted-$task" || fail "task $task did not get to its middle"
done
scancel "${array}_2"
scontrol requeue "${array}_3"
say "task 2 killed, task 3 requeued"
wait_for 120 over "${array}_3" || fail "task 3 did not end"
in_state "${array}_3" COMPLETED || fail "the requeued task 3 is $(state "${array}_3")"
wait_for 60 over "$gather" || fail "gather did not run"
in_state "$gather" FAILED || fail "gather is $(state "$gather") although part 2 is not finished"
grep -q 'is not finished\|are missing: 2' "$work/hearwood-gather-$gather.log" ||
    fail "gather does not name the part that is missing: $(cat "$work/hearwood-gather-$gather.log")"
[ ! -e "$work/parts/hearwood/tables" ] || fail "tables were written from an incomplete set of parts"
say "gather refused: $(grep -m1 'part-0002\|missing' "$work/hearwood-gather-$gather.log" | sed "s|$work/||")"

# Part 2 again, sent twice at once; gather behind both.
export SURVEY=$work/parts PARTS=4
twice=()
for _ in 1 2; do
    twice+=("$(sbatch --parsable --array=2 --cpus-per-task=1 "$root/docs/cluster/measure.sbatch")")
done
again=$(sbatch --parsable --dependency="afterok:${twice[0]}:${twice[1]}" "$root/docs/cluster/gather.sbatch")
wait_for 180 over "$again" || fail "the second gather did not run: $(squeue -h)"
in_state "$again" COMPLETED || fail "the second gather is $(state "$again"): $(cat "$work/hearwood-gather-$again.log")"
say "$(grep joined "$work/hearwood-gather-$again.log")"

compare() {
    diff -r "$work/single/hearwood/tables" "$work/parts/hearwood/tables" ||
        fail "tables differ from those of a single run"
}
compare
# Once more by hand: nothing changes.
unusable_or_ok "$HEARWOOD_REAL" gather "$work/parts" >/dev/null
unusable_or_ok "$HEARWOOD_REAL" tabulate "$work/parts" --quiet >/dev/null 2>&1
compare
# ---- even terms, in parts too -------------------------------------------------------------------------------
unusable_or_ok "$HEARWOOD_REAL" even "$work/single" --quiet >/dev/null 2>&1
export HEARWOOD=$HEARWOOD_REAL SURVEY=$work/parts PARTS=3
even=$(sbatch --parsable --array=1-3 "$root/docs/cluster/even.sbatch")
gathered=$(EVEN=1 sbatch --parsable --dependency="afterany:$even" "$root/docs/cluster/gather.sbatch")
wait_for 180 over "$gathered" || fail "the even terms were not gathered: $(squeue -h)"
in_state "$gathered" COMPLETED || fail "gathering even terms is $(state "$gathered"): $(cat "$work/hearwood-gather-$gathered.log")"
grep -q ' 0 measured now' "$work/hearwood-gather-$gathered.log" || fail "even terms were in no part: $(cat "$work/hearwood-gather-$gathered.log")"
compare
count=$(find "$work/parts/hearwood/tables" -type f | wc -l)
say "passed: $count files of tables are byte for byte those of a single run"
