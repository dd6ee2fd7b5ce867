"""Builds the command by gcc and by clang, without optimisation and with all of it, and compares what the four say.

    python3 tests/agree.py FOLDER

Every level of optimisation between them is built too, since some warnings are found at one level alone; any warning ends it.
Of every grain shape's example and every motor of examples/: the geometry to 1e-12, the totals of a burn at accuracy 1e-6 to
1e-9, both as shares of the largest value of their column; and the same bytes on one thread and on two. Solids cut into
patches or read from meshes carry an accuracy of their own, and are held to their totals. Takes some minutes; FOLDER is
made, and kept for the next time. Python's standard library only.
"""

import glob
import json
import os
import re
import subprocess
import sys

source = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
work = os.path.abspath(sys.argv[1]) if len(sys.argv) == 2 else sys.exit(__doc__)

GEOMETRY, TOTALS = 1e-12, 1e-9
BUILDS = [(compiler, level) for compiler in ("gcc", "clang") for level in ("-O0", "-O3")]
BUILT_ONLY = [(compiler, level) for compiler in ("gcc", "clang") for level in ("-O1", "-O2", "-Os")]
failures = []


def build(compiler, level):
    folder = os.path.join(work, compiler + level)
    subprocess.run(["cmake", "-S", source, "-B", folder, "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Debug",
                    f"-DCMAKE_C_FLAGS_DEBUG=-g {level}", "-DSM_WERROR=ON"], check=True, capture_output=True,
                   env={**os.environ, "CC": compiler})
    done = subprocess.run(["ninja", "-C", folder, "slowmatch_cli"], check=False, stdout=subprocess.PIPE, text=True)
    if done.returncode != 0:
        sys.exit(f"{compiler} -g {level}:\n{done.stdout[-4000:]}")
    return os.path.join(folder, "slowmatch")


def run(program, *arguments, **environment):
    done = subprocess.run([program, *arguments], capture_output=True, text=True, check=False,
                          env={**os.environ, **environment})
    if done.returncode != 0:
        failures.append(f"{program} {' '.join(arguments)}: exit {done.returncode} {done.stderr[:200]}")
    return done.stdout


def motors(program):
    """Paths: the examples, and one motor for every shape."""
    yield from sorted(glob.glob(os.path.join(source, "examples", "*.json")))
    with open(os.path.join(source, "examples", "sandpiper-cored.json")) as file:
        around = json.load(file)
    for name in re.findall(r"^([a-z-]+)  ", run(program, "shapes"), re.M):
        text = run(program, "shapes", name)
        grain = json.loads(text[text.index("{"):text.rindex("}") + 1])
        around.update(grains=[grain["grains"][0] if "grains" in grain else grain], case={"bore": "200 mm", "length": "1 m"})
        path = os.path.join(work, name + ".json")
        with open(path, "w") as file:
            json.dump(around, file)
        yield path


def columns(value, place=""):
    """Numbers of a JSON tree, as (place, list)."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from columns(one, f"{place}/{key}")
    elif isinstance(value, list) and value and all(isinstance(one, (int, float)) for one in value):
        yield place, value
    elif isinstance(value, list):
        for i, one in enumerate(value):
            yield from columns(one, f"{place}/{i}")
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield place, [value]


def compare(what, one, other, most):
    """The largest difference, as a share of the largest value of its column."""
    a, b = dict(columns(one)), dict(columns(other))
    worst = 0.0
    if a.keys() != b.keys():
        failures.append(f"{what}: different members {a.keys() ^ b.keys()}")
    for place in a.keys() & b.keys():
        if len(a[place]) != len(b[place]):
            failures.append(f"{what}{place}: {len(a[place])} and {len(b[place])} rows")
            continue
        scale = max(map(abs, a[place])) or 1.0
        off = max(abs(x - y) for x, y in zip(a[place], b[place])) / scale
        worst = max(worst, off)
        if off > most:
            failures.append(f"{what}{place}: {off:.2g}, and at most {most:.0e}")
    return worst


def main():
    for pair in BUILT_ONLY:
        build(*pair)
    programs = {"".join(pair): build(*pair) for pair in BUILDS}
    first, *others = programs
    n = 0
    worst = {"geometry": 0.0, "totals": 0.0}
    for motor in motors(programs[first]):
        name = os.path.basename(motor)
        n += 1
        has_grain = '"grains"' in open(motor).read()
        grains = {key: json.loads(run(program, "grain", motor, "--json")) for key, program in programs.items()} if has_grain else {}
        burns = {key: json.loads(run(program, "burn", motor, "--json", "--accuracy", "1e-6")) for key, program in programs.items()}
        # a stack is as accurate as its worst grain; "accuracy" is 0 where the method is exact
        is_exact = has_grain and all(grain["accuracy"] == 0 for grain in grains[first]["grains"])
        for key in others:
            if is_exact:
                worst["geometry"] = max(worst["geometry"], compare(f"{name} {key}", grains[first], grains[key], GEOMETRY))
            off = compare(f"{name} {key}", burns[first]["summary"], burns[key]["summary"], TOTALS)
            worst["totals"] = max(worst["totals"], off)
    for motor in ("sandpiper-cored", "sandpiper-offset-bore", "curlew-tolerances"):
        arguments = ["spread", os.path.join(source, "examples", motor + ".json"), "-n", "200", "--seed", "3", "--json"]
        if len({run(program, *arguments, "--threads", n) for program in [programs["gcc-O3"]] for n in "12"}) != 1:
            failures.append(f"{motor}: one thread and two say different things")
    for line in failures[:40]:
        print(line)
    print(f"{' '.join(programs)}, and without a warning {' '.join(map(''.join, BUILT_ONLY))}: {n} motors, worst geometry {worst['geometry']:.2g}, totals {worst['totals']:.2g}; {len(failures)} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
