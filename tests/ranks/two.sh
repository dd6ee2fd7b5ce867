# two.sh MPIEXEC BUILD_FOLDER EXAMPLES: a spread by two ranks is that of one process, byte for byte; faults are said once.
set -eu
mpi=$1 build=$2 examples=$3
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"
# Root may run it in a test's own machine; more ranks than cores are fine here.
export OMPI_ALLOW_RUN_AS_ROOT=1 OMPI_ALLOW_RUN_AS_ROOT_CONFIRM=1 OMPI_MCA_rmaps_base_oversubscribe=1
export OMPI_MCA_btl_vader_single_copy_mechanism=none
motor=$examples/sandpiper-end-burner.json
for pair in "" "--pair --spacing 0.05m --splay 2deg --arm 0.4m"; do
    # shellcheck disable=SC2086 # options
    "$build/slowmatch" spread "$motor" -n 101 --seed 4 $pair --json >one.json
    # shellcheck disable=SC2086
    "$mpi" -n 2 "$build/slowmatch-ranks" "$motor" -n 101 --seed 4 $pair --json >two.json
    cmp one.json two.json
done
code=0
"$mpi" -n 2 "$build/slowmatch-ranks" "$motor" -n 1 >out 2>err || code=$?
[ "$code" -eq 2 ] || { echo "exit $code, not 2" >&2; exit 1; }
[ "$(grep -c 'is a whole number' err)" -eq 1 ] || { cat err >&2; exit 1; }
echo "the same bits"
