"""Runs every benchmark once, one after the other, prints what they say and writes it as JSON.

    cmake -S . -B build -G Ninja -DSM_BENCH=ON && ninja -C build
    python3 tests/bench/all.py build [speed.json]

Each program sets our time beside a reference implementation's in the same run, with the error beside every time; ratios are read
out of its lines ("41 x", "x0.9"). Run it on a quiet machine; the JSON says how busy it was. Python's standard library only;
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
    told = {"line": line.strip()}
    if ratio:
        told["ratio"] = float(ratio.group(1) or ratio.group(2))
    if error:
        told["error"] = float(error.group(1))
    return told


def main():
    if len(sys.argv) not in (2, 3):
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
    if len(sys.argv) == 3:
        with open(sys.argv[2] + ".new", "w", encoding="utf-8") as file:
            json.dump(table, file, indent=1)
        os.replace(sys.argv[2] + ".new", sys.argv[2])
    return failed


if __name__ == "__main__":
    sys.exit(main())
