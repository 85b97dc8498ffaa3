#!/usr/bin/env bash
# Makes plot.js, space.js, record.js and LICENCES from npm; with --check, makes them elsewhere and compares.
set -euo pipefail
cd "$(dirname "$0")"

npm ci --ignore-scripts --no-audit --no-fund --silent
if [ "${1:-}" = "--check" ]; then
    fresh=$(mktemp -d)
    trap 'rm -rf "$fresh"' EXIT
    node build.mjs "$fresh"
    for file in plot.js space.js record.js LICENCES; do
        cmp "$file" "$fresh/$file" || { echo "$file is not what build.sh makes: run it and commit what it makes" >&2; exit 1; }
    done
    echo "the page's libraries are as committed"
else
    node build.mjs .
fi
