"""Valgrind's memory checker over whole runs: no error, and nothing lost.

    memcheck.py PROGRAM SOURCE [--long]

One command in the ordinary run; --long has one of every kind of work. Blocks that are held by pointers into their midst, as
UDUNITS-2 has some, count as possibly lost and are left alone. Pictures are left out: the library of fonts under cairo keeps
caches to the end of the process. Exit 77 without valgrind. Python's standard library only.
"""

import os
import shutil
import subprocess
import sys
import tempfile

program, source = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
examples = os.path.join(source, "examples")
at = lambda *names: os.path.join(examples, *names)

SHORT = [["burn", at("curlew-bought.json"), "--json", "--csv", "out.csv"]]
LONG = [["burn", at("sandpiper-cored.json")],
        ["burn", at("sandpiper-end-burner.json"), "--model", "axial"],
        ["check", at("sandpiper-mixed.json")],
        ["grain", at("sandpiper-drawn-port.json"), "--json"],
        ["grain", at("sandpiper-hollow.json"), "--set", "grains.0.resolution=12"],
        ["export", at("curlew-bought.json"), "--to", "fmu", "-o", "out.fmu"],
        ["export", at("curlew-bought.json"), "--to", "dave-ml", "-o", "out.dml"],
        ["classify", at("curlew-curve.csv")],
        ["spread", at("curlew-tolerances.json"), "--samples", "8", "--threads", "1", "--sensitivity"],
        ["firing", at("stand", "sandpiper-firing-1.csv"), "--stand", at("stand", "bench.json"), "--json"],
        ["lift", at("vehicles", "curlew.json"), "--json"],
        ["burn", at("stand", "bench.json")]]  # a refusal


def main():
    if not shutil.which("valgrind"):
        print("SKIPPED: there is no valgrind")
        return 77
    checker = ["valgrind", "-q", "--error-exitcode=99", "--leak-check=full", "--errors-for-leak-kinds=definite",
               "--show-leak-kinds=definite"]
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for command in SHORT + (LONG if "--long" in sys.argv else []):
            done = subprocess.run([*checker, program, *command], cwd=folder, capture_output=True, text=True, check=False,
                                  env={"PATH": os.environ["PATH"], "LC_ALL": "C", "HOME": folder, "OMP_NUM_THREADS": "1"})
            good = done.returncode in (0, 2) and "==" not in done.stderr
            failed += not good
            print("clean" if good else f"exit {done.returncode}: {done.stderr[-3000:]}", *command)
    return 1 if failed else 0


sys.exit(main())
