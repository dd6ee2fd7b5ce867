"""The little simulator of the examples flies every example motor by unit and by tables to the same apogee, and tells when
the two are not of one motor."""

import os
import re
import subprocess
import sys
import tempfile

import checks as c


def main():
    program, folder, fly = sys.argv[1:4]
    checks = c.Checks()
    with tempfile.TemporaryDirectory() as room:
        others = {}
        for motor in c.examples(folder):
            name = os.path.basename(motor)
            unit, tables = os.path.join(room, name + ".fmu"), os.path.join(room, name + ".dml")
            c.command(program, "export", motor, "-o", unit)
            c.command(program, "export", motor, "-o", tables)
            others[name] = tables
            done = subprocess.run([fly, unit, tables, "0.5"], capture_output=True, text=True, check=False)
            checks.that(done.returncode == 0, f"{name}: {done.stdout}{done.stderr}")
            heights = [float(h) for h in re.findall(r"apogee ([0-9.]+) m", done.stdout)]
            if checks.that(len(heights) == 2 and heights[0] > 10, f"{name}: it flies: {heights}"):
                checks.near(heights[0], heights[1], 1e-6 * heights[1], f"{name}: apogee")
        one, two = sorted(others)[0], sorted(others)[-1]
        done = subprocess.run([fly, os.path.join(room, one + ".fmu"), others[two], "0.5"], capture_output=True, check=False)
        checks.that(done.returncode == 1, "another motor's tables are noticed")
    checks.end()


main()
