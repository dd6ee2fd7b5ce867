"""What the tests of the forms share: running the command, the run's own numbers, and lines between samples."""

import bisect
import json
import os
import subprocess
import sys

SKIPPED = 77


class Checks:
    """Counts what is checked; a failed check is said and remembered."""

    def __init__(self):
        self.n = 0
        self.n_failed = 0

    def that(self, holds, text):
        self.n += 1
        if not holds:
            self.n_failed += 1
            print(f"FAILED: {text}")
        return holds

    def near(self, value, wanted, tolerance, text):
        return self.that(abs(value - wanted) <= tolerance, f"{text}: {value!r}, not {wanted!r} within {tolerance:.3g}")

    def end(self):
        print(f"{self.n} checks, {self.n_failed} failed")
        sys.exit(1 if self.n_failed or not self.n else 0)


def standards(*names):
    """Paths under SM_STANDARDS_DIR; None if that is not set. A file that is missing there is an error."""
    folder = os.environ.get("SM_STANDARDS_DIR")
    if not folder:
        return None
    paths = [os.path.join(folder, name) for name in names]
    for path in paths:
        if not os.path.exists(path):
            sys.exit(f"FAILED: SM_STANDARDS_DIR is set, but there is no {path}")
    return paths


def skip(n, what):
    print(f"SKIPPED: {n} {what}: SM_STANDARDS_DIR is not set")
    sys.exit(SKIPPED)


def command(program, *arguments):
    """Runs the command; its standard output as bytes."""
    done = subprocess.run([program, *arguments], capture_output=True, check=False)
    if done.returncode != 0:
        sys.exit(f"FAILED: {' '.join(arguments)} ended with {done.returncode}: {done.stderr.decode()}")
    return done.stdout


def examples(folder):
    """Paths of the example motors."""
    found = []
    for name in sorted(os.listdir(folder)):
        path = os.path.join(folder, name)
        if name.endswith(".json"):
            with open(path, encoding="utf-8") as file:
                if json.load(file).get("format") == "slowmatch-motor/1":
                    found.append(path)
    if not found:
        sys.exit(f"FAILED: there are no example motors in {folder}")
    return found


def run_of(program, motor):
    """The engine's own numbers."""
    return json.loads(command(program, "burn", motor, "--json"))


def line_at(times, values, t):
    """Straight lines between samples, held outside; at a jump the later value."""
    i = bisect.bisect_right(times, t)
    if i == 0:
        return values[0]
    if i == len(times):
        return values[-1]
    share = (t - times[i - 1]) / (times[i] - times[i - 1])
    return values[i - 1] + share * (values[i] - values[i - 1])


def area(times, values):
    """Integral of the straight lines."""
    return sum(
        0.5 * (a + b) * (v - u) for a, b, u, v in zip(values, values[1:], times, times[1:], strict=False)
    )


def check_curve(checks, name, run, times, columns):
    """A table in SI against the run: the promised bounds on totals, and every column at every instant of the run.

    The run's series is true to 1e-4 of the peak and the table's thrust is fitted to the run's own integral, so 1e-4 of
    each column's largest value is allowed; within a millionth of the whole time of a jump nothing is compared.
    """
    series, summary = run["series"], run["summary"]
    total = summary["thrust"]["total_impulse"]
    thrust = columns["thrust"]
    checks.that(times[0] == 0 and all(a < b for a, b in zip(times, times[1:], strict=False)), f"{name}: times rise from 0")
    checks.that(min(thrust) >= 0 and thrust[-1] == thrust[-2] == 0, f"{name}: thrust ends in two zeros")
    checks.near(area(times, thrust), total, 1e-6 * total, f"{name}: total impulse")
    checks.near(max(thrust), summary["thrust"]["maximum"], 1e-3 * max(thrust), f"{name}: maximum thrust")
    end = series["time"][-1]
    for key, values in columns.items():
        wanted = series.get(key)
        if not wanted:
            continue
        largest = max(abs(v) for v in wanted)
        worst = max(
            abs(line_at(times, values, t) - v)
            for t, v in zip(series["time"], wanted, strict=True)
            if 5e-6 * end < t < end
        )
        checks.that(worst <= 1e-4 * largest, f"{name}: {key} is off by {worst} of {largest}")
