"""Fuzzes every target for a while, and can be stopped and called again: what was done counts.

    CC=clang cmake -S . -B build/fuzz -G Ninja -DSM_TESTS=ON -DSM_SANITIZE=fuzzer-no-link,address,undefined \\
        -DCMAKE_BUILD_TYPE=Debug -DCMAKE_C_FLAGS_DEBUG="-g -O1"
    ninja -C build/fuzz fuzz_replay slowmatch_cli
    nice python3 tests/fuzz/run.py build/fuzz [--minutes 10] [--slice 60] [--keep] [TARGET...]

Each target gets its minutes in slices, in turn, in one process with a limit of memory. Its growing corpus, the inputs it
failed on and the counts are in FOLDER/fuzz/ (state.json). At the end a table is printed, as docs/reliability.md has it.
--keep puts the smallest inputs that reach something new into tests/fuzz/corpus/, at most 40 a target of 1500 bytes each.
Python's standard library only.
"""

import argparse
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import time

here = os.path.dirname(os.path.abspath(__file__))
source = os.path.dirname(os.path.dirname(here))

# What a target starts from besides its own corpus.
SEEDS = {
    "json": ["propellants/*.json", "examples/curlew-bought.json"],
    "csv": ["examples/*.csv"],
    "motor": ["examples/curlew*.json", "examples/sandpiper-[elmot]*.json"],
    "propellant": ["propellants/*.json"],
    "vehicle": ["examples/vehicles/*.json"],
    "request": ["examples/requests/*.json"],
    "mesh_file": ["examples/*.stl"],
    "stand": ["examples/stand/*.json"],
    "curve": ["examples/*.csv"],
    "template": ["examples/templates/*"],
}

# Bytes of an input at most: a part of a spread and a DAVE-ML file are long.
LONGEST = {"spread_part": 1 << 16, "dave_ml": 1 << 16, "curve": 1 << 16, "geometry": 256, "march": 64, "contour": 256}

# Exports that are read back: target, form.
EXPORTS = [("curve", "json"), ("curve", "dave-ml"), ("dave_ml", "dave-ml"), ("curve", "csvw")]

# What a page asks the workbench for, with a motor behind it.
QUESTIONS = ["trial?units=us", "section", "rows", "sliders", "export?form=dave-ml",
             "spread?samples=8&seed=1"]


def parse():
    parser = argparse.ArgumentParser()
    parser.add_argument("build")
    parser.add_argument("targets", nargs="*")
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--slice", type=float, default=60.0, help="seconds")
    parser.add_argument("--megabytes", type=int, default=2048)
    parser.add_argument("--keep", action="store_true")
    return parser.parse_intermixed_args()


options = parse()
work = os.path.join(os.path.abspath(options.build), "fuzz")
program = os.path.join(os.path.abspath(options.build), "tests", "fuzz", "fuzz_replay")
state_file = os.path.join(work, "state.json")
all_targets = sorted(os.path.basename(path)[:-2] for path in glob.glob(os.path.join(here, "targets", "*.c")))


def load_state():
    if os.path.exists(state_file):
        with open(state_file) as file:
            return json.load(file)
    return {}


def save_state(state):
    with open(state_file + ".new", "w") as file:
        json.dump(state, file, indent=1)
    os.replace(state_file + ".new", state_file)


def seed(target, corpus):
    for pattern in SEEDS.get(target, []):
        for path in glob.glob(os.path.join(source, pattern)):
            shutil.copy(path, os.path.join(corpus, "seed-" + os.path.basename(path)))
    cli = os.path.join(options.build, "slowmatch")
    for name, form in EXPORTS:
        if name == target:
            out = os.path.join(corpus, f"seed-{form}")
            subprocess.run([cli, "export", os.path.join(source, "examples", "curlew-bought.json"), "--to", form,
                            "--points", "30", "-o", out], check=False, capture_output=True)
    for path in glob.glob(os.path.join(source, "examples", "sandpiper-[emt]*.json")) if target == "routes" else []:
        with open(path, "rb") as file:
            body = file.read()
        for head in QUESTIONS:
            with open(os.path.join(corpus, "seed-" + head.partition("?")[0] + os.path.basename(path)), "wb") as copy:
                copy.write(head.encode() + b"\n" + body)
    for path in glob.glob(os.path.join(source, "examples", "stand", "*.csv")) if target == "record" else []:
        with open(path, "rb") as file, open(os.path.join(corpus, "seed-" + os.path.basename(path)), "wb") as copy:
            copy.write(b"3" + file.read(1 << 13))
    if target == "spread_part":
        subprocess.run([cli, "spread", os.path.join(source, "examples", "curlew-tolerances.json"), "-n", "2",
                        "--shard", "1/1", "-o", os.path.join(corpus, "seed-part")], check=False, capture_output=True)


def fuzz(target, seconds):
    """Returned: executions, what was found (inputs), coverage."""
    corpus = os.path.join(work, target)
    found = os.path.join(work, "found", target)
    for folder in (corpus, found):
        os.makedirs(folder, exist_ok=True)
    if not os.listdir(corpus):
        seed(target, corpus)
    before = set(os.listdir(found))
    done = subprocess.run(
        [program, f"-max_total_time={int(seconds)}", f"-rss_limit_mb={options.megabytes}", "-timeout=60", f"-max_len={LONGEST.get(target, 1 << 13)}",
         "-report_slow_units=60", "-print_final_stats=1", f"-artifact_prefix={found}/", "-reload=0", corpus, os.path.join(here, "corpus", target)],
        env={**os.environ, "SM_FUZZ_TARGET": target, "UBSAN_OPTIONS": "print_stacktrace=1"},
        capture_output=True, text=True, errors="replace", check=False)
    log = done.stderr
    executions = [int(n) for n in re.findall(r"^stat::number_of_executed_units:\s*(\d+)", log, re.M)]
    executions = executions or [int(n) for n in re.findall(r"^#(\d+)\t", log, re.M)][-1:] or [0]
    cover = re.findall(r"cov: (\d+)", log)
    new = sorted(set(os.listdir(found)) - before)
    if new or done.returncode != 0:
        with open(os.path.join(work, "found", target + ".log"), "a") as file:
            file.write(log[-20000:])
    return executions[-1], new, int(cover[-1]) if cover else 0


def table(state):
    print("| target | executions | minutes | edges covered | findings |\n|---|---|---|---|---|")
    for target in all_targets:
        s = state.get(target)
        if s:
            print(f"| {target} | {s['executions']:,} | {s['seconds'] / 60:.1f} | {s['cover']:,} | {len(s['found'])} |")


def keep(target):
    """Puts the least set of small inputs that covers what the corpus covers into the source tree."""
    into = os.path.join(work, "least", target)
    shutil.rmtree(into, ignore_errors=True)
    os.makedirs(into)
    subprocess.run([program, "-merge=1", "-max_len=1500", "-rss_limit_mb=4096", into, os.path.join(here, "corpus", target),
                    os.path.join(work, target)], env={**os.environ, "SM_FUZZ_TARGET": target}, check=False,
                   capture_output=True)
    kept = os.path.join(here, "corpus", target)
    os.makedirs(kept, exist_ok=True)
    paths = sorted((os.path.join(into, name) for name in os.listdir(into)), key=os.path.getsize)
    # the largest reach deepest, the smallest are the odd ones: some of each
    for path in (paths[:20] + paths[20:][-20:]):
        if os.path.getsize(path) <= 1500:
            shutil.copy(path, os.path.join(kept, os.path.basename(path)[:12]))


def main():
    targets = options.targets or all_targets
    unknown = [target for target in targets if target not in all_targets]
    if unknown:
        sys.exit(f"no target {unknown[0]}; there are: {' '.join(all_targets)}")
    os.makedirs(work, exist_ok=True)
    state = load_state()
    while True:
        waiting = [t for t in targets if state.get(t, {}).get("seconds", 0) < 60 * options.minutes]
        if not waiting:
            break
        target = min(waiting, key=lambda t: state.get(t, {}).get("seconds", 0))
        s = state.setdefault(target, {"executions": 0, "seconds": 0.0, "cover": 0, "found": []})
        start = time.monotonic()
        executions, found, cover = fuzz(target, min(options.slice, 60 * options.minutes - s["seconds"] + 1))
        s["executions"] += executions
        s["seconds"] += max(time.monotonic() - start, 1.0)
        s["cover"] = max(s["cover"], cover)
        s["found"] += found
        save_state(state)
        print(f"{target}: {executions} executions" + (f", FOUND {' '.join(found)}" if found else ""), flush=True)
    if options.keep:
        for target in targets:
            keep(target)
    table(state)
    return 1 if any(state[t]["found"] for t in targets) else 0


if __name__ == "__main__":
    sys.exit(main())
