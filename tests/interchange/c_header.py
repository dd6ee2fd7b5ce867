"""The c-header form, compiled as strict C99 and run, against the run."""

import csv
import os
import subprocess
import sys
import tempfile

import checks as c

FLAGS = ["-std=c99", "-pedantic-errors", "-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-Werror", "-O1"]

MAIN = """
#include <stdio.h>
#include "motor.h"
int main(void)
{
    for (int i = 0; i < MACRO_POINTS; i++)
        printf("%.17g,%.17g,%.17g\\n", (double)ID_time[i] / PER_SECOND, (double)ID_thrust[i] / PER_NEWTON,
               (double)ID_MASS[i] / PER_KILOGRAM);
    puts("-");
    for (int i = -10; i <= 510; i++) {
        const double t = i < 0 ? 0.0 : @END@ * i / 500.0;
        printf("%.17g,%.17g,%.17g\\n", t, (double)ID_thrust_at((TYPE)(t * PER_SECOND)) / PER_NEWTON,
               (double)ID_MASS_at((TYPE)(t * PER_SECOND)) / PER_KILOGRAM);
    }
    return 0;
}
"""


def compile_and_run(compiler, folder, identifier, mass, end, fixed):
    text = MAIN.replace("MACRO", identifier.upper()).replace("ID_MASS", f"{identifier}_{mass}")
    text = text.replace("ID_", identifier + "_").replace("@END@", repr(end)).replace("TYPE", "uint32_t" if fixed else "float")
    for unit in ("SECOND", "NEWTON", "KILOGRAM"):
        macro = f"(double){identifier.upper()}_PER_{unit}"
        text = text.replace(f"PER_{unit}", macro if fixed else "1.0")
    source, program = os.path.join(folder, "main.c"), os.path.join(folder, "main")
    with open(source, "w", encoding="utf-8") as file:
        file.write(text)
    subprocess.run([compiler, *FLAGS, source, "-o", program], check=True)
    said = subprocess.run([program], check=True, capture_output=True, text=True).stdout
    return [[[float(x) for x in line.split(",")] for line in part.split()] for part in said.split("-\n")]


def columns_of(program, motor, points, folder):
    """The same table as CSV."""
    path = os.path.join(folder, "table.csv")
    c.command(program, "export", motor, "--to", "csvw", "--points", str(points), "-o", path)
    with open(path, newline="", encoding="utf-8") as file:
        header, *rows = list(csv.reader(file))
    return {key: [float(row[i]) for row in rows] for i, key in enumerate(header)}


def check(checks, program, compiler, motor, points, fixed):
    name = f"{os.path.basename(motor)}, {points} points{', whole numbers' if fixed else ''}"
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "motor.h")
        more = ["--fixed-point"] if fixed else []
        c.command(program, "export", motor, "-o", path, "--points", str(points), *more)
        table = columns_of(program, motor, points, folder)
        with open(path, encoding="utf-8") as file:
            text = file.read()
        identifier = text.split("_POINTS")[0].split()[-1].lower()
        mass = "motor_mass" if "motor_mass" in table else "propellant_mass"
        end = 1.1 * table["time"][-1]
        arrays, values = compile_and_run(compiler, folder, identifier, mass, end, fixed)
    run = c.run_of(program, motor)
    total, peak = run["summary"]["thrust"]["total_impulse"], run["summary"]["thrust"]["maximum"]
    times, thrust = [row[0] for row in arrays], [row[1] for row in arrays]
    checks.that(len(arrays) <= points and all(a < b for a, b in zip(times, times[1:], strict=False)), f"{name}: times rise")
    checks.near(c.area(times, thrust), total, 1e-6 * total, f"{name}: total impulse")
    checks.near(max(thrust), peak, 1e-3 * peak, f"{name}: maximum thrust")
    # A float has 24 bits: 6e-8 of time, which on the steepest stretch is as much of thrust times its slope.
    steepest = max(
        abs(b - a) / (v - u)
        for a, b, u, v in zip(table["thrust"], table["thrust"][1:], table["time"], table["time"][1:], strict=False)
        if v - u > 1e-5 * end
    )
    for t, f, m in values:
        if min(abs(t - k) for k in table["time"]) > 1e-5 * end or t == 0:
            wanted = c.line_at(table["time"], table["thrust"], t)
            checks.near(f, wanted, 3e-7 * peak + 2e-7 * end * steepest, f"{name}: thrust at {t}")
            checks.near(m, c.line_at(table["time"], table[mass], t), 1e-6 * table[mass][0], f"{name}: mass at {t}")
    checks.that(run["summary"]["class"]["designation"] in text and "no certification" in text, f"{name}: facts")


def main():
    program, folder, compiler = sys.argv[1:4]
    checks = c.Checks()
    for i, motor in enumerate(c.examples(folder)):
        for points in (12, 64, 1000) if i == 0 else (64,):
            for fixed in (False, True):
                check(checks, program, compiler, motor, points, fixed)
    checks.end()


main()
