"""Runs every benchmark once, one after the other, prints what they say and writes it as JSON.

    cmake -S . -B build -G Ninja -DSM_BENCH=ON && ninja -C build
    python3 tests/bench/all.py build [speed.json [docs/performance.md]]

NATIVE=build-native adds a build for this processor alone, made likewise with -DCMAKE_C_FLAGS=-march=native, beside it.

Each program sets our time beside a reference implementation's in the same run, with the error beside every time; ratios are read
out of its lines ("41 x", "x0.9"). Run it on a quiet machine; the JSON says how busy it was. The page shows the same lines, for
people. A program that takes more than five minutes is ended, and the page says so. Python's standard library only; bench_lanes
and bench_marching also ask PYTHON (/usr/bin/python3 if not set) for SciPy and scikit-fmm, and leave their rows out without.
"""

import json
import os
import platform
import re
import signal
import subprocess
import sys
import textwrap
import time

source = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
RATIO = re.compile(r"(?<![\w.])(?:x([\d.]+)|([\d.]+) ?x)(?![\w.])")
NUMBER = r"[-+]?[\d.]+(?:e[-+]?\d+)?"
LIMIT = 300  # for a program [s]
ERROR = re.compile(rf"error ({NUMBER})")


def programs(build):
    """Name and command of those that were built."""
    slowmatch = os.path.join(build, "slowmatch")
    bench = lambda name: os.path.join(build, "tests", "bench", "bench_" + name)
    commands = {"geometry": [], "revolved": [], "solids": [], "marching": [source], "fronts": [], "burn": [slowmatch, source],
                "lanes": [source], "spread": [source], "lift": [source]}
    for name, arguments in commands.items():
        if os.path.exists(bench(name)):
            yield name, [bench(name), *arguments]
    yield "records", [sys.executable, os.path.join(source, "tests", "bench", "records.py"), slowmatch, source]
    if "NATIVE" in os.environ:
        yield "builds", [sys.executable, os.path.join(source, "tests", "bench", "builds.py"), os.environ["NATIVE"], build,
                         "for any processor of its kind"]


def processor():
    with open("/proc/cpuinfo", encoding="utf-8") as file:
        found = re.search(r"^model name\s*:\s*(.*)$", file.read(), re.M)
    return found.group(1) if found else platform.machine()


def row(line):
    """A line as it stands, and the ratio and the error that it tells."""
    ratio, error = RATIO.search(line), ERROR.search(line)
    told = {"line": line.rstrip()}
    if ratio:
        told["ratio"] = float(ratio.group(1) or ratio.group(2))
    if error:
        told["error"] = float(error.group(1))
    return told


PAGE_HEAD = """# How fast it is

Written by `python3 tests/bench/all.py build speed.json docs/performance.md` from one run of every benchmark, one after the
other; `ninja` builds them with `-DSM_BENCH=ON`. Times depend on the machine and on what else it does. So each of ours stands
beside a reference implementation's, timed in the same run, and every time has its error beside it, for speed at another accuracy
is no comparison. *x* after a line is how many times as long the reference takes, or as the line itself says.

Machine: {processor}, {processors} processors; {date}; load {load_before:.2f} when it began.
"""

ABOUT = {
    "geometry": ("Plane sections", "Outlines cut at each distance burned, with and without their symmetry, against GEOS's buffer of "
                 "the same outline with 64 pieces to a quarter of a circle. GEOS takes any polygon, which is more than is asked of it "
                 "here. The last line is a grain's whole table."),
    "revolved": ("Bodies of revolution", "Exact cuts of the meridian against a plain net of exact distances, from which fronts are "
                 "taken by straight lines: the burning area alone by both, then what all integrals and a grain's whole table take."),
    "solids": ("Grains that vary along the axis", "One finocyl by slices and by patches. The ratio is against the first line."),
    "marching": ("Fast marching", "The same finocyl against scikit-fmm: areas of 200 fronts, then distances at the nodes of a cube. "
                 "Fast marching allows for speeds that differ from place to place, which is more than is asked of it here. The ratio is how "
                 "many times as long scikit-fmm takes; for the second table that of order 2."),
    "fronts": ("Meshes and fronts round edges", "Tables of a ball's mesh and of a bore under a sleeve, each against its closed form, "
               "with more and more boxes: there is no reference implementation in these lines, only how time and error go."),
    "burn": ("One motor", "Through the library with all columns, against GSL's integrators on the same equations without events and "
             "columns; and the whole program, from start to end."),
    "lanes": ("Many motors at once", "Eight motors to a vector against GSL and SciPy on the same chamber, one motor on one processor; "
              "then a hundred thousand stored curves."),
    "spread": ("Spreads", "Motors drawn from their tolerances, with one thread and with two; the ratio is of those."),
    "lift": ("Landing windows", "A flight and its window against GSL's integrator; then whole studies."),
    "records": ("Records and fits", "The stand's records and fits against `wc` counting the same file."),
    "builds": ("What a build for any processor costs", "The same benchmarks from a build for this processor alone, and from the usual "
               "one (\"other\"). The ratio is how many times as long the usual one takes."),
}


def write_page(path, table):
    text = PAGE_HEAD.format(**table)
    for program in table["programs"]:
        lines = "\n".join(row["line"] for row in program["rows"])
        title, about = ABOUT[program["name"]]
        fault = f"\n{program['fault']}.\n" if "fault" in program else ""
        text += f"\n## {title}\n\n{textwrap.fill(about, 120)}\n\n```\n{lines}\n```\n{fault}"
    put(path, text)


def put(path, text):
    with open(path + ".new", "w", encoding="utf-8") as file:
        file.write(text)
    os.replace(path + ".new", path)


def run(command, environment):
    """What a program says, and what is wrong with how it ended, or None. At the limit it and all that it started are ended."""
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
                          start_new_session=True) as process:
        try:
            said, complaints = process.communicate(timeout=LIMIT)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            said, _ = process.communicate()
            return said, f"It did not end in {LIMIT} s and was given up"
    return said, f"It failed: exit {process.returncode} {complaints[-500:]}".strip() if process.returncode else None


def main():
    if len(sys.argv) not in (2, 3, 4):
        sys.exit(__doc__)
    build = os.path.abspath(sys.argv[1])
    environment = {"PYTHON": "/usr/bin/python3", **os.environ}
    table = {"processor": processor(), "processors": os.cpu_count(), "date": time.strftime("%Y-%m-%d"),
             "load_before": os.getloadavg()[0], "programs": []}
    failed = 0
    for name, command in programs(build):
        print(f"== {name}", flush=True)
        said, fault = run(command, environment)
        print(said, end="", flush=True)
        told = {"name": name, "rows": [row(line) for line in said.splitlines() if line.strip()]}
        if fault:
            print(f"{name}: {fault}", file=sys.stderr)
            told["fault"] = fault
            failed = 1
        table["programs"].append(told)
    if len(sys.argv) > 2:
        put(sys.argv[2], json.dumps(table, indent=1))
    if len(sys.argv) > 3:
        write_page(sys.argv[3], table)
    return failed


if __name__ == "__main__":
    sys.exit(main())
