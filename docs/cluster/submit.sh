#!/bin/sh
# Sends a survey to Slurm in parts, with a job behind them that joins the parts and writes the tables.
#   sh submit.sh SURVEY PARTS [sbatch options for both jobs, such as --partition=long --account=forest]
# Prints the number of the array's job and that of the gathering job.
set -eu
[ $# -ge 2 ] || { sed -n '2,4s/^# //p' "$0" >&2; exit 2; }
SURVEY=$(cd "$1" && pwd) PARTS=$2
shift 2
export SURVEY PARTS
here=$(cd "$(dirname "$0")" && pwd)

array=$(sbatch --parsable --array="1-$PARTS" "$@" "$here/measure.sbatch")
# afterany, not afterok: gather itself refuses when a part is missing, and afterok never comes true
# again for an array of which one task has failed once (docs/cluster.md).
gather=$(sbatch --parsable --dependency="afterany:$array" "$@" "$here/gather.sbatch")
echo "$array $gather"
