#!/bin/sh
# From a fresh clone to the main job: installs what is missing, builds, compares two example motors and draws them.
#
#     sh examples/run.sh
set -eu
cd "$(dirname "$0")/.."

sh src/cmake/packages.sh build

echo "== building in build/"
cmake -S . -B build -G Ninja >/dev/null
cmake --build build -- --quiet

plot=build/sandpiper.svg
set -- build/slowmatch compare examples/sandpiper-end-burner.json examples/sandpiper-cored.json --plot "$plot"
echo "== running: $*"
"$@"
[ -s "$plot" ] || { echo "there is no plot in $plot" >&2; exit 1; }
echo "== plot: $plot"
