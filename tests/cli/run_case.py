"""Runs one golden case of the command: see README.md beside this file.

    python3 run_case.py CASE --program PROGRAM --examples FOLDER [--seconds N] [--write]

Says on standard error what differs, one fault after the other, and ends with 0 if nothing does. With --write the
.exact files that the case has are first rewritten with what the command says now: look at the difference.
"""

import argparse
import difflib
import json
import math
import os
import re
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

PARTS = "cmd exit files numbers.json stderr.exact stderr.glob stdout.exact stdout.glob".split()
# Taken over from the caller; everything else is set here, so that a case says the same everywhere.
PASSED_ON = re.compile(r"SM_\w+|\w+SAN_OPTIONS|LLVM_PROFILE_FILE|GCOV_\w+")


class BadCase(Exception):
    """The case itself is wrong, whatever the command does."""


def read_case(case):
    """The text of every part the case has, by name."""
    roots = {name.split(".")[0] for name in PARTS}
    for path in sorted(case.iterdir()):
        if path.name not in PARTS and path.name.split(".")[0] in roots:
            raise BadCase(f"'{path.name}' is no part of a case; there are: {' '.join(PARTS)}")
    parts = {name: (case / name).read_text("utf-8") for name in PARTS if (case / name).is_file()}
    if "cmd" not in parts:
        raise BadCase("there is no 'cmd'")
    for stream in ("stdout", "stderr"):
        if f"{stream}.exact" in parts and f"{stream}.glob" in parts:
            raise BadCase(f"'{stream}.exact' and '{stream}.glob' exclude each other")
    return parts


def environment(case, examples, home):
    env = {name: value for name, value in os.environ.items() if PASSED_ON.fullmatch(name)}
    env.update(PATH=f"{home / 'bin'}:/usr/local/bin:/usr/bin:/bin", HOME=str(home), TMPDIR=str(home))
    env.update(TERM="dumb", LC_ALL="C", TZ="UTC", NO_COLOR="1")
    env.update(EXAMPLES=str(examples), CASE=str(case))
    return env


def run(command, folder, env, seconds):
    """Exit code (None if time ran out) and both outputs, as bytes."""
    process = subprocess.Popen(
        ["/bin/sh", "-eu", "-c", command],
        cwd=folder,
        env=env,
        start_new_session=True,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    try:
        out, err = process.communicate(timeout=seconds)
        return process.returncode, out, err
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        out, err = process.communicate()
        return None, out, err


def with_names(text, names):
    """The text with the folders that differ from machine to machine written as $NAME, longest first."""
    for folder, name in sorted(names.items(), key=lambda item: -len(item[0])):
        text = text.replace(folder, name)
    return text


def line_pattern(line):
    """A line in which * stands for any characters and ? for one. Brackets stand for themselves."""
    return re.compile("".join({"*": ".*", "?": "."}.get(c) or re.escape(c) for c in line))


def globs_match(patterns, lines):
    """Does every line match its pattern? A pattern line ** takes any number of lines."""
    reached = {0}  # how many of the lines the patterns so far can have taken
    for pattern in patterns:
        if pattern == "**":
            reached = set(range(min(reached), len(lines) + 1))
        else:
            compiled = line_pattern(pattern)
            reached = {i + 1 for i in reached if i < len(lines) and compiled.fullmatch(lines[i])}
        if not reached:
            return False
    return len(lines) in reached


def lines_of(text):
    return text.removesuffix("\n").split("\n") if text else []


def difference(expected, got):
    return "\n".join(difflib.unified_diff(expected, got, "expected", "got", lineterm="", n=2))


def check_stream(stream, parts, got):
    """Faults of one output. Without a part that speaks of it, it must be empty."""
    if f"{stream}.glob" in parts:
        patterns = lines_of(parts[f"{stream}.glob"])
        if globs_match(patterns, lines_of(got)):
            return []
        return [f"{stream} does not match {stream}.glob\n{difference(patterns, lines_of(got))}"]
    if stream == "stdout" and "stdout.exact" not in parts and speaks_of_stdout(parts):
        return []
    expected = parts.get(f"{stream}.exact", "")
    if got == expected:
        return []
    shown = difference(lines_of(expected), lines_of(got)) or "they differ in line ends alone"
    return [f"{stream} is not as expected\n{shown}"]


def speaks_of_stdout(parts):
    return any("#" not in key for key in json.loads(parts.get("numbers.json", "{}")))


def strict_json(text):
    """RFC 8259 without what Python adds or lets pass: no NaN or Infinity, no key twice."""

    def unique(pairs):
        if len({key for key, _ in pairs}) < len(pairs):
            raise ValueError("a key stands twice in one object")
        return dict(pairs)

    def refuse(word):
        raise ValueError(f"{word} is no JSON")

    return json.loads(text, object_pairs_hook=unique, parse_constant=refuse)


def follow(document, pointer):
    """The value at a JSON pointer (RFC 6901); LookupError if there is none."""
    for token in pointer.split("/")[1:]:
        token = token.replace("~1", "/").replace("~0", "~")
        if isinstance(document, list):
            if not re.fullmatch("0|[1-9][0-9]*", token):
                raise KeyError(token)
            document = document[int(token)]
        elif isinstance(document, dict):
            document = document[token]
        else:
            raise KeyError(token)
    return document


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def check_entry(key, entry):
    """Refuses an entry of numbers.json that could not fail or does not say where its value comes from."""
    known = {"value", "rel", "abs", "source"}
    if not isinstance(entry, dict) or "value" not in entry or set(entry) - known:
        raise BadCase(f"numbers.json: '{key}' takes \"value\", \"rel\" or \"abs\", and \"source\"")
    if not isinstance(entry.get("source"), str) or not entry["source"].strip():
        raise BadCase(f"numbers.json: '{key}' has no \"source\"")
    limits = [entry[name] for name in ("rel", "abs") if name in entry]
    if len(limits) != (1 if is_number(entry["value"]) else 0):
        raise BadCase(f"numbers.json: '{key}' takes \"rel\" or \"abs\" if it is a number, and neither if not")
    if not all(is_number(limit) and 0 <= limit < math.inf for limit in limits):
        raise BadCase(f"numbers.json: '{key}' has a tolerance that is not a number from 0 up")
    if "rel" in entry and (entry["value"] == 0 or entry["rel"] >= 1):
        raise BadCase(f"numbers.json: '{key}' has a \"rel\" that says nothing; use \"abs\"")


def check_value(key, entry, got):
    expected = entry["value"]
    if not is_number(expected):
        is_good = type(got) is type(expected) and got == expected
        return [] if is_good else [f"{key} is {json.dumps(got)}, expected {json.dumps(expected)}"]
    limit = entry["abs"] if "abs" in entry else entry["rel"] * abs(expected)
    if is_number(got) and abs(got - expected) <= limit:
        return []
    tolerance = f"abs {entry['abs']}" if "abs" in entry else f"rel {entry['rel']}"
    return [f"{key} is {json.dumps(got)}, expected {expected} within {tolerance} ({entry['source']})"]


def check_numbers(text, stdout, folder):
    """Faults of the numbers; a key is a pointer into stdout, or file#pointer."""
    faults, documents = [], {}
    entries = strict_json(text)
    for key, entry in entries.items():
        check_entry(key, entry)
        file, _, pointer = key.rpartition("#")
        try:
            if file not in documents:
                documents[file] = strict_json((folder / file).read_text("utf-8") if file else stdout)
        except FileNotFoundError:
            faults.append(f"{file} cannot be read as JSON: there is no such file")
            documents[file] = None
        except ValueError as reason:
            faults.append(f"{file or 'stdout'} cannot be read as JSON: {reason}")
            documents[file] = None
        if documents[file] is None:
            continue
        try:
            faults += check_value(key, entry, follow(documents[file], pointer))
        except LookupError:
            faults.append(f"{key} does not exist")
    return faults


def check_files(text, folder):
    faults = []
    for line in lines_of(text):
        pattern = line.strip().removeprefix("!")
        if not pattern:
            continue
        exists = any(folder.glob(pattern))
        if line.strip().startswith("!") and exists:
            faults.append(f"file {pattern} is there and should not be")
        elif not line.strip().startswith("!") and not exists:
            faults.append(f"file {pattern} is not there")
    return faults


def rewrite(case, parts, got):
    for name, text in got.items():
        if name in parts:
            (case / name).write_text(text, "utf-8")
            parts[name] = text


def check_case(case, program, examples, seconds, write=False):
    parts = read_case(case)
    with tempfile.TemporaryDirectory() as name:
        home = Path(name).resolve()
        (home / "bin").mkdir()
        (home / "bin" / "slowmatch").symlink_to(program)
        folder = home / "work"
        folder.mkdir()
        code, out, err = run(parts["cmd"], folder, environment(case, examples, home), seconds)
        names = {str(examples): "$EXAMPLES", str(case): "$CASE", str(folder): "$PWD"}
        stdout = with_names(out.decode("utf-8", "backslashreplace"), names)
        stderr = with_names(err.decode("utf-8", "backslashreplace"), names)

        if write:
            rewrite(case, parts, {"stdout.exact": stdout, "stderr.exact": stderr})
        faults = [f"not done after {seconds} s"] if code is None else []
        expected = int(parts.get("exit", "0"))
        if code is not None and code != expected:
            faults.append(f"exit is {code}, expected {expected}")
        faults += check_stream("stdout", parts, stdout)
        faults += check_stream("stderr", parts, stderr)
        faults += check_numbers(parts.get("numbers.json", "{}"), out.decode("utf-8", "replace"), folder)
        faults += check_files(parts.get("files", ""), folder)
        return faults


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("case", type=Path)
    parser.add_argument("--program", type=Path, required=True)
    parser.add_argument("--examples", type=Path, required=True)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--write", action="store_true")
    args = parser.parse_args()
    try:
        faults = check_case(args.case.resolve(), args.program.resolve(), args.examples.resolve(), args.seconds, args.write)
    except (BadCase, ValueError) as reason:
        faults = [f"bad case: {reason}"]
    for fault in faults:
        print(f"{args.case.name}: {fault}", file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
