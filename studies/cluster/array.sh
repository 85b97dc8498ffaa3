#!/bin/sh
# A sampled study on a Slurm cluster: one array task a shard, then one job that gathers them.
#
#   sh studies/cluster/array.sh STUDY SHARDS RESULTS [AT_ONCE]
#
# `fretwork` must be on the PATH of the nodes, or named by FRETWORK; STUDY and RESULTS must lie on a disk that they
# share. The gathering job runs whatever became of the shards (afterany), and says which is missing: evaluate that
# one again (`fretwork run STUDY --shard 3/8 --results RESULTS/shards`), and gather again.
set -eu
[ $# -ge 3 ] || { sed -n '2,9s/^# \{0,1\}//p' "$0" >&2; exit 2; }
study=$1 shards=$2 results=$3 at_once=${4:-$2}
program=${FRETWORK:-fretwork}
mkdir -p "$results/log"

array=$(sbatch --parsable --job-name=fretwork --array="1-$shards%$at_once" \
    --cpus-per-task="${CPUS:-1}" --output="$results/log/shard-%a.txt" --wrap \
    "'$program' run '$study' --shard \$SLURM_ARRAY_TASK_ID/$shards --threads \$SLURM_CPUS_PER_TASK --results '$results/shards'")
gather=$(sbatch --parsable --job-name=fretwork-gather --dependency="afterany:$array" \
    --cpus-per-task="${CPUS:-1}" --output="$results/log/gather.txt" --wrap \
    "'$program' gather '$results'/shards/* --threads \$SLURM_CPUS_PER_TASK --results '$results'")
echo "shards: job $array; gathering: job $gather; logs in $results/log"
