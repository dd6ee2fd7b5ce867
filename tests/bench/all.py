"""Runs every benchmark once, one after the other, prints what they say and writes it as JSON.

    cmake -S . -B build -G Ninja -DSM_BENCH=ON && ninja -C build
    python3 tests/bench/all.py build [speed.json [docs/performance.md]]

Each program sets our time beside a reference implementation's in the same run, with the error beside every time; ratios are read
out of its lines ("41 x", "x0.9"). Run it on a quiet machine; the JSON says how busy it was. The page shows the same lines, for
people. Python's standard library only;
bench_lanes also asks PYTHON (/usr/bin/python3 if not set) for SciPy, and leaves its row out without.
"""

import json
import os
import platform
import re
import subprocess
import sys
import time

source = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
RATIO = re.compile(r"(?<![\w.])(?:x([\d.]+)|([\d.]+) ?x)(?![\w.])")
NUMBER = r"[-+]?[\d.]+(?:e[-+]?\d+)?"
ERROR = re.compile(rf"error ({NUMBER})")


def programs(build):
    """Name and command of those that were built."""
    slowmatch = os.path.join(build, "slowmatch")
    bench = lambda name: os.path.join(build, "tests", "bench", "bench_" + name)
    commands = {"geometry": [], "solids": [], "fronts": [], "burn": [slowmatch, source], "lanes": [source], "spread": [source],
                "lift": [source]}
    for name, arguments in commands.items():
        if os.path.exists(bench(name)):
            yield name, [bench(name), *arguments]
    yield "records", [sys.executable, os.path.join(source, "tests", "bench", "records.py"), slowmatch, source]


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
    "geometry": "Planar sections: outlines cut at each distance burned, against GEOS's buffer of the same outline.",
    "solids": "Grains that vary along the axis: slices against patches.",
    "fronts": "Distances to meshes, and fronts round the edges of inhibited sleeves.",
    "burn": "One motor through the library, against GSL on the same equations without events and columns; and the whole program.",
    "lanes": "Many motors at once in vector lanes, against GSL and SciPy on the same chamber.",
    "spread": "A hundred thousand motors that differ, with one thread and with two.",
    "lift": "Landing windows.",
    "records": "Records from the stand and fits, against `wc` on the same file.",
}


def write_page(path, table):
    text = PAGE_HEAD.format(**table)
    for program in table["programs"]:
        lines = "\n".join(row["line"] for row in program["rows"])
        text += f"\n## {program['name']}\n\n{ABOUT[program['name']]}\n\n```\n{lines}\n```\n"
    put(path, text)


def put(path, text):
    with open(path + ".new", "w", encoding="utf-8") as file:
        file.write(text)
    os.replace(path + ".new", path)


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
        done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
        print(done.stdout, end="", flush=True)
        if done.returncode != 0:
            print(f"{name}: exit {done.returncode} {done.stderr[-500:]}", file=sys.stderr)
            failed = 1
        table["programs"].append({"name": name, "rows": [row(line) for line in done.stdout.splitlines() if line.strip()]})
    if len(sys.argv) > 2:
        put(sys.argv[2], json.dumps(table, indent=1))
    if len(sys.argv) > 3:
        write_page(sys.argv[3], table)
    return failed


if __name__ == "__main__":
    sys.exit(main())
