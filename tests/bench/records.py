"""Speed of reading and reducing a record, and of a fit, side by side with wc on the same files.

    records.py PROGRAM PROJECT

Best of three, whole processes. Aims on a quiet core: a million rows under 1 s, a fit of three parameters over five firings of
2 000 rows under 2 s. Beside each time stands how far the answer is from what was put in.
"""

import csv
import json
import math
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

program, project = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()


def best(command):
    times, out = [], b""
    for _ in range(3):
        start = time.perf_counter()
        out = subprocess.run(command, capture_output=True, check=True).stdout
        times.append(time.perf_counter() - start)
    return min(times), out


def million(path):
    """A half sine wave of 100 N and 4 s in 10 s, with noise of 0.3 N and an offset of 2 N."""
    random.seed(1)
    with open(path, "w", encoding="ascii") as out:
        out.write("time (s),thrust (N)\n")
        for i in range(1_000_000):
            u = min(max((i * 1e-5 - 3) / 4, 0), 1)
            out.write(f"{i * 1e-5:.5f},{100 * math.sin(math.pi * u) + random.gauss(2, 0.3):.3f}\n")


def firings(folder):
    """Five noisy records of 2 000 rows of one burn of known constants, thrust and pressure."""
    curve = folder / "burn.csv"
    motor = project / "examples/sandpiper-cored.json"
    subprocess.run([program, "burn", motor, "--set", "propellant.burn_rate.0.rate=4.5 mm/s", "--accuracy", "1e-6",
                    "--csv", curve], check=True, capture_output=True)
    with open(curve, encoding="utf-8", newline="") as text:
        rows = list(csv.reader(text))
    column = {name.split()[0]: i for i, name in reversed(list(enumerate(rows[0])))}
    points = [[float(r[column[k]]) for k in ("time", "thrust", "pressure")] for r in rows[1:]]
    for seed in range(5):
        random.seed(seed)
        with open(folder / f"{seed}.csv", "w", encoding="ascii") as out:
            out.write("time,thrust,pressure\n")
            at = 0
            for i in range(2000):
                t, thrust, pressure = i * 1.75e-3 - 1, 0.0, 101325.0
                if 0 <= t < points[-1][0]:
                    while points[at + 1][0] <= t:
                        at += 1
                    (t0, f0, p0), (t1, f1, p1) = points[at], points[at + 1]
                    share = (t - t0) / (t1 - t0)
                    thrust, pressure = f0 + share * (f1 - f0), p0 + share * (p1 - p0)
                out.write(f"{t + 1:.6f},{thrust + random.gauss(0, 0.5):.4f},{pressure + random.gauss(0, 1e4):.1f}\n")
    return motor, [folder / f"{seed}.csv" for seed in range(5)]


with tempfile.TemporaryDirectory() as name:
    folder = Path(name)
    record = folder / "million.csv"
    million(record)
    wc, _ = best(["wc", record])
    ours, out = best([program, "firing", record])
    line = next(line for line in out.decode().splitlines() if line.startswith("  in the burn time"))
    true = 100 * 4 * 2 / math.pi * math.sqrt(1 - 0.05**2)
    print(f"a million rows: {ours:.3f} s, wc {wc:.3f} s, ratio {ours / wc:.1f}; impulse off by {float(line.split()[4]) / true - 1:+.1e}")
    motor, records = firings(folder)
    wc, _ = best(["wc", *records])
    ours, out = best([program, "fit", motor, *records, "--pressure-column", "pressure", "--vary", "rate,exponent,cstar", "--json"])
    rate = json.loads(out)["values"]["rate"]["value"]
    print(f"a fit of three over five firings: {ours:.3f} s, wc {wc:.4f} s, ratio {ours / wc:.0f}; rate off by {rate / 4.5e-3 - 1:+.1e}")
