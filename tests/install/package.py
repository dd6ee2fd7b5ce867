"""Makes the Debian package, reads it with the distribution's own tools, and uses what it holds without installing it.

    package.py BUILD SOURCE
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

build, source = Path(sys.argv[1]), Path(sys.argv[2])
checks = failed = 0
missing = [tool for tool in ("cpack", "dpkg-deb", "dpkg-shlibdeps", "gzip") if not shutil.which(tool)]
if missing:
    print(f"SKIPPED: {', '.join(missing)} not found")
    sys.exit(77)


def check(right, what):
    global checks, failed
    checks += 1
    if not right:
        failed += 1
        print(f"FAILED: {what}")


def run(*command, **more):
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, **more)
    check(done.returncode == 0, f"exit {done.returncode} of {' '.join(map(str, command))}\n{done.stdout}{done.stderr}")
    return done.stdout


with tempfile.TemporaryDirectory() as name:
    folder = Path(name)
    run("cpack", "-G", "DEB", "--config", build / "CPackConfig.cmake", "-B", folder, cwd=folder)
    packages = list(folder.glob("slowmatch_*.deb"))
    check(len(packages) == 1, f"one package: {packages}")
    fields = dict(line.split(": ", 1) for line in run("dpkg-deb", "-f", packages[0]).splitlines() if re.match(r"\w", line))
    for needed in ("libc6", "libgsl", "libcjson1", "libxml2", "libcairo2", "libudunits2", "libzip"):
        check(needed in fields.get("Depends", ""), f"depends on {needed}: {fields.get('Depends')}")
    root = folder / "root"
    run("dpkg-deb", "-x", packages[0], root)
    env = {"PATH": "/usr/bin:/bin", "HOME": "/nowhere", "LC_ALL": "C"}
    examples = root / "usr/share/slowmatch/examples"
    words = run(root / "usr/bin/slowmatch", "compare", examples / "sandpiper-end-burner.json", examples / "sandpiper-cored.json",
                env=env, cwd="/")
    check("why the burn times differ" in words, words)
    check((root / "usr/share/man/man1").is_dir() and (root / "usr/share/doc/slowmatch/copyright").is_file(), "pages and papers")
    if shutil.which("lintian"):
        words = subprocess.run(["lintian", "--no-tag-display-limit", "--allow-root", packages[0]], capture_output=True,
                               text=True).stdout
        check(not re.search(r"^[EW]: ", words, re.M), f"lintian:\n{words}")
print(f"{checks - failed} passed, {failed} failed")
sys.exit(failed != 0)
