#!/usr/bin/env bash
# STEP files of demo parts, random designs and every feature, read by an independent geometry library: each must be
# one valid closed solid with the evaluator's volume, box and drilled holes. The files come from
# `cargo test --test handoff_solid`. A spoilt file must be found out.
#
#   tests/geometry/check.sh [FOLDER]
set -euo pipefail
cd "$(dirname "$0")"
folder=${1:-../../target/tmp/handoff}

if [ ! -d /usr/include/opencascade ] || ! command -v c++ >/dev/null 2>&1; then
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
        libocct-data-exchange-dev libocct-modeling-algorithms-dev libocct-modeling-data-dev \
        libocct-foundation-dev g++ >/dev/null
fi

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
c++ -O1 -std=c++17 -Wno-deprecated-declarations -isystem /usr/include/opencascade read_step.cpp -o "$work/read_step" \
    -lTKSTEP -lTKSTEPBase -lTKXSBase -lTKShHealing -lTKTopAlgo -lTKGeomAlgo -lTKBRep -lTKGeomBase -lTKG3d -lTKG2d \
    -lTKMath -lTKernel

shopt -s nullglob
files=("$folder"/*.step)
if [ ${#files[@]} -lt 30 ]; then
    echo "only ${#files[@]} files in $folder: run the test handoff_solid first" >&2
    exit 1
fi
"$work/read_step" "${files[@]}"

# Spoilt on purpose: the radius of the holes, a face left out, a corner moved. (An edge run backwards or a face turned
# inside out is mended by the library in silence; the test finds these.)
sample=$folder/ring-drilled
spoil() {
    sed -e "$2" "$sample.step" >"$work/$1.step"
    cp "$sample.expect" "$work/$1.expect"
    if cmp -s "$sample.step" "$work/$1.step"; then
        echo "$1 spoils nothing" >&2
        exit 1
    fi
    if "$work/read_step" "$work/$1.step" >"$work/$1.txt" 2>&1; then
        echo "$1 was not found out" >&2
        cat "$work/$1.txt" >&2
        exit 1
    fi
    echo "$1: found out"
}
face=$(grep -o '^#[0-9]*=ADVANCED_FACE' "$sample.step" | head -1 | cut -d= -f1)
spoil larger-holes 's/^\(#[0-9]*=\(CIRCLE\|CYLINDRICAL_SURFACE\)(.*\),2\.);$/\1,2.001);/'
spoil face-left-out "/CLOSED_SHELL/s/$face,//"
corner=$(grep -o "VERTEX_POINT('',#[0-9]*" "$sample.step" | head -1 | cut -d'#' -f2)
spoil corner-moved "s/^#$corner=CARTESIAN_POINT('',(/&1/"
echo "${#files[@]} files are right, spoilt ones are found out"
