"""Processor time of exporting a curve of 2 000 points, the whole process with reading and burning: under 50 ms in any form.

The figure is the project's own aim. The best of several runs counts, since the machine may be busy with others.
"""

import json
import math
import os
import resource
import sys
import tempfile

import checks as c

N, LIMIT = 2000, 0.050  # points, seconds
RUNS = 5


def write_motor(folder):
    with open(os.path.join(folder, "curve.csv"), "w", encoding="utf-8") as file:
        file.write("time,thrust\n")
        for i in range(N):
            thrust = 0 if i in (0, N - 1) else 50 + 10 * math.sin(0.015 * i) + 0.01 * (i % 7)
            file.write(f"{0.005 * i:.6g},{thrust!r}\n")
    path = os.path.join(folder, "motor.json")
    curve = {"file": "curve.csv", "loaded_mass": "1 kg", "propellant_mass": "0.4 kg", "length": "0.3 m", "diameter": "50 mm",
             "exit_diameter": "15 mm"}
    with open(path, "w", encoding="utf-8") as file:
        json.dump({"format": "slowmatch-motor/1", "name": "speed", "curve": curve}, file)
    return path


def processor_time(program, *arguments):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    c.command(program, *arguments)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def main():
    program, folder = sys.argv[1:3]
    checks = c.Checks()
    template = os.path.join(folder, "templates", "c-array.mustache")
    with tempfile.TemporaryDirectory() as room:
        motor = write_motor(room)
        rows = [(form,) for form in ("csvw", "dave-ml", "fmu", "modelica", "json", "mat")]
        rows += [(form, "--points", "1000") for form in ("csvw", "dave-ml", "fmu")]
        rows += [("c-header", "--points", str(N)), ("template", "--template", template)]
        for form, *more in rows:
            spent = min(processor_time(program, "export", motor, "--to", form, "-o", os.path.join(room, "out"), *more)
                        for _ in range(RUNS))
            print(f"{form} {' '.join(more[:2])}: {1e3 * spent:.1f} ms")
            checks.that(spent < LIMIT, f"{form} takes {1e3 * spent:.1f} ms")
    checks.end()


main()
