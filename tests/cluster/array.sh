#!/usr/bin/env bash
# A sampled study as a job array on a Slurm cluster of one node, gathered, is the run in one piece to the byte:
#
#   bash tests/cluster/array.sh PATH/TO/fretwork
#
# Where the cluster can't be started (no root, no Slurm) it says so and passes.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
export FRETWORK
FRETWORK=$(realpath "$1")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

sed '/^\[explore\]/,$d' "$root/studies/yaw-ring.toml" >"$work/sampled.toml"
printf '[explore]\nplan = "sobol"\nevaluations = 20000\ntruth = "beam"\nproofs = 0\n' >>"$work/sampled.toml"

inside() {
    sh "$root/studies/cluster/array.sh" "$work/sampled.toml" 4 "$work/results" 2
    for _ in $(seq 240); do
        [ -z "$(squeue --noheader)" ] && break
        sleep 0.5
    done
    cat "$work/results/log/gather.txt"
}
export -f inside
export root work
code=0
bash "$here/one_node.sh" bash -c inside || code=$?
if [ "$code" = 75 ]; then
    echo "cluster: not started here, not tested"
    exit 0
fi
[ "$code" = 0 ]
"$FRETWORK" run "$work/sampled.toml" --results "$work/whole" >/dev/null
diff -r "$work/whole/sampled-001/designs" "$work/results/sampled-001/designs"
for file in front.csv trace.csv; do
    cmp "$work/whole/sampled-001/$file" "$work/results/sampled-001/$file"
done
echo "cluster: 4 shards as a job array, gathered: the same bytes as the run in one piece"
