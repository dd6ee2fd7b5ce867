"""The mat form, by a reader written from the public layout, and by scipy's where that is installed, against the run.

Reference: MathWorks, MAT-File Format, level 4.
"""

import importlib.util
import os
import struct
import sys
import tempfile

import checks as c


def read(raw):
    """Matrices by name: text, or lists of columns."""
    at, found = 0, {}
    while at < len(raw):
        kind, rows, columns, imaginary, length = struct.unpack_from("<5i", raw, at)
        at += 20
        name = raw[at : at + length - 1].decode("ascii")
        if raw[at + length - 1] != 0 or imaginary or kind not in (0, 1) or name in found or len(name) > 19:
            raise ValueError(f"bad header of {name}")
        at += length
        values = struct.unpack_from(f"<{rows * columns}d", raw, at)
        at += 8 * rows * columns
        if kind == 1:
            found[name] = ["".join(chr(int(values[r + rows * k])) for k in range(columns)) for r in range(rows)]
        else:
            found[name] = [list(values[rows * k : rows * (k + 1)]) for k in range(columns)]
    return found


def check_by_scipy(checks, name, path, ours):
    from scipy.io import loadmat

    theirs = loadmat(path)
    for key, value in ours.items():
        other = theirs[key]
        if isinstance(value[0], str):
            checks.that(list(other) == value or [str(other[0])] == value, f"{name}: {key} by scipy is {other!r}")
        else:
            checks.that(other.T.tolist() == value, f"{name}: {key} by scipy")


def check(checks, program, motor, folder):
    name = os.path.basename(motor)
    path = os.path.join(folder, "motor.mat")
    c.command(program, "export", motor, "-o", path)
    with open(path, "rb") as file:
        found = read(file.read())
    run = c.run_of(program, motor)
    labels = [label.strip() for label in found["columns"]]
    table = dict(zip(labels, found["table"], strict=True))
    c.check_curve(checks, name, run, table["time"], table)
    checks.that(all(found[key] == [values] for key, values in table.items()), f"{name}: vectors are the table's columns")
    thrust = run["summary"]["thrust"]
    checks.near(found["total_impulse"][0][0], thrust["total_impulse"], 1e-11 * thrust["total_impulse"], name)
    checks.that(found["designation"] == [run["summary"]["class"]["designation"]], f"{name}: designation")
    checks.that("no certification" in found["standing"][0], f"{name}: standing")
    checks.that(len(found["input_sha256"][0]) == 64, f"{name}: hash")
    checks.that({"loaded_propellant", "loaded_mass", "program"} <= found.keys(), f"{name}: masses and program")
    if "ambient" in found:
        checks.that(len(found["ambient"]) == len(found["thrust_by_ambient"]), f"{name}: a column a pressure")
        checks.that(found["thrust_by_ambient"][0] == table["thrust_vacuum"], f"{name}: thrust in vacuum")
    if importlib.util.find_spec("scipy"):
        check_by_scipy(checks, name, path, found)


def main():
    program, folder = sys.argv[1:3]
    checks = c.Checks()
    for motor in c.examples(folder):
        with tempfile.TemporaryDirectory() as room:
            check(checks, program, motor, room)
    checks.end()


main()
