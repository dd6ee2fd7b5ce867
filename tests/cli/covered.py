"""Sees that every command and every option of it stands in some golden case.

    covered.py PROGRAM

The commands and options are those that the program's own help lists, so a new one is noticed without an edit here.
"""

import re
import subprocess
import sys
from pathlib import Path

program, here = sys.argv[1], Path(__file__).parent


def help_of(*words):
    return subprocess.run([program, *words], capture_output=True, check=True, text=True).stdout


def commands():
    listed = help_of("help").split("usage:")[1].split("'slowmatch help COMMAND'")[0]
    return re.findall(r"^  ([a-z][a-z-]*) ", listed, re.M)


def lines():
    """Each command line of each case, with its continuation lines joined."""
    for cmd in sorted(here.glob("*/cmd")):
        yield from cmd.read_text("utf-8").replace("\\\n", " ").splitlines()


def main():
    all_lines, missing, n = list(lines()), [], 0
    for command in commands():
        uses = [line for line in all_lines if re.search(rf"slowmatch {command}\b", line)]
        options = re.findall(r"^  --([a-z-]+)", help_of("help", command), re.M)
        if not uses:
            missing.append(command)
        for option in options:
            n += 1
            if option != "help" and not any(re.search(rf"--{option}[ =\n]|--{option}$", line) for line in uses):
                missing.append(f"{command} --{option}")
    for name in missing:
        print(f"no case in tests/cli uses: slowmatch {name}")
    print(f"{n - len(missing)} options of {len(commands())} commands are used")
    return 1 if missing or n < 40 else 0


sys.exit(main())
