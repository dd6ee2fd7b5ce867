#!/bin/sh
# All tests from a fresh clone: installs what is missing, builds with gcc and, under the address and undefined-behaviour
# sanitizers, with clang, runs every test in both, and says how much of each room the tests walk through; then watches what
# runs on several threads under the thread sanitizer. Stops at the first build with a failure.
#
#     sh tests/run.sh          everything
#     sh tests/run.sh quick    gcc alone
set -eu
cd "$(dirname "$0")/.."

size=${1:-full}
case $size in quick | full) ;; *) echo "usage: sh tests/run.sh [quick]" >&2; exit 2 ;; esac

sh src/cmake/packages.sh build pages test web ranks

# Two tests at a time have as many threads again as there are processors: those that wait must not do so by turning round.
export OMP_WAIT_POLICY=passive

counts=

# Builds in build/test-<name> with the compiler and the further cmake options, and runs the tests there: all of them, or with
# only=NAME the target and the tests of that name.
check() { # title name compiler [option...]
    title=$1
    folder=build/test-$2
    log=$folder/ctest.log
    echo "== $title: building in $folder/"
    CC=$3
    export CC
    shift 3
    cmake -S . -B "$folder" -G Ninja -DSM_TESTS=ON -DSM_WERROR=ON "$@" >/dev/null
    cmake --build "$folder" --target "${only:-all}" -- --quiet

    echo "== $title: testing"
    failed=0
    ctest --test-dir "$folder" -R "^${only:-.}" -j2 --output-on-failure --no-tests=error >"$log" 2>&1 || failed=1
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

check gcc gcc gcc
if [ "$size" = quick ]; then
    echo "tests passed: $counts"
    exit 0
fi

check "clang with sanitizers" clang clang -DSM_SANITIZE=address,undefined -DSM_COVERAGE=ON -DCMAKE_BUILD_TYPE=Debug \
    -DCMAKE_C_FLAGS_DEBUG="-g -O1" -DCMAKE_DISABLE_FIND_PACKAGE_MPI=ON
echo "== lines that those tests ran"
python3 tests/coverage.py build/test-clang
echo "== error messages that no test provoked"
python3 tests/messages.py build/test-clang || true # told, and no failure of its own

only=threads
check "clang's thread sanitizer" threads clang -DSM_SANITIZE=thread -DCMAKE_BUILD_TYPE=Debug -DCMAKE_C_FLAGS_DEBUG="-g -O1"

echo "tests passed: $counts"
