"""The modelica form, by a reader written from the block library's documentation, against the run.

Reference: Modelica Standard Library 4, Modelica.Blocks.Sources.CombiTimeTable, section on text files.
"""

import os
import re
import sys

import checks as c


def read(text):
    """All tables of a file, by name, as lists of rows."""
    if not text.startswith("#1"):
        raise ValueError("the file does not begin with #1")
    tables, name, left = {}, None, 0
    for line in text.splitlines()[1:]:
        line = line.split("#", 1)[0].strip()
        if not line:
            continue
        head = re.fullmatch(r"(?:double|float)\s+([^\s,()]+)\((\d+),(\d+)\)", line)
        if head:
            if left:
                raise ValueError(f"{name} lacks {left} numbers")
            name, rows, columns = head[1], int(head[2]), int(head[3])
            if name in tables or not name.isascii():
                raise ValueError(f"bad or repeated name {name}")
            tables[name], left = ([], columns), rows * columns
            continue
        numbers = [float(field) for field in re.split(r"[ \t,;]+", line)]
        tables[name][0].extend(numbers)
        left -= len(numbers)
    if left:
        raise ValueError(f"{name} lacks {left} numbers")
    return {
        key: [values[i : i + width] for i in range(0, len(values), width)] for key, (values, width) in tables.items()
    }


def last_two_points(rows, column, t):
    """The block's default extrapolation: the line through the last two points."""
    (t0, t1), (y0, y1) = (rows[-2][0], rows[-1][0]), (rows[-2][column], rows[-1][column])
    return y1 + (y1 - y0) / (t1 - t0) * (t - t1)


def check(checks, program, motor):
    name = os.path.basename(motor)
    text = c.command(program, "export", motor, "--to", "modelica").decode()
    tables, run = read(text), c.run_of(program, motor)
    names = re.findall(r"^#   \d+ (\w+) \[", text, re.MULTILINE)
    rows = tables["motor"]
    table = {key: [row[i] for row in rows] for i, key in enumerate(names)}
    c.check_curve(checks, name, run, table["time"], table)
    checks.that(last_two_points(rows, 1, 1e3) == 0, f"{name}: no thrust long after, extrapolated through the last two rows")
    thrust, grain = run["summary"]["thrust"], run["summary"]["grain"]
    checks.near(tables["total_impulse"][0][0], thrust["total_impulse"], 1e-11 * thrust["total_impulse"], name)
    checks.near(tables["loaded_propellant"][0][0], grain["mass"], 1e-11 * grain["mass"], name)
    checks.that(f"# designation: {run['summary']['class']['designation']}\n" in text, f"{name}: designation")
    checks.that("no certification" in text and "input sha256: " in text, f"{name}: standing and hash")
    if "thrust_by_ambient" in tables:
        grid = tables["thrust_by_ambient"]
        own = min(range(1, len(grid[0])), key=lambda k: abs(grid[0][k] - 101325))
        checks.that(grid[0][0] == 0 and grid[0][own] == 101325, f"{name}: pressures")
        checks.that([row[own] for row in grid[1:]] == table["thrust"], f"{name}: thrust at the run's pressure")
        checks.that([row[1] for row in grid[1:]] == table["thrust_vacuum"], f"{name}: thrust in vacuum")


def main():
    program, folder = sys.argv[1:3]
    checks = c.Checks()
    for motor in c.examples(folder):
        check(checks, program, motor)
    checks.end()


main()
