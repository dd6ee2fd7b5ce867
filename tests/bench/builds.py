"""The same benchmarks from two builds, side by side: builds.py BUILD OTHER [WHAT_OTHER_IS].

Prints for every line with a time how many times as long OTHER takes, and its error if it tells one. So what a portable build costs beside one for
this processor alone:

    cmake -S . -B build-native -G Ninja -DSM_BENCH=ON -DCMAKE_C_FLAGS="-march=native" && ninja -C build-native
    python3 tests/bench/builds.py build-native build
"""

import os
import re
import statistics
import subprocess
import sys

source = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
TIME = re.compile(r"([\d.]+) (us|ms|s)\b")
ERROR = re.compile(r"error[^\d]*([\d.]+(?:e[-+]?\d+)?)")
UNITS = {"us": 1e-6, "ms": 1e-3, "s": 1.0}
PROGRAMS = {"geometry": [], "revolved": [], "solids": [], "fronts": [], "spread": [source, "1000"]}
LIMIT = 300  # [s]
RUNS = 3


def lines(build, name):
    """Those of one run that tell a time: what each is of, the time [s], and the error."""
    program = os.path.join(build, "tests", "bench", "bench_" + name)
    if not os.path.exists(program):
        return []
    said = subprocess.run([program, *PROGRAMS[name]], capture_output=True, text=True, check=True, timeout=LIMIT).stdout
    found = []
    for line in said.splitlines():
        took = TIME.search(line)
        if took:
            error = ERROR.search(line)
            found.append((" ".join(line[: took.start()].split()), float(took.group(1)) * UNITS[took.group(2)], error.group(1) if error else ""))
    return found


def compare(build, other, name):
    """Both in turns, least times of each, for a neighbour's work falls on both alike."""
    runs = {build: [], other: []}
    for _ in range(RUNS):
        for folder in runs:
            runs[folder].append(lines(folder, name))
    ratios = []
    for i, (what, _, _) in enumerate(runs[build][0]):
        ours, theirs = (min(run[i][1] for run in runs[folder]) for folder in (build, other))
        error = runs[other][0][i][2]
        if ours > 0.0 and "GEOS" not in what and "net," not in what:
            ratios.append(theirs / ours)
            print(f"  {what[:52]:52} {1e3 * ours:10.3f} ms, other {1e3 * theirs:10.3f} ms  x{theirs / ours:.2f}"
                  + (f"  error {error}" if error else ""), flush=True)
    return ratios


def main():
    if len(sys.argv) not in (3, 4):
        sys.exit(__doc__)
    build, other = (os.path.abspath(folder) for folder in sys.argv[1:3])
    print(f"the other: {sys.argv[3] if len(sys.argv) == 4 else os.path.basename(other)}")
    ratios = []
    for name in PROGRAMS:
        ratios += compare(build, other, name)
    if not ratios:
        sys.exit("nothing to compare: build both with -DSM_BENCH=ON")
    print(f"all lines together, in the middle: x{statistics.median(ratios):.2f}; at most {max(ratios):.2f}")


if __name__ == "__main__":
    main()
