"""Breaks every value that a file may hold, one at a time, and sees that each fault gets one clear, located line.

    walk.py PROGRAM SOURCE_FOLDER [EVERY]

EVERY n, for slow builds, runs only each n-th case, and the first of those that must say something of its own.

The values come from the program's own schemas, so a new parameter is walked without an edit here; one that the good
file leaves out is put in with the schema's example first. For each file that must be refused: exit code 2; one line a
fault, "file:line:column: error: what [pointer]", then the line of the file and a caret; the first of them stands at
the value that was broken, by this file's own reading of JSON (RFC 8259); standard output is empty; an older output
file keeps its bytes and nothing else is written. Python's standard library only.
"""

import copy
import json
import os
import re
import resource
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

LOCATED = re.compile(r"^bad\.json:(\d+):(\d+): error: .+")
OLD = b"an older table\n"


def places(text):
    """Byte offsets in JSON text by pointer: (where the key starts or None, where the value starts)."""
    found, space, decoder = {}, re.compile(r"[ \t\r\n]*"), json.JSONDecoder()

    def value(at, pointer, key):
        at = space.match(text, at).end()
        found.setdefault(pointer, (key, at))
        if text[at] not in "{[":
            return decoder.raw_decode(text, at)[1]
        closing, i, is_object = "}]"["{[".index(text[at])], 0, text[at] == "{"
        at = space.match(text, at + 1).end()
        while text[at] != closing:
            name, start = str(i), None
            if is_object:
                start = at
                name, at = decoder.raw_decode(text, at)
                at = space.match(text, at).end() + 1
            at = space.match(text, value(at, f"{pointer}/{name}", start)).end()
            at, i = space.match(text, at + 1).end() if text[at] == "," else at, i + 1
        return at + 1

    value(0, "", None)
    return {p: tuple(None if o is None else len(text[:o].encode()) for o in both) for p, both in found.items()}


def misplaced(text, err, pointer):
    """What is wrong with the place, excerpt and caret of the first line told, which is about pointer."""
    lines = err.splitlines()
    first = next(i for i, line in enumerate(lines) if LOCATED.match(line))
    row, column = map(int, LOCATED.match(lines[first]).groups())
    raw = text.encode()
    at = sum(len(line) + 1 for line in raw.split(b"\n")[:row - 1]) + column - 1
    known = places(text)
    near = pointer
    while near not in known:
        near = near.rpartition("/")[0]
    if at not in known[near]:
        return f"told at {row}:{column}, which is not {near}"
    if len(lines) < first + 3 or lines[first + 2].strip() != "^":
        return "no line of the file with a caret below it"
    caret = len(lines[first + 2]) - 1
    if not raw[at:].decode().startswith(lines[first + 1][caret:caret + 3].rstrip()) or not lines[first + 1][caret:]:
        return "the caret stands elsewhere"
    return None


def judge(text, pointer, must_fail, what, says=None):
    """Runs one broken file. pointer: where the fault must be told, or None for anywhere."""
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "bad.json"), "wb") as file:
            file.write(text_bytes(text))
        with open(os.path.join(folder, "t.csv"), "wb") as file:
            file.write(OLD)
        is_propellant = b'"slowmatch-propellant/1",' in text_bytes(text)[:60] and b'"grains"' not in text_bytes(text)
        is_stand = b'"slowmatch-stand/1",' in text_bytes(text)[:60]
        is_request = b'"slowmatch-request/1",' in text_bytes(text)[:60]
        is_vehicle = b'"slowmatch-vehicle/1",' in text_bytes(text)[:60]
        command = (["lift", "--csv", "t.csv"] if is_vehicle else ["size", "-o", "m.json"] if is_request else ["check"] if is_propellant or is_stand
                   else ["burn", "--plot", "p.svg", "--csv", "t.csv"])
        code, out, err = run([*command, "bad.json"], folder)
        left = sorted(os.listdir(folder))
        with open(os.path.join(folder, "t.csv"), "rb") as file:
            kept = file.read() == OLD
    told = [line for line in err.splitlines() if line.startswith("bad.json") and ": error: " in line]
    if code == 0 and not must_fail or code == 1 and not must_fail and told:
        return None
    if code != 2:
        return f"{what}: exit {code}, not 2: {err[:200]!r}"
    if out:
        return f"{what}: wrote to standard output"
    if left != ["bad.json", "t.csv"] or not kept:
        return f"{what}: left {left}, the older table {'kept' if kept else 'lost'}"
    if not told or not all(LOCATED.match(line) for line in told):
        return f"{what}: no located line: {err[:300]!r}"
    if pointer is not None and f"[{pointer}" not in told[0]:
        return f"{what}: told elsewhere than {pointer}: {told[0]}"
    if isinstance(must_fail, int) and must_fail > 0 and len(told) != must_fail:
        return f"{what}: {len(told)} lines: {err[:400]!r}"
    if says and not re.search(says, err):
        return f"{what}: does not say {says}: {err[:300]!r}"
    wrong = misplaced(text, err, pointer) if pointer is not None and "NaN" not in what else None
    return f"{what}: {wrong}: {err[:400]!r}" if wrong else None


def text_bytes(text):
    return text if isinstance(text, bytes) else text.encode()


cases = []


def case(document, pointer, must_fail, what, raw=None, says=None):
    """must_fail: how many faults must be told, or False if the program may find nothing wrong."""
    cases.append((raw if raw is not None else json.dumps(document, indent=1), pointer, must_fail, what, says))


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
                        ("3", "no unit"), ("3 furlongz", "unknown unit"), ("3 K kg A", "wrong dimension"),
                        ("mm", "no number"), ("nan m", "nan"), ("inf m", "inf"), ("1/2 in", "fraction")]:
        case(changed(document, path, value), where, 1, f"{name}{where}: {what}")
    unit = "K" if "temperature" in path[-1] else None
    given = document
    for key in path:
        given = given[key]
    unit = given.split(None, 1)[1] if isinstance(given, str) and " " in given else unit
    if unit:
        case(changed(document, path, f"1e999 {unit}"), where, 1, f"{name}{where}: 1e999")
        case(changed(document, path, f"-1e30 {unit}"), where, 1, f"{name}{where}: hugely negative")
        case(changed(document, path, f"1e30 {unit}"), where, 1, f"{name}{where}: huge")
        case(changed(document, path, f"0 {unit}"), None, False, f"{name}{where}: zero")
        case(changed(document, path, f"-1 {unit}"), None, False, f"{name}{where}: negative")


def break_number(document, path, rule, name):
    where = pointer_of(path)
    for value, what in [("3", "string"), (True, "flag"), ([], "list"), (None, "null")]:
        case(changed(document, path, value), where, 1, f"{name}{where}: {what}")
    if "minimum" in rule or "maximum" in rule:
        case(changed(document, path, -1e30), where, 1, f"{name}{where}: hugely negative")
        case(changed(document, path, 1e30), where, 1, f"{name}{where}: huge")
    marked = json.dumps(changed(document, path, "@@"), indent=1)
    for raw in ["1e999", "NaN", "-Infinity", "01", "1."]:
        case(None, None, 1, f"{name}{where}: {raw}", marked.replace('"@@"', raw))


def break_text(document, path, rule, name):
    where = pointer_of(path)
    for value, what in [(3, "number"), ([], "list"), (None, "null")]:
        case(changed(document, path, value), where, 1, f"{name}{where}: {what}")
    if "enum" in rule:
        case(changed(document, path, "no such word"), where, 1, f"{name}{where}: unknown word")


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
            case(changed(document, path, value), pointer_of(path), 1, f"{name}{pointer_of(path)}: {what}")
        # The first item, and the last if it holds other keys.
        alike = len(node) > 1 and isinstance(node[0], dict) and set(node[0]) == set(node[-1])
        for i in sorted({0, 0 if alike else len(node) - 1} if node else ()):
            walk(document, node[i], rule["items"], [*path, i], name)
    elif "pattern" in rule:
        break_quantity(document, path, name)
    elif rule.get("type") in ("number", "integer"):
        break_number(document, path, rule, name)
    elif rule.get("type") == "boolean":
        for value in (1, "true", None, []):
            case(changed(document, path, value), pointer_of(path), 1, f"{name}{pointer_of(path)}: {value!r}")
    elif "const" not in rule and isinstance(node, str):
        break_text(document, path, rule, name)


def fits(node, rule):
    if rule.get("type") == "string":
        return isinstance(node, str)
    if not isinstance(node, dict):
        return False
    consts = {k: v["const"] for k, v in rule.get("properties", {}).items() if "const" in v}
    return all(node.get(k) == v for k, v in consts.items())


# Keys that the good file leaves out and that can't be put in alone: a curve is inline or in a file.
APART = {"file", "time_column", "thrust_column", "time_unit", "thrust_unit", "time", "thrust", "curve",
         "propellant", "case", "grains", "nozzle", "tolerances", "uniform", "triangular", "truncated"}
walked, passed_over = set(), set()  # names of rows; what is passed over in one file must be walked in another


def filling(rule):
    """A good value of a rule to put where there is none; None if the rule alone does not give one."""
    if "enum" in rule:
        return rule["enum"][0]
    if rule.get("type") == "string":
        return rule.get("examples", ["x"])[0]
    if rule.get("type") in ("number", "integer"):
        return rule.get("default", rule.get("minimum", 1))
    if rule.get("type") == "object":
        return {key: filling(rule["properties"][key]) for key in rule.get("required", [])}
    if rule.get("type") == "array":
        return [filling(rule["items"]) for _ in range(max(1, rule.get("minItems", 1)))]
    return True if rule.get("type") == "boolean" else None


def can_fill(document, node, rule, key):
    """May a value stand where key is left out? A record or list is put in once only, not in every file."""
    value = filling(rule["properties"][key])
    is_large = isinstance(value, (dict, list))
    of_grains = node is document and "curve" in document and key != "conditions"
    return value is not None and key not in APART and not (is_large and key in walked) and not of_grains


def inner(document, path):
    for step in path:
        document = document[step]
    return document


def walk_object(document, node, rule, path, name):
    where = pointer_of(path)
    case(changed(document, [*path, "qqqqqqqq"], 1), f"{where}/qqqqqqqq", 1, f"{name}{where}: a key unlike any")
    for key in rule["properties"]:
        if key in ("note", "format", "$schema"):
            continue
        if key in node:
            walked.add(key)
            break_key(document, node, rule, path, name, key)
            walk(document, node[key], rule["properties"][key], [*path, key], name)
        elif can_fill(document, node, rule, key):
            value = filling(rule["properties"][key])
            walked.add(key)
            walk(changed(document, [*path, key], value), value, rule["properties"][key], [*path, key], name)
        else:
            passed_over.add(key)


# What a motor with grains needs; the schema can't say so, since a bare curve has none of it.
NEEDED = ("propellant", "case", "grains", "nozzle")


def break_key(document, node, rule, path, name, key):
    where = pointer_of(path)
    is_needed = key in rule.get("required", []) or not path and key in (*NEEDED, "curve") and "gamma" not in node
    copied = copy.deepcopy(document)
    del inner(copied, path)[key]
    if is_needed:
        told = "grains" if key == "curve" else key
        case(copied, f"{where}/{told}", 1, f"{name}{where}: {key} missing")
    inner(copied, path)[key + "q"] = node[key]
    if set(node) <= {"unit", "values"}:
        case(copied, f"{where}/{key}q", 1, f"{name}{where}: {key} misspelt", says='samples have "unit" and "values"')
    elif key == "shape":
        case(copied, f"{where}/shape", 1, f"{name}{where}: {key} misspelt", says='is "shapeq" meant for it')
    else:
        says = f"did you mean '{key}'" if len(key) > 2 else None
        # A letter alone has no near names, so that it is missing besides.
        n_told = 2 if is_needed and len(key) == 1 else 1
        case(copied, f"{where}/{key}{'q' if n_told == 1 else ''}", n_told, f"{name}{where}: {key} misspelt", says=says)
    case(None, None, 1, f"{name}{where}: {key} twice", twice(document, path, key))


def twice(document, path, key):
    node = document
    for step in path:
        node = node[step]
    marked = {"@@": 0, **node}
    text = json.dumps(changed(document, path, marked) if path else marked, indent=1)
    return text.replace('"@@": 0', f'"{key}": {json.dumps(node[key])}')


# ---- files that are wrong as a whole ----

def fault_of_full_disk(folder, base, option, ending):
    """A file that can't grow past 500 bytes: the older one must be kept, whole, and no other left."""
    name = os.path.join(folder, f"kept.{ending}")
    with open(name, "wb") as file:
        file.write(OLD)
    before = sorted(os.listdir(folder))
    done = subprocess.run([program, "burn", base, option, name], cwd=folder, capture_output=True, timeout=60,
                          restore_signals=False,
                          preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (500, 500)))
    with open(name, "rb") as file:
        kept = file.read() == OLD
    good = done.returncode == 1 and kept and re.search(rb"kept\..*: error: .*[Tt]oo large", done.stderr)
    same = sorted(os.listdir(folder)) == before
    fault = f"exit {done.returncode}, {done.stderr[:200]!r}, {'kept' if kept else 'lost'}"
    return f"{option} full at 500 bytes, {ending}", None if good and same else fault


SVG = '<svg xmlns="http://www.w3.org/2000/svg">%s</svg>'
DRAWINGS = [  # a drawing that can't be a port, its file's ending, and what must be said
    ("", "svg", r"port\.svg:1:1: error: .*XML"),
    ("<svg", "svg", r"port\.svg:1:5: error: .*XML"),
    (SVG % "", "svg", r"no contour in this file \[/grains/0/file\]"),
    (SVG % '<rect width="3" height="4"/>', "svg", r"port\.svg:1: error: .*<rect>"),
    (SVG % '<path d=""/>', "svg", r"no contour in this file \[/grains/0/file\]"),
    (SVG % '<path d="M 0 0 L 5"/>', "svg", r"port\.svg:1: error: "),
    (SVG % '<path d="M 0 0 X 5 5 Z"/>', "svg", r"port\.svg:1: error: "),
    (SVG % '<path d="M -5 -5 H 5 V 5"/>', "svg", r"port\.svg:1: error: "),
    (SVG % '<path d="M -5 -5 H 1e999 V 5 Z"/>', "svg", r"port\.svg:1: error: "),
    (SVG % '<path d="M -5 -5 L 5 5 L 5 -5 L -5 5 Z"/>', "svg", r"crosses itself"),
    (SVG % '<path d="M -5 -5 H 5 V 5 V -2 H -5 Z"/>', "svg", r"lies upon itself|crosses itself"),
    (SVG % '<path d="M -50 -50 H 50 V 50 H -50 Z"/>', "svg", r"outside the grain"),
    ("x,y\n1,2\n3,nan\n5,0\n", "csv", r"port\.csv:3(:\d+)?: error: "),
    ("x,y\n1,2\n3\n5,0\n", "csv", r"port\.csv:3(:\d+)?: error: "),
    ("x,y\n1,2\n", "csv", r"fewer than two points \[/grains/0/file\]"),
]


def drawings(folder, expect):
    """Ports drawn in files beside the motor's: each fault is told once, with the file that holds it."""
    motor = json.load(open(os.path.join(source, "examples", "sandpiper-drawn-port.json")))
    for text, ending, pattern in DRAWINGS:
        motor["grains"][0]["file"] = f"port.{ending}"
        with open(os.path.join(folder, "drawn.json"), "w") as file:
            json.dump(motor, file)
        with open(os.path.join(folder, f"port.{ending}"), "w") as file:
            file.write(text)
        yield expect(f"drawing {text[:70]!r}", ["check", "drawn.json"], 2, pattern)
    motor["grains"][0]["file"] = "none.svg"
    with open(os.path.join(folder, "drawn.json"), "w") as file:
        json.dump(motor, file)
    yield expect("no drawing", ["check", "drawn.json"], 2, r"none\.svg.*no such file|no such file.*none\.svg")


def outside(folder):
    """Everything that is not one broken value. Yields (what, fault or None)."""
    base = os.path.join(source, "examples", "sandpiper-cored.json")
    text = open(base, "rb").read()

    def expect(what, arguments, code, pattern, left=()):
        got, _, err = run(arguments, folder)
        good = got == code and re.search(pattern, err) and len(re.findall(" error: ", err)) == 1
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
    for option, ending in (("--csv", "csv"), ("--plot", "svg"), ("--plot", "pdf"), ("--section", "png")):
        yield fault_of_full_disk(folder, base, option, ending)
        yield expect(f"{option} missing folder", ["burn", base, option, f"none/a.{ending}"], 1, r"none/a.*error: ")
        os.makedirs(os.path.join(folder, f"d.{ending}"), exist_ok=True)
        yield expect(f"{option} onto a folder", ["burn", base, option, f"d.{ending}"], 1, r"error: .*irectory")
    yield expect("--csv full device", ["burn", base, "--csv", "/dev/full"], 1, r"error: .*No space")
    yield from drawings(folder, expect)
    for n in range(0, len(text) - 3, 37):
        with open(os.path.join(folder, "cut.json"), "wb") as file:
            file.write(text[:n])
        yield expect(f"cut at {n}", ["burn", "cut.json"], 2, r"cut\.json(:\d+:\d+)?: error: ")


PHYSICS = [  # value put in place of what is there, where that is told, and what else must be said
    ("grains/0/bore_diameter", "29 mm", "/grains/0/bore_diameter", None),
    ("grains/0/bore_diameter", "40 mm", "/grains/0/bore_diameter", None),
    ("grains/0/outer_diameter", "31 mm", "/grains/0/outer_diameter", "30 mm"),
    ("grains/0/length", "80 mm", "/case/length", "162"),
    ("grains/0/shape", "tub", "/grains/0/shape", "did you mean 'tube'"),
    ("grains/0/shape", "qqqqqqqq", "/grains/0/shape", "'slowmatch shapes' lists them"),
    ("grains/0/burning", [], "/grains/0/burning", "bore"),
    ("conditions", {"hottest_temperature": "5 degC", "coldest_temperature": "20 degC"}, "/conditions/coldest_temperature",
     "above hottest_temperature"),
    ("grains/0/burning", ["bore", "side"], "/grains/0/burning/1", None),
    ("grains/0/burning", ["bore", "bore"], "/grains/0/burning/1", "twice"),
    ("grains", [], "/grains", None),
    ("grains/0/count", 100000, "/grains/0/count", None),
    ("propellant", "demo-slow-composit", "/propellant", "did you mean 'demo-slow-composite'"),
    ("propellant", "../none.json", "/propellant", "no such file"),
    ("nozzle/exit_diameter", "5 mm", "/nozzle/exit_diameter", None),
    ("nozzle/throat_diameter", "30 mm", "/nozzle/exit_diameter", "13 mm"),
    ("ignition/pressure", "50 kPa", "/ignition/pressure", None),
    ("conditions/altitude", "100 m", "/conditions/altitude", None),
    ("ignition/spread_speed", "3000 m/s", "/ignition/spread_speed", "outrun sound"),
    ("ignition/igniter", {"peak_flow": "1 g/s"}, "/ignition/igniter/duration", "needs"),
    ("ignition/igniter", {"flow": [{"time": "1 s", "mass_flow": "1 g/s"}, {"time": "1 s", "mass_flow": "1 g/s"}]},
     "/ignition/igniter/flow/1/time", "not after"),
    ("ignition/igniter", {"peak_flow": "-1 g/s", "duration": "1 s"}, "/ignition/igniter/peak_flow", "must be from"),
    ("nozzle/erosion", {"rate": "-1 mm/s", "at": "7 MPa", "exponent": 0.8}, "/nozzle/erosion/rate", "must be from"),
    ("nozzle/deposit", {"rate": "1 mm/s", "at": "-7 MPa", "exponent": 0.8}, "/nozzle/deposit/at", "must be from"),
    ("case/wall_temperature", "9000 K", "/case/wall_temperature", None),
    ("case/friction_factor", -0.001, "/case/friction_factor", "must be from"),
    ("format", "slowmatch-motor/2", "/format", "slowmatch-motor/1"),
    ("format", "slowmatch-propellant/1", "/format", "slowmatch-motor/1"),
]


# Vehicles that can't be: where in the good file, the value put there, the pointer of the fault, what is said.
VEHICLES = [
    ("motors", [], "/motors", "from 1 to 8"),
    ("motors/0/motor", "none.json", "/motors/0/motor", "no such file"),
    ("motors/0/count", 0, "/motors/0/count", "must be from"),
    ("motors/0/count", 2.5, "/motors/0/count", None),
    ("motors/0/tilt_limit", "91 deg", "/motors/0/tilt_limit", "to 90 deg"),
    ("motors/0/tilt_limit", "50", "/motors/0/tilt_limit", "needs a unit of angle"),
    ("motors/0/cant", "50 deg", "/motors/0/tilt_limit", "90 deg is the most"),
    ("body/dry_mass", "180 g", "/body/dry_mass", "empty cases"),
    ("body/dry_mass", "0 kg", "/body/dry_mass", "must be from"),
    ("motors/0/spacing", "80 mm", "/motors/0/spacing", "say the same"),
    ("motors/0/tilt_time", "1 s", "/motors/0/tilt_rate", "say the same"),
    ("motors/0/tilt_rate", "150 deg", "/motors/0/tilt_rate", "is a unit of angle where"),
    ("motors/0/ignite_at", "3 kg", "/motors/0/ignite_at", "a unit of time or of length"),
    ("motors/0/ignite_at", 3, "/motors/0/ignite_at", "a unit of time or of length"),
    ("motors/0/ignite_at", "2 cm", "/motors/0/ignite_at", "must be from 10 cm"),
    ("motors/0/ignite_at", "3 h", "/motors/0/ignite_at", "must be from 0 h"),
    ("motors/0/ignite_at", "1e999 m", "/motors/0/ignite_at", "too large a number"),
    ("motors/0/ignite_at", "40 m", "/motors/0/ignite_at", "none takes the vehicle up"),
    ("motors/0/tilt_limit_across", "91 deg", "/motors/0/tilt_limit_across", "to 90 deg"),
    ("body/inertia_roll", "1 kg m2", "/body/inertia_roll", "no body is so"),
    ("tolerances/mismatch", -0.1, "/tolerances/mismatch", "must be from"),
    ("landing/reserve", 0.5, "/landing/reserve", "must be from"),
    ("landing/replan_every", "0 s", "/landing/replan_every", "must be from"),
    ("launch/rail_length", "0.5 s", "/launch/rail_length", None),
    ("tolerances/cold", 1, "/tolerances/cold", "must be from"),
]


def break_vehicle():
    """Vehicles: each value broken, and what can't fly for what its values are together."""
    with open(os.path.join(source, "examples", "vehicles", "curlew.json"), encoding="utf-8") as file:
        good = json.load(file)
    for group in good["motors"]:
        group["motor"] = os.path.normpath(os.path.join(source, "examples", "vehicles", group["motor"]))
    walk(good, good, schema("slowmatch-vehicle"), [], "vehicle")
    for section in ("tolerances", "aerodynamics", "site"):
        good.setdefault(section, {})
    for where, value, pointer, says in VEHICLES:
        path = [int(k) if k.isdigit() else k for k in where.split("/")]
        case(changed(good, path, value), pointer, 1, f"vehicle: {where} = {value}", says=says)


# Grains that can't be, each as its shape's example with some values put in place: what, where it is told, what else is said.
POINTS = lambda *places: [{"points": [dict({"x": f"{x} mm", "y": f"{y} mm"}, **more) for x, y, *rest in places
                                      for more in [rest[0] if rest else {}]]}]
def turned(*places):
    """A profile from pairs of z and diameter [mm]."""
    return [{"z": f"{z} mm", "diameter": f"{d} mm"} for z, d in places]


GEOMETRY = [
    ("outline", {"loops": POINTS((-10, -10), (10, 10), (10, -10), (-10, 10))}, "/loops", "crosses itself at 0 mm, 0 mm"),
    ("outline", {"loops": POINTS((-10, -5), (10, -5), (10, 5), (-10, 5)) + POINTS((0, -9), (5, -9), (5, 9), (0, 9))},
     "/loops", "crosses itself at 5 mm, -5 mm"),
    ("outline", {"loops": POINTS((-10, -5), (10, -5), (10, 5), (-10, 5)) * 2}, "/loops", "lies upon itself"),
    ("outline", {"loops": POINTS((-10, -10), (40, 0), (-10, 10))}, "/loops", "reaches x = 40 mm, y = 0 mm, outside"),
    ("outline", {"loops": POINTS((15, -20, {"arc_radius": "20 mm"}), (15, 20))}, "/loops", "x = 35 mm, y = 0 mm, outside"),
    ("outline", {"loops": POINTS((-10, -10), (30, 0), (-10, 10))}, "/loops", "leaves no web"),
    ("outline", {"loops": POINTS((-10, -10, {"fillet": "30 mm"}), (10, -10), (0, 10))}, "/loops/0/points/0/fillet",
     "larger than its corner"),
    ("star", {"fillet_radius": "20 mm"}, "/fillet_radius", "fillet_radius is 20 mm.*less web"),
    ("star", {"web": "30 mm"}, "/web", "web is 30 mm"),
    ("star", {"half_angle": "10 deg"}, "/half_angle", "meet at the axis"),
    ("wagon-wheel", {"fillet_radius": "20 mm"}, "/fillet_radius", "fillet_radius is 20 mm"),
    ("wagon-wheel", {"spoke_thickness": "40 mm"}, "/spoke_thickness", "spoke_thickness is 40 mm"),
    ("dendrite", {"fillet_radius": "20 mm"}, "/fillet_radius", "fillet_radius is 20 mm"),
    ("dendrite", {"short_core_diameter": "20 mm"}, "/core_diameter", "smaller than short_core_diameter"),
    ("cruciform", {"root_fillet": "40 mm"}, "/root_fillet", "root_fillet is 40 mm"),
    ("slotted-tube", {"slots": 20}, "/slot_width", "wall between the slots"),
    ("slotted-tube", {"slot_diameter": "80 mm"}, "/slot_diameter", "smaller than outer_diameter"),
    ("slotted-tube", {"tip_fillet": "5 mm"}, "/tip_fillet", "half of the slot's width"),
    ("multi-perforated", {"perforations": [{"diameter": "75 mm"}]}, "/perforations/0/diameter", "diameter is 75 mm"),
    ("multi-perforated", {"perforations": [{"diameter": "8 mm", "distance": "5 mm", "count": 6}]}, "/perforations/0",
     "ports overlap"),
    ("multi-perforated", {"perforations": [{"diameter": "8 mm", "distance": "36 mm"}]}, "/perforations/0/distance",
     "within the grain"),
    ("offset-bore", {"offset": "20 mm"}, "/offset", "within the grain"),
    ("dog-bone", {"lobe_distance": "30 mm"}, "/lobe_distance", "within the grain"),
    ("d-section", {"flat_distance": "25 mm"}, "/flat_distance", "the outer radius"),
    ("rod-and-tube", {"rod_diameter": "40 mm"}, "/rod_diameter", "smaller than bore_diameter"),
    ("one-slot-tube", {"bore_diameter": "60 mm"}, "/bore_diameter", "smaller than outer_diameter"),
    ("finocyl", {"fins": 30}, "/fin_width", "wall between the slots"),
    ("finocyl", {"fin_width": "20 mm"}, "/fin_width", "wall between the slots"),
    ("finocyl", {"fin_diameter": "100 mm"}, "/fin_diameter", "smaller than outer_diameter"),
    ("finocyl", {"tip_fillet": "4 mm"}, "/tip_fillet", "half of the slot's width"),
    ("conocyl", {"slot_diameter": "100 mm"}, "/slot_diameter", "smaller than outer_diameter"),
    ("conocyl", {"slot_position": "230 mm"}, "/slot_position", "slot_position is 230 mm"),
    ("conocyl", {"slot_position": "1 mm"}, "/slot_position", "slot_position is 1 mm"),
    ("conocyl", {"slot_angle": "130 deg", "slot_position": "210 mm"}, "/slot_position", "off the aft end"),
    ("finned-conocyl", {"slot_diameter": "100 mm"}, "/slot_diameter", "smaller than outer_diameter"),
    ("finned-conocyl", {"slot_diameter": "35 mm"}, "/slot_diameter", "the bore and the slot's round end"),
    ("finned-conocyl", {"slot_position": "10 mm"}, "/slot_position", "off the fore end"),
    ("finned-conocyl", {"fins": 30}, "/fin_width", "wall between the slots"),
    ("finned-conocyl", {"fin_diameter": "100 mm"}, "/fin_diameter", "smaller than outer_diameter"),
    ("finned-conocyl", {"fin_diameter": "25 mm"}, "/fin_diameter", "larger than bore_diameter"),
    ("finned-conocyl", {"fin_length": "220 mm"}, "/fin_length", "smaller than length"),
    ("finned-conocyl", {"tip_fillet": "4 mm"}, "/tip_fillet", "half of the slot's width"),
    ("slotted-segment", {"slots": 40}, "/slotted/0/width", "wall between the slots"),
    ("slotted-segment", {"round_slots": [{"position": "160 mm", "width": "8 mm", "diameter": "70 mm"}]},
     "/round_slots/0", "before that at /slotted/0 ends"),
    ("slotted-segment", {"round_slots": [{"position": "50 mm", "width": "8 mm", "diameter": "100 mm"}]},
     "/round_slots/0/diameter", "smaller than outer_diameter"),
    ("joined-voids", {"voids": [{"form": "ball", "z": "90 mm", "diameter": "30 mm"}]}, "/voids/0", "closed off"),
    ("joined-voids", {"voids": [{"form": "cylinder", "z": "0 mm", "diameter": "100 mm", "length": "180 mm"}]}, "/voids",
     "nothing of the grain to burn"),
    ("joined-voids", {"voids": [{"form": "cylinder", "z": "-10 mm", "tilt": "40 deg", "diameter": "30 mm",
                                 "length": "200 mm"}]}, "/voids/0", "cuts the wall aslant"),
    ("joined-voids", {"voids": [{"form": "box", "z": "0 mm", "width": "20 mm", "height": "8 mm", "length": "180 mm",
                                 "fillet": "5 mm"}]}, "/voids/0/fillet", "half of the box's width and height"),
    ("joined-voids", {"voids": [{"form": "ball", "z": "0 mm", "diameter": "30 mm", "fillet": "1 mm"}]},
     "/voids/0/fillet", "a ball has no fillet"),
    ("joined-voids", {"voids": [{"form": "turned", "z": "0 mm"}]}, "/voids/0/profile", "turned void needs its profile"),
    ("joined-voids", {"voids": [{"form": "ball", "z": "0 mm", "diameter": "30 mm", "profile": turned((0, 0), (9, 9), (9, 0))}]},
     "/voids/0/profile", "a ball has no profile"),
    ("joined-voids", {"voids": [{"form": "turned", "z": "0 mm", "profile": turned((0, 0), (0, 30), (0, 30), (90, 0))}]},
     "/voids/0/profile/1", "same as the next"),
    ("joined-voids", {"voids": [{"form": "turned", "z": "0 mm", "profile": turned((0, 10), (40, 30), (80, 50))}]},
     "/voids/0/profile", "encloses nothing"),
    ("joined-voids", {"voids": [{"form": "turned", "z": "0 mm", "profile": turned((0, 0), (-20, 30), (20, 30))}]},
     "/voids/0/profile", "at one corner alone"),
    ("joined-voids", {"voids": [{"form": "turned", "z": "0 mm",
                                 "profile": turned((0, 0), (0, 30), (50, 0), (90, 30), (90, 0))}]},
     "/voids/0/profile", "more places than one stretch"),
    ("joined-voids", {"voids": [{"form": "turned", "z": "0 mm",
                                 "profile": turned((0, 0), (0, 40), (60, 20), (20, 20), (90, 40), (90, 0))}]},
     "/voids/0/profile", "crosses itself"),
    ("bore-profile", {"profile": [{"diameter": "16 mm"}, {"z": "60 mm", "diameter": "61 mm"}, {"diameter": "9 mm"}]},
     "/profile/1/diameter", "smaller than outer_diameter"),
    ("domed-tube", {"aft_dome": "190 mm"}, "/length", "the domes take 250 mm"),
    ("end-burner", {"recess_depth": "10 mm"}, "/recess_diameter", "both"),
    ("end-burner", {"recess_diameter": "29 mm", "recess_depth": "10 mm"}, "/recess_diameter", "outer_diameter"),
    ("mesh", {"outer_diameter": "20 mm"}, "/vertices", "beyond the radius of 10 mm"),
]


def break_geometry(shape, document, grain):
    """What a grain's own values contradict, and a mesh that is open, inside out, or names no vertex."""
    for name, values, pointer, says in GEOMETRY:
        if name == shape:
            case({**document, "grains": [{**grain, **values}]}, f"/grains/0{pointer}", 1, f"{shape}: {values}"[:120],
                 says=says)
    if shape != "mesh":
        return
    facets, turned = grain["facets"], [{"a": f["a"], "b": f["c"], "c": f["b"]} for f in grain["facets"]]
    beside = [{key: f"{float(v[key].split()[0]) * 0.3 + move} mm" for key, move in (("x", 22), ("y", 0), ("z", 0.3))}
              for v in grain["vertices"]]
    n = len(grain["vertices"])
    more = [{key: f[key] + n for key in "abc"} for f in turned]
    for values, pointer, says in [
            ({"facets": turned}, "/facets/0", r"inside out.* at facet 1's edge from \(13, 1, -2\) to \(-7, 9, -2\) mm"),
            ({"vertices": grain["vertices"] + beside, "facets": facets + more}, "/facets/8", "inside out.* facet 9's edge"),
            ({"facets": facets[:-1]}, "/facets/1", r"open at facet 2's edge from \(17, -1, 73\) to \(-9, -14, 73\) mm"),
            ({"facets": facets[:3] + [turned[3]] + facets[4:]}, "/facets/1", "opposite ways at facet 2's edge"),
            ({"facets": facets[:-1] + [{"a": 2, "b": 3, "c": 99}]}, "/facets/7", "facet 8 names vertex 99"),
            ({"facets": facets[:-1] + [{"a": 2, "b": 3, "c": 3}]}, "/facets/7", "one vertex twice")]:
        case({**document, "grains": [{**grain, **values}]}, f"/grains/0{pointer}", 1, f"mesh: {says}", says=says)


def base_motor(grain):
    mm = {"mm": 1.0, "m": 1000.0}
    number = lambda text: float(text.split()[0]) * mm[text.split()[1]]
    d, length = number(grain["outer_diameter"]), number(grain["length"])
    return {"format": "slowmatch-motor/1", "name": "base", "propellant": "demo-slow-composite",
            "case": {"bore": f"{d + 1} mm", "length": f"{length + 1} mm"}, "grains": [grain],
            "nozzle": {"throat_diameter": f"{0.2 * d} mm", "exit_diameter": f"{0.4 * d} mm"}}


# Shapes whose fronts would go round edges if just an end burned; the others' ports are even along the axis.
BENDING = {"bore-profile", "conocyl", "domed-tube", "finned-conocyl", "finocyl", "joined-voids", "mesh",
           "slotted-segment", "tapered-tube"}
# Of these, the ones whose fronts can be followed round edges.
FOLLOWED = {"bore-profile", "conocyl", "tapered-tube"}

# Rows of every grain, walked with the first motor.
COMMON = ("outer_diameter", "length", "burning", "count", "spacing")


def collect():
    motor_schema, propellant_schema = schema("slowmatch-motor"), schema("slowmatch-propellant")
    load = lambda *parts: json.load(open(os.path.join(source, *parts)))
    cored, tubes = load("examples", "sandpiper-cored.json"), load("examples", "sandpiper-tubes.json")
    bought, from_file = load("examples", "curlew-tolerances.json"), load("examples", "curlew-from-file.json")
    from_file["curve"]["file"] = os.path.join(source, "examples", "curlew-curve.csv")
    from_file["curve"].update(time_column="1", thrust_column="2", time_unit="s", thrust_unit="N")
    for document, name in ((cored, "cored"), (tubes, "tubes"), (bought, "bought"), (from_file, "from file")):
        walk(document, document, motor_schema, [], name)
    break_tolerances(cored, motor_schema)
    propellant = load("propellants", "demo-slow-composite.json")
    propellant = {"format": propellant.pop("format"), **propellant}
    walk(propellant, propellant, propellant_schema, [], "propellant")
    stand = load("examples", "stand", "bench.json")
    walk(stand, stand, schema("slowmatch-stand"), [], "stand")
    listed = subprocess.run([program, "shapes"], capture_output=True, check=True).stdout.decode()
    for shape in re.findall(r"^([a-z][a-z-]+)  ", listed, re.M):
        said = subprocess.run([program, "shapes", shape], capture_output=True, check=True).stdout.decode()
        grain = json.loads(re.search(r"^  (\{.*\})$", said, re.M).group(1))
        document = base_motor(grain)
        rules = [r for r in motor_schema["properties"]["grains"]["items"]["oneOf"] if fits(grain, r)]
        own = {key: part for key, part in rules[0]["properties"].items() if key not in COMMON}
        walk_object(document, grain, {**rules[0], "properties": own}, ["grains", 0], shape)
        break_geometry(shape, document, grain)
        if shape in BENDING:
            inhibited = changed(document, ["grains", 0, "burning"], ["aft-end"])
            case(inhibited, "/grains/0/burning", 1, f"{shape}: inhibited bore", says="round edges")
            asked = changed(inhibited, ["grains", 0, "burnback"], "geodesic")
            if shape not in FOLLOWED:
                case(asked, "/grains/0/burning", 1, f"{shape}: inhibited bore, geodesic", says="round edges")
    for where, value, pointer, says in PHYSICS:
        path = [int(k) if k.isdigit() else k for k in where.split("/")]
        case(changed(cored, path, value), pointer, 1, f"{where} = {value}", says=says)
    break_laws(changed(cored, ["propellant"], propellant), ["propellant"], "inline")
    break_laws(propellant, [], "propellant")
    break_curve(bought)
    break_request()
    break_vehicle()
    several = cored
    for path, value in ((["case", "bore"], 3), (["nozzle", "half_angle"], "15"), (["grains", 0, "lengthh"], "1 m"),
                        (["conditions", "grain_temperature"], "21 mm"), (["ignition"], [])):
        several = changed(several, path, value)
    case(several, None, 5, "five faults")
    case(changed(cored, ["grains"], [{}] * 30), None, 20, "30 faults", says="and 10 more")


def break_tolerances(cored, motor_schema):
    """Spreads of values that are not there, or of no sense."""
    throat, rates = "/nozzle/throat_diameter", "/propellant/burn_rate"
    good = {**cored, "tolerances": [{"of": throat, "normal": "0.02 mm", "truncated": "0.05 mm", "batch": True},
                                    {"of": "/grains/0/length", "uniform": "0.2 mm"}]}
    walk(good, good["tolerances"], motor_schema["properties"]["tolerances"], ["tolerances"], "tolerances")
    other = {**cored, "tolerances": [{"of": "/grains/0/length", "triangular": "0.2 mm"}]}
    walk(other, other["tolerances"], motor_schema["properties"]["tolerances"], ["tolerances"], "tolerances")
    for entry, key, says in [
            ({"of": "/nozzle/throat_diametre", "normal": "1 mm"}, "of", "did you mean 'throat_diameter'"),
            ({"of": "/grains/9/length", "normal": "1 mm"}, "of", "there is no grain 9"),
            ({"of": "/grains/0/count", "normal": 1}, "of", "whole number"),
            ({"of": "/propellant/name", "normal": 1}, "of", "not a number"),
            ({"of": "/case/free_volume", "normal": "1 cm3"}, "of", "does not give"),
            ({"of": throat, "normal": "-0.02 mm"}, "normal", "above 0"),
            ({"of": throat, "uniform": "0 mm"}, "uniform", "above 0"),
            ({"of": throat, "triangular": "-2 %"}, "triangular", "above 0"),
            ({"of": throat, "normal": "2 K"}, "normal", None),
            ({"of": throat, "normal": "1 m"}, "normal", "leaves what the value may be"),
            ({"of": throat[1:], "normal": "0.02 mm"}, "of", "begins with '/'"),
            ({"of": "/conditions/grain_temperature", "normal": "2 %"}, "normal", "strays by kelvins"),
            ({"of": rates, "normal": "2"}, "normal", "bare number"),
            ({"of": throat, "uniform": "1 %", "truncated": "1 %"}, "truncated", "ends of its own"),
            ({"of": throat, "normal": "1 %", "uniform": "1 %"}, "uniform", "one law"),
            ({"of": throat}, None, "how far the value strays")]:
        pointer = f"/tolerances/0/{key}" if key else "/tolerances/0"
        case({**cored, "tolerances": [entry]}, pointer, 1, f"tolerance {entry}", says=says)
    twice_named = [{"of": throat, "normal": "1 %"}, {"of": "nozzle.throat_diameter", "normal": "2 %"}]
    case({**cored, "tolerances": twice_named}, "/tolerances/1/of", 1, "a tolerance twice", says="already")


def break_laws(document, path, name):
    """Burning-rate laws that no chamber can hold, or that don't join; erosive burning half given, or twice."""
    law, document_path = [*path, "burn_rate"], path
    segment = inner(document, law)[0]
    for exponent in (1, 1.5, 5):
        path = [*law, 0, "exponent"]
        case(changed(document, path, exponent), pointer_of(path), 1, f"{name}: exponent {exponent}")
    case(changed(document, law, []), pointer_of(law), 1, f"{name}: no segment")
    case(changed(document, [*law, 0, "to"], segment["from"]), pointer_of([*law, 0, "to"]), 1, f"{name}: empty segment")
    case(changed(document, law, [segment, segment]), pointer_of([*law, 1, "from"]), 1, f"{name}: an overlap")
    by_rate = {"rate": "1 mm/s", "flux": "1000 kg m-2 s-1", "diameter": "10 mm"}
    erosive = [*document_path, "erosive"]
    for value, field, says in (({**by_rate, "rate": "-1 mm/s"}, "rate", "must be from"),
                               ({**by_rate, "flux": "0 kg m-2 s-1"}, "flux", "must be from"),
                               ({"threshold": "500 kg m-2 s-1"}, "gain", "missing"),
                               ({"threshold": "-5 kg m-2 s-1", "gain": "1e-6 m3/kg"}, "threshold", "must be from"),
                               ({**by_rate, "threshold": "5 kg m-2 s-1", "gain": "1e-6 m3/kg"}, "threshold", "one way")):
        case(changed(document, erosive, value), pointer_of([*erosive, field]), 1, f"{name}: erosive {value}", says=says)


def break_curve(bought):
    """Samples that are no curve."""
    where = "/curve/thrust/values"
    path = ["curve", "thrust", "values"]
    n = len(inner(bought, path))
    for value in ("1", None, [], True):
        case(changed(bought, [*path, 2], value), f"{where}/2", 1, f"{where}/2: {value!r}")
    for value in (1e300, -1e300):
        case(changed(bought, [*path, 2], value), f"{where}/2", 1, f"{where}/2: {value!r}")
    case(changed(bought, path, [0] * n), "/curve", 1, f"{where}: never above zero")
    case(changed(bought, path, [1] * (n - 1)), "/curve", 1, f"{where}: one too few")
    case(changed(bought, ["curve", "time", "values", 3], 0.01), "/curve", 1, "/curve/time: goes back")
    case(changed(bought, ["curve", "propellant_mass"], "90 g"), "/curve/propellant_mass", 1, "too much propellant")
    case(changed(bought, ["curve", "thrust", "unit"], "s"), "/curve/thrust/unit", 1, "a thrust in seconds")
    case(changed(bought, ["curve", "file"], "x.csv"), "/curve", 1, "a curve twice")
    case(changed(bought, ["nozzle"], {}), "/nozzle", 1, "a curve with a nozzle")


def break_request():
    """Requests that leave nothing free, contradict themselves, or speak of what is not there."""
    with open(os.path.join(source, "examples", "requests", "sandpiper.json"), encoding="utf-8") as file:
        good = json.load(file)
    good["motor"] = os.path.join(source, "examples", "sandpiper-end-burner.json")
    free, band = good["free"][0], "/limits/thrust"
    point = {"time": "1 s", "least": "9 N", "most": "16 N"}
    for path, value, pointer, says in [
            ("free", None, None, None),
            ("free", [], "/free", "no value is free"),
            ("free", free, "/free", "list"),
            ("free", [free, free], "/free/1/of", "already"),
            ("free", [free] * 40, "/free", "1 to"),
            ("free/0/from", "120 mm", "/free/0/to", "other way round"),
            ("free/0/from", "110 mm", "/free/0/to", "not above"),
            ("free/0/from", "3 kg", "/free/0/from", None),
            ("free/0/from", 60, "/free/0/from", "needs a unit of length"),
            ("free/0/from", None, "/free/0/from", None),
            ("free/0/to", "30 km", "/free/0/to", None),
            ("free/2/of", "/nozzle/throat_diametre", "/free/2/of", "did you mean 'throat_diameter'"),
            ("free/0/of", "/grains/0/long", "/free/0/of", "there is no value 'long'"),
            ("free/0/of", "/grains/7/length", "/free/0/of", "there is no grain 7"),
            ("free/0/of", "/name", "/free/0/of", None),
            ("free/0/off", "x", "/free/0/off", "did you mean"),
            ("free/1/tied/0/of", "/nozzle/half_angle", "/free/1/tied/0/of", None),
            ("free/1/tied/0/of", "/nowhere", "/free/1/tied/0/of", None),
            ("free/1/tied/0/factor", "2 mm", "/free/1/tied/0/factor", None),
            ("free/1/tied/0/of", "/grains/0/length", "/free/1/tied/0/of", "already"),
            ("limits/length", {"least": "90 mm", "most": "80 mm"}, "/limits/length", None),
            ("limits/length", {"most": "80 kg"}, "/limits/length/most", None),
            ("limits/lenght", {"most": "80 mm"}, "/limits/lenght", "did you mean 'length'"),
            ("limits/class", "HH", "/limits/class", "no impulse class"),
            ("limits/class", 3, "/limits/class", None),
            ("limits/thrust", [point], band, None),
            ("limits/thrust", [point, point], band + "/1/time", "must rise"),
            ("limits/thrust", [point, {"time": "2 s", "least": "9 N", "most": "8 N"}], band + "/1", "contradict"),
            ("limits/thrust", [point, {"time": "2 s", "least": "9 s"}], band + "/1/least", None),
            ("limits/thrust", [point, {"least": "9 N"}], band + "/1/time", None),
            ("wanted/thrust", [{"time": "1 s", "thrust": "9 N"}], "/wanted/thrust", None),
            ("wanted/burn_time", {"value": "9 s", "aim": "least"}, "/wanted/burn_time/aim", None),
            ("wanted/burn_time", {"value": "-9 s"}, "/wanted/burn_time/value", None),
            ("wanted/burn_time", {"aim": "most"}, "/wanted/burn_time/aim", None),
            ("wanted/burn_tine", {"value": "9 s"}, "/wanted/burn_tine", "did you mean 'burn_time'"),
            ("wanted/under_class", "7", "/wanted/under_class", "no impulse class"),
            ("accept", ["everything"], "/accept/0", None),
            ("release_time", "-1 s", "/release_time", None),
            ("motor", "nowhere.json", "/motor", None),
            ("motor", os.path.join(source, "examples", "curlew-bought.json"), "/motor", "no grain to size"),
            ("name", 3, "/name", None)]:
        keys = [int(k) if k.isdigit() else k for k in path.split("/")]
        document = changed(good, keys, value)
        if value is None:
            del inner(document, keys[:-1])[keys[-1]]
        case(document, pointer, True, f"request: {path} = {value!r}"[:120], says=says)


def chosen():
    said = set()
    for i, one in enumerate(cases):
        is_first = one[4] is not None and one[4] not in said
        said.add(one[4])
        if is_first or i % every == 0:
            yield one


def main():
    global counted
    collect()
    for key in sorted(passed_over - walked):
        failures.append(f"no good file has a {key} to break")
    with ThreadPoolExecutor(2) as pool:
        for fault in pool.map(lambda c: judge(*c), list(chosen())):
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
    return 1 if failures or counted * every < 3000 else 0


sys.exit(main())
