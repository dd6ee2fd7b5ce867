#!/bin/sh
# All tests from a fresh clone: installs what is missing, builds with gcc and, under the address and undefined-behaviour
# sanitizers, with clang, runs every test in both, and says how much of each room the tests walk through. Stops at the first
# build with a failure.
#
#     sh tests/run.sh          everything
#     sh tests/run.sh quick    gcc alone
set -eu
cd "$(dirname "$0")/.."

size=${1:-full}
case $size in quick | full) ;; *) echo "usage: sh tests/run.sh [quick]" >&2; exit 2 ;; esac

sh src/cmake/packages.sh build pages test web

counts=

# Builds with the compiler in build/test-<compiler>, with the further cmake options, and runs the tests there.
check() { # title compiler [option...]
    title=$1
    folder=build/test-$2
    log=$folder/ctest.log
    echo "== $title: building in $folder/"
    CC=$2
    export CC
    shift 2
    cmake -S . -B "$folder" -G Ninja -DSM_TESTS=ON -DSM_WERROR=ON "$@" >/dev/null
    cmake --build "$folder" -- --quiet

    echo "== $title: testing"
    failed=0
    ctest --test-dir "$folder" -j2 --output-on-failure --no-tests=error >"$log" 2>&1 || failed=1
    if [ $failed -ne 0 ]; then grep -Ev '^ *Start | Passed ' "$log"; fi
    counts="$counts${counts:+; }$title: $(count "$log")"
    if [ $failed -ne 0 ]; then
        echo "tests FAILED: $counts"
        exit 1
    fi
}

# "12 passed, 0 failed, 1 skipped" from ctest's own summary.
count() { # log
    sed -n 's/^[0-9]*% tests passed, \([0-9]*\) tests failed out of \([0-9]*\)$/\1 \2/p' "$1" | {
        read -r failed all || { failed=0 all=0; }
        skipped=$(grep -c '^[[:space:]]*[0-9]* - .*(Skipped)$' "$1" || true)
        echo "$((all - failed - skipped)) passed, $failed failed, $skipped skipped"
    }
}

check gcc gcc
if [ "$size" = quick ]; then
    echo "tests passed: $counts"
    exit 0
fi

check "clang with sanitizers" clang -DSM_SANITIZE=address,undefined -DCMAKE_BUILD_TYPE=Debug \
    -DCMAKE_C_FLAGS_DEBUG="-g -O1"

# Lines that the tests run through, by room; a third way to compile them, too.
walk() {
    folder=build/test-coverage
    echo "== coverage: building in $folder/"
    CC=gcc cmake -S . -B "$folder" -G Ninja -DSM_TESTS=ON -DSM_COVERAGE=ON -DCMAKE_BUILD_TYPE=Debug \
        -DCMAKE_C_FLAGS_DEBUG="-g -O1" >/dev/null
    cmake --build "$folder" -- --quiet
    echo "== coverage: testing"
    if ! ctest --test-dir "$folder" -j2 -R '^(unit|cli|docs)' -E bad_input --output-on-failure >"$folder/ctest.log" 2>&1; then
        grep -Ev '^ *Start | Passed ' "$folder/ctest.log"
        echo "tests FAILED: gcc for coverage: $(count "$folder/ctest.log")"
        exit 1
    fi
    counts="$counts; gcc for coverage: $(count "$folder/ctest.log")"
    gcovr -r . --filter src/ --object-directory "$folder" --csv "$folder/coverage.csv"
    awk -F, 'NR > 1 { split($1, at, "/"); lines[at[2]] += $2; run[at[2]] += $3; all += $2; walked += $3 }
        END { for (room in lines) printf "%-12s %5.1f %% of %5d lines\n", room, 100 * run[room] / lines[room], lines[room] | "sort"
              close("sort"); printf "%-12s %5.1f %% of %5d lines\n", "all", 100 * walked / all, all }' "$folder/coverage.csv"
}
walk

echo "tests passed: $counts"
