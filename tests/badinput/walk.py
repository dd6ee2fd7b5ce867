"""Breaks every value that a file may hold, one at a time, and sees that each fault gets one clear, located line.

    walk.py PROGRAM SOURCE_FOLDER [EVERY]

EVERY n runs only each n-th case, for slow builds.

The values come from the program's own schemas, so a new parameter is walked without an edit here. For each file that must
be refused: exit code 2; every line that starts with the file's name reads "file:line:column: error: what [pointer]"; the
first of them stands at the value that was broken; standard output is empty; nothing is written. Python's standard library
only.
"""

import copy
import json
import os
import re
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

program, source = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
every = int(sys.argv[3]) if len(sys.argv) > 3 else 1
failures, counted = [], 0


def run(arguments, cwd):
    done = subprocess.run([program, *arguments], cwd=cwd, capture_output=True, timeout=60,
                          env={"LC_ALL": "C", "PATH": "/usr/bin:/bin", "NO_COLOR": "1"})
    return done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")


def schema(name):
    return json.loads(subprocess.run([program, "schema", name], capture_output=True, check=True).stdout)


# ---- one case ----

LOCATED = re.compile(r"^bad\.json(:\d+:\d+)?: error: .+")


def judge(text, pointer, must_fail, what):
    """Runs one broken file. pointer: where the fault must be told, or None for anywhere."""
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "bad.json"), "wb") as file:
            file.write(text if isinstance(text, bytes) else text.encode())
        command = ["check"] if b'"slowmatch-propellant/1",' in text_bytes(text)[:60] else ["burn", "--plot", "p.svg", "--csv", "t.csv"]
        code, out, err = run([*command, "bad.json"], folder)
        left = sorted(os.listdir(folder))
    told = [line for line in err.splitlines() if line.startswith("bad.json") and ": error: " in line]
    if code == 0 and not must_fail or code == 1 and not must_fail and told:
        return None
    if code != 2:
        return f"{what}: exit {code}, not 2: {err[:200]!r}"
    if out:
        return f"{what}: wrote to standard output"
    if left != ["bad.json"]:
        return f"{what}: left {left}"
    if not told or not all(LOCATED.match(line) for line in told):
        return f"{what}: no located line: {err[:300]!r}"
    if ":1:" not in told[0] and not re.match(r"^bad\.json:\d+:\d+: ", told[0]):
        return f"{what}: no line and column: {told[0]}"
    if pointer is not None and f"[{pointer}" not in told[0]:
        return f"{what}: told elsewhere than {pointer}: {told[0]}"
    if len(told) > 1 and must_fail == "one":
        return f"{what}: {len(told)} lines for one fault: {err[:400]!r}"
    return None


def text_bytes(text):
    return text if isinstance(text, bytes) else text.encode()


cases = []


def case(document, pointer, must_fail, what, raw=None):
    cases.append((raw if raw is not None else json.dumps(document, indent=1), pointer, must_fail, what))


# ---- walking a document along its schema ----

def changed(document, path, value):
    copied = copy.deepcopy(document)
    parent = copied
    for key in path[:-1]:
        parent = parent[key]
    parent[path[-1]] = value
    return copied


def pointer_of(path):
    return "".join(f"/{key}" for key in path)


def break_quantity(document, path, name):
    where = pointer_of(path)
    for value, what in [(3, "bare number"), (True, "flag"), ([], "list"), ({}, "object"), (None, "null"), ("", "empty"),
                        ("3", "no unit"), ("3 furlongz", "unknown unit"), ("3 K kg A", "wrong dimension"), ("mm", "no number"),
                        ("nan m", "nan"), ("inf m", "inf"), ("1/2 in", "fraction")]:
        case(changed(document, path, value), where, "one", f"{name}{where}: {what}")
    unit = "K" if "temperature" in path[-1] else None
    given = document
    for key in path:
        given = given[key]
    unit = given.split(None, 1)[1] if isinstance(given, str) and " " in given else unit
    if unit:
        case(changed(document, path, f"1e999 {unit}"), where, "one", f"{name}{where}: 1e999")
        case(changed(document, path, f"-1e30 {unit}"), where, "one", f"{name}{where}: hugely negative")
        case(changed(document, path, f"1e30 {unit}"), where, "one", f"{name}{where}: huge")
        case(changed(document, path, f"0 {unit}"), None, False, f"{name}{where}: zero")
        case(changed(document, path, f"-1 {unit}"), None, False, f"{name}{where}: negative")


def break_number(document, path, rule, name):
    where = pointer_of(path)
    for value, what in [("3", "string"), (True, "flag"), ([], "list"), (None, "null")]:
        case(changed(document, path, value), where, "one", f"{name}{where}: {what}")
    if "minimum" in rule or "maximum" in rule:
        case(changed(document, path, -1e30), where, "one", f"{name}{where}: hugely negative")
        case(changed(document, path, 1e30), where, "one", f"{name}{where}: huge")
    marked = json.dumps(changed(document, path, "@@"), indent=1)
    for raw in ["1e999", "NaN", "-Infinity", "01", "1."]:
        case(None, None, True, f"{name}{where}: {raw}", marked.replace('"@@"', raw))


def break_text(document, path, rule, name):
    where = pointer_of(path)
    for value, what in [(3, "number"), ([], "list"), (None, "null")]:
        case(changed(document, path, value), where, "one", f"{name}{where}: {what}")
    if "enum" in rule:
        case(changed(document, path, "no such word"), where, "one", f"{name}{where}: unknown word")


def walk(document, node, rule, path, name):
    """Breaks what is in the document at path, which the schema's rule describes."""
    if "oneOf" in rule or "anyOf" in rule:
        fitting = [r for r in rule.get("oneOf", rule.get("anyOf")) if fits(node, r)]
        if fitting:
            walk(document, node, fitting[0], path, name)
    elif rule.get("type") == "object" and isinstance(node, dict):
        walk_object(document, node, rule, path, name)
    elif rule.get("type") == "array" and isinstance(node, list):
        for value, what in [("x", "string"), (3, "number")]:
            case(changed(document, path, value), pointer_of(path), "one", f"{name}{pointer_of(path)}: {what}")
        for i, item in enumerate(node):
            walk(document, item, rule["items"], [*path, i], name)
    elif "pattern" in rule:
        break_quantity(document, path, name)
    elif rule.get("type") in ("number", "integer"):
        break_number(document, path, rule, name)
    elif "const" not in rule and isinstance(node, str):
        break_text(document, path, rule, name)


def fits(node, rule):
    if rule.get("type") == "string":
        return isinstance(node, str)
    if not isinstance(node, dict):
        return False
    consts = {k: v["const"] for k, v in rule.get("properties", {}).items() if "const" in v}
    return all(node.get(k) == v for k, v in consts.items())


def walk_object(document, node, rule, path, name):
    where = pointer_of(path)
    for key in rule.get("required", []):
        if key in node and key != "format":
            copied = copy.deepcopy(document)
            parent = copied
            for step in path:
                parent = parent[step]
            del parent[key]
            case(copied, f"{where}/{key}", True, f"{name}{where}: {key} missing")
    for key in list(node):
        if key in ("note", "format", "$schema"):
            continue
        copied = copy.deepcopy(document)
        parent = copied
        for step in path:
            parent = parent[step]
        parent[key + "q"] = parent[key]
        case(copied, f"{where}/{key}q", True, f"{name}{where}: {key}q unknown")
        case(None, None, True, f"{name}{where}: {key} twice", twice(document, path, key))
        if key in rule["properties"]:
            walk(document, node[key], rule["properties"][key], [*path, key], name)


def twice(document, path, key):
    node = document
    for step in path:
        node = node[step]
    marked = {"@@": 0, **node}
    text = json.dumps(changed(document, path, marked) if path else marked, indent=1)
    return text.replace('"@@": 0', f'"{key}": {json.dumps(node[key])}')


# ---- files that are wrong as a whole ----

def outside(folder):
    """Everything that is not one broken value. Yields (what, fault or None)."""
    base = os.path.join(source, "examples", "sandpiper-cored.json")
    text = open(base, "rb").read()

    def expect(what, arguments, code, pattern, left=()):
        got, _, err = run(arguments, folder)
        good = got == code and re.search(pattern, err) and len(err.splitlines()) <= 4
        extra = [f for f in os.listdir(folder) if f.endswith(".part") or f in left]
        return what, None if good and not extra else f"exit {got}, {err[:200]!r}, left {extra}"

    yield expect("missing file", ["burn", "none.json"], 2, r"none\.json: error: .*no such file")
    yield expect("folder", ["burn", "."], 2, r"error: .*(folder|directory)")
    open(os.path.join(folder, "empty.json"), "w").close()
    yield expect("empty file", ["burn", "empty.json"], 2, r"empty\.json.*error: ")
    with open(os.path.join(folder, "big.json"), "wb") as big:
        big.truncate(100 << 20)
    yield expect("100 MB", ["burn", "big.json"], 2, r"big\.json.*error: .*(bytes|MB|MiB|large)")
    os.remove(os.path.join(folder, "big.json"))
    with open(os.path.join(folder, "binary.json"), "wb") as file:
        file.write(bytes(range(256)) * 8)
    yield expect("binary", ["burn", "binary.json"], 2, r"binary\.json:1:1: error: ")
    if os.geteuid() == 0:
        print("SKIPPED 1: no read permission (root may read all)")
    else:
        with open(os.path.join(folder, "shut.json"), "wb") as file:
            file.write(text)
        os.chmod(os.path.join(folder, "shut.json"), 0)
        yield expect("no permission", ["burn", "shut.json"], 2, r"shut\.json: error: .*[Pp]ermission")
    for option, ending in (("--csv", "csv"), ("--plot", "svg"), ("--section", "png")):
        yield expect(f"{option} missing folder", ["burn", base, option, f"none/a.{ending}"], 1, r"none/a.*error: ")
        os.makedirs(os.path.join(folder, f"d.{ending}"), exist_ok=True)
        yield expect(f"{option} onto a folder", ["burn", base, option, f"d.{ending}"], 1, r"error: .*irectory")
    yield expect("--csv full device", ["burn", base, "--csv", "/dev/full"], 1, r"error: .*No space")
    for n in range(0, len(text) - 3, 37):
        with open(os.path.join(folder, "cut.json"), "wb") as file:
            file.write(text[:n])
        yield expect(f"cut at {n}", ["burn", "cut.json"], 2, r"cut\.json(:\d+:\d+)?: error: ")


PHYSICS = [
    ("grains/0/bore_diameter", "29 mm", "/grains/0/bore_diameter"),
    ("grains/0/bore_diameter", "40 mm", "/grains/0/bore_diameter"),
    ("grains/0/outer_diameter", "31 mm", "/grains/0/outer_diameter"),
    ("grains/0/length", "80 mm", "/case/length"),
    ("grains/0/shape", "tub", "/grains/0/shape"),
    ("grains/0/burning", [], "/grains/0"),
    ("grains/0/burning", ["bore", "side"], "/grains/0/burning"),
    ("propellant", "demo-slow-composit", "/propellant"),
    ("nozzle/exit_diameter", "5 mm", "/nozzle/exit_diameter"),
    ("nozzle/throat_diameter", "30 mm", "/nozzle"),
    ("ignition/pressure", "50 kPa", "/ignition/pressure"),
    ("conditions/altitude", "100 m", "/conditions/altitude"),
]


def base_motor(grain):
    mm = {"mm": 1.0, "m": 1000.0}
    number = lambda text: float(text.split()[0]) * mm[text.split()[1]]
    d, length = number(grain["outer_diameter"]), number(grain["length"])
    return {"format": "slowmatch-motor/1", "name": "base", "propellant": "demo-slow-composite",
            "case": {"bore": f"{d + 1} mm", "length": f"{length + 1} mm"}, "grains": [grain],
            "nozzle": {"throat_diameter": f"{0.2 * d} mm", "exit_diameter": f"{0.4 * d} mm"}}


def collect():
    motor_schema, propellant_schema = schema("slowmatch-motor"), schema("slowmatch-propellant")
    load = lambda *parts: json.load(open(os.path.join(source, *parts)))
    end_burner, tubes = load("examples", "sandpiper-end-burner.json"), load("examples", "sandpiper-tubes.json")
    for document, name in ((end_burner, "end-burner"), (tubes, "tubes"), (load("examples", "curlew-bought.json"), "bought")):
        walk(document, document, motor_schema, [], name)
    propellant = load("propellants", "demo-slow-composite.json")
    propellant = {"format": propellant.pop("format"), **propellant}
    walk(propellant, propellant, propellant_schema, [], "propellant")
    listed = subprocess.run([program, "shapes"], capture_output=True, check=True).stdout.decode()
    for shape in re.findall(r"^([a-z][a-z-]+)  ", listed, re.M):
        said = subprocess.run([program, "shapes", shape], capture_output=True, check=True).stdout.decode()
        grain = json.loads(re.search(r"^  (\{.*\})$", said, re.M).group(1))
        document = base_motor(grain)
        rules = [r for r in motor_schema["properties"]["grains"]["items"]["oneOf"] if fits(grain, r)]
        walk_object(document, grain, rules[0], ["grains", 0], shape)
    cored = load("examples", "sandpiper-cored.json")
    for where, value, pointer in PHYSICS:
        path = [int(k) if k.isdigit() else k for k in where.split("/")]
        case(changed(cored, path, value), pointer, "one", f"{where} = {value}")
    several = changed(changed(cored, ["case", "bore"], 3), ["nozzle", "half_angle"], "15")
    case(several, "/case/bore", True, "two faults")


def main():
    global counted
    collect()
    with ThreadPoolExecutor(2) as pool:
        for fault in pool.map(lambda c: judge(*c), cases[::every]):
            counted += 1
            if fault:
                failures.append(fault)
    with tempfile.TemporaryDirectory() as folder:
        for what, fault in outside(folder):
            counted += 1
            if fault:
                failures.append(f"{what}: {fault}")
    for fault in failures[:40]:
        print(fault)
    print(f"{counted - len(failures)} passed, {len(failures)} failed")
    return 1 if failures or counted * every < 500 else 0


sys.exit(main())
