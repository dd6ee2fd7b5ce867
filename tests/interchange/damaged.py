"""Damaged files to be read back, and damaged templates: always a plain answer, never a crash. Seeded, so that it repeats."""

import os
import random
import subprocess
import sys
import tempfile

import checks as c

SEED, RUNS = 20260131, 60


def damage(text, rng):
    """One of: cut off, a piece taken out, a piece doubled, some bytes changed."""
    a, b = sorted(rng.randrange(len(text)) for _ in range(2))
    b = min(b, a + rng.choice((1, 5, 200)))
    kind = rng.randrange(4)
    if kind == 0:
        return text[:a]
    if kind == 1:
        return text[:a] + text[b:]
    if kind == 2:
        return text[:b] + text[a:]
    return text[:a] + bytes(rng.randrange(256) for _ in range(b - a)) + text[b:]


def main():
    program, folder = sys.argv[1:3]
    checks, rng = c.Checks(), random.Random(SEED)
    motor = os.path.join(folder, "curlew-bought.json")
    with tempfile.TemporaryDirectory() as room:
        good = {}
        for ending in ("dml", "json", "csv"):
            path = os.path.join(room, "good." + ending)
            c.command(program, "export", motor, "-o", path)
            with open(path, "rb") as file:
                good[ending] = file.read()
        with open(os.path.join(folder, "templates", "fixed-width.mustache"), "rb") as file:
            good["mustache"] = file.read()
        n_refused = 0
        for i in range(RUNS):
            ending = list(good)[i % len(good)]
            path = os.path.join(room, "bad." + ending)
            with open(path, "wb") as file:
                file.write(damage(good[ending], rng))
            row = ["export", motor, "--template", path] if ending == "mustache" else ["classify", path]
            done = subprocess.run([program, *row], capture_output=True, check=False, timeout=60)
            text = done.stderr.decode("utf-8", "replace")
            n_refused += done.returncode != 0
            checks.that(done.returncode in (0, 1, 2), f"run {i}, {ending}: ended with {done.returncode}: {text[-800:]}")
            checks.that(done.returncode == 0 or "error: " in text, f"run {i}, {ending}: says what is wrong: {text!r}")
        checks.that(n_refused > RUNS // 4, f"only {n_refused} damaged files were refused")
    checks.end()


main()
