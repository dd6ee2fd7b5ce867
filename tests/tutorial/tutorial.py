"""Runs every command of docs/tutorial.md and compares what it prints.

    tutorial.py PROGRAM PROJECT [--write]

A line "$ ..." in a block is a command; what follows up to the next is its standard output, where "..." alone stands for any
lines. --write puts in what is printed now, to be read before it is committed.
"""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

program, project = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
page = project / "docs/tutorial.md"


def run(command, folder):
    environment = dict(os.environ, PATH=f"{program.parent}:{os.environ['PATH']}", LC_ALL="C", NO_COLOR="1")
    done = subprocess.run(["sh", "-c", command], cwd=folder, env=environment, capture_output=True, text=True, timeout=60)
    if done.returncode != 0:
        sys.exit(f"tutorial: exit {done.returncode} of: {command}\n{done.stderr}")
    return done.stdout.rstrip("\n")


def matches(expected, printed):
    parts = [re.escape(part.strip("\n")) for part in re.split(r"^\.\.\.$", expected, flags=re.M)]
    return re.fullmatch(r"[\s\S]*".join(r"\s*" + part + r"\s*" for part in parts), printed) is not None


def main():
    text, n = page.read_text("utf-8"), 0
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "examples").symlink_to(project / "examples")
        for block in re.findall(r"^```\n(\$ .*?)^```$", text, re.M | re.S):
            new = ""
            for command, expected in re.findall(r"^\$ (.*)\n((?:(?!\$ ).*\n)*)", block, re.M):
                printed = run(command, folder)
                n += 1
                new += f"$ {command}\n{printed}\n"
                if "--write" not in sys.argv and not matches(expected, printed):
                    sys.exit(f"tutorial: this prints something else: {command}\n{printed}")
            text = text.replace(block, new)
    if "--write" in sys.argv:
        page.write_text(text, "utf-8")
    print(f"{n} commands of the tutorial print what it says")
    return 0 if n >= 6 else 1


sys.exit(main())
