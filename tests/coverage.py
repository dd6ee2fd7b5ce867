"""How much of each room the tests walked through, in a build by clang with -DSM_COVERAGE=ON whose tests were run.

    python3 tests/coverage.py BUILD [--lines]

--lines lists the lines of src/ that no test ran, FILE:FIRST-LAST. Needs llvm-profdata and llvm-cov.
"""

import collections
import glob
import json
import os
import subprocess
import sys

source = os.path.realpath(os.path.join(os.path.dirname(__file__), "..", "src"))


def programs(build):
    """Every program and shared library of the build that carries counters: those are of ours."""
    for folder, _, names in os.walk(build):
        for name in names:
            path = os.path.join(folder, name)
            if not os.path.islink(path) and os.access(path, os.X_OK) and "CMakeFiles" not in folder:
                with open(path, "rb") as file:
                    if file.read(4) == b"\x7fELF":
                        yield path


def export(build, *options):
    merged = os.path.join(build, "coverage", "all.profdata")
    counts = glob.glob(os.path.join(build, "coverage", "*.profraw"))
    subprocess.run(["llvm-profdata", "merge", "-sparse", "-o", merged, *counts], check=True)
    first, *others = programs(build)
    done = subprocess.run(["llvm-cov", "export", "-instr-profile", merged, *options, first,
                           *(f"-object={path}" for path in others)], check=True, capture_output=True)
    for file in json.loads(done.stdout)["data"][0]["files"]:
        path = os.path.realpath(os.path.join(build, file["filename"]))
        if path.startswith(source + os.sep):
            yield os.path.relpath(path, source), file


def print_rooms(build):
    rooms = collections.defaultdict(lambda: [0, 0])
    for path, file in export(build, "-summary-only"):
        for room in (path.split(os.sep)[0], "all"):
            rooms[room][0] += file["summary"]["lines"]["count"]
            rooms[room][1] += file["summary"]["lines"]["covered"]
    for room, (lines, run) in sorted(rooms.items(), key=lambda item: (item[0] == "all", item[0])):
        print(f"{room:<12} {100 * run / lines:5.1f} % of {lines:5d} lines")


def print_lines(build):
    """A segment is [line, column, count, has count, begins a region, is a gap]; it lasts until the next."""
    for path, file in sorted(export(build), key=lambda item: item[0]):
        segments = file["segments"]
        for one, next_one in zip(segments, segments[1:]):
            if one[3] and one[2] == 0 and not one[5]:
                print(f"{path}:{one[0]}-{next_one[0]}")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    (print_lines if "--lines" in sys.argv else print_rooms)(sys.argv[1])
