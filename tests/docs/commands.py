"""Runs every command that the pages show and compares what it prints.

    commands.py PROGRAM PROJECT [--write]

A line "$ ..." in a block of README.md or docs/*.md is a command; what follows up to the next is its standard output, where
"..." alone stands for any lines. A command with nothing behind it is only run. --write puts in what is printed now where a
page shows output without "...", to be read before it is committed. A block after "Save this as `NAME`:" is written to that file.
"""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

program, project = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
BLOCK = re.compile(r"^```\n(\$ .*?)^```$", re.M | re.S)
SAVED = re.compile(r"Save this as `([\w.-]+)`:\n\n```\w*\n(.*?)^```$", re.M | re.S)
INDENTED = re.compile(r"(?:^    .*\n|^\n(?=    ))+", re.M)
COMMAND = re.compile(r"^\$ (.*)\n((?:(?!\$ ).*\n)*)", re.M)


def run(page, command, folder):
    environment = dict(os.environ, PATH=f"{program.parent}:{os.environ['PATH']}", LC_ALL="C", NO_COLOR="1")
    done = subprocess.run(["sh", "-c", command], cwd=folder, env=environment, capture_output=True, text=True, timeout=120)
    if done.returncode != 0:
        sys.exit(f"{page}: exit {done.returncode} of: {command}\n{done.stderr}")
    return done.stdout.rstrip("\n")


def matches(expected, printed):
    parts = [re.escape(part.strip("\n")) for part in re.split(r"^ *\.\.\.$", expected, flags=re.M)]
    return re.fullmatch(r"[\s\S]*".join(r"\s*" + part + r"\s*" for part in parts), printed) is not None


def blocks(text):
    """Each block with commands, as it stands and without its indent."""
    for block in BLOCK.findall(text):
        yield block, block, ""
    for block in INDENTED.findall(text):
        if re.search(r"^    \$ ", block, re.M):
            yield block, re.sub(r"^    ", "", block, flags=re.M), "    "


def look_at(page):
    text, n = page.read_text("utf-8"), 0
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "examples").symlink_to(project / "examples")
        for name, content in SAVED.findall(text):
            (Path(folder) / name).write_text(content, "utf-8")
        for block, plain, indent in blocks(text):
            new = ""
            for command, expected in COMMAND.findall(plain):
                printed = run(page.name, command, folder)
                n += 1
                keep = not expected.strip() or re.search(r"^ *\.\.\.$", expected, re.M)
                new += f"$ {command}\n" + (expected if keep else printed + "\n")
                if "--write" not in sys.argv and expected.strip() and not matches(expected, printed):
                    sys.exit(f"{page.name}: this prints something else: {command}\n{printed}")
            before = block[:len(block) - len(block.lstrip("\n"))]
            text = text.replace(block, before + re.sub(r"^(?=.)", indent, new, flags=re.M))
    if "--write" in sys.argv:
        page.write_text(text, "utf-8")
    return n


total = 0
for page in [project / "README.md", *sorted((project / "docs").glob("*.md"))]:
    total += look_at(page)
print(f"{total} commands of the pages do what they say")
sys.exit(total < 10)
