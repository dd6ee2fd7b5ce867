"""Which error messages and warnings no test provoked: in a build by clang with -DSM_COVERAGE=ON whose tests were run.

    python3 tests/messages.py BUILD

A message is a text of three words or more in a call that fails: with a status, by a function that returns one, or a
complaint about usage; or in one that warns: of a burn, a flight, or a record. Left aside are those of status SM_E_NOMEM and SM_E_INTERNAL: memory that is out is walked by
`unit.app` and by `faults.memory`, which needs a build that counts nothing, and what is internal is a bug, which no test can
have. tests/messages.txt names the others that may be silent, each with the reason; one there that is said after all, or is
no more, is a fault too. Exit 1 if there is a message that is neither said nor named.
"""

import os
import re
import sys

import coverage

LITERAL = r'"(?:[^"\\\n]|\\.)*"'
TEXT = re.compile(rf"(?:{LITERAL}|PRI\w+)(?:\s*(?:{LITERAL}|PRI\w+))*")
ASIDE = re.compile(r"SM_E_NOMEM|SM_E_INTERNAL|out of memory")
FAILS = re.compile(r"^(cli_say_usage|cli_say_unknown|sm_while|\w*refuse\w*)\b|SM_E_|error: |errno")

WARNS = re.compile(r"^(warn|sm_firing_note)\b")


def blanked(code):
    """The code with comments and preprocessor lines as blanks of the same length."""
    blank = lambda match: re.sub(r"[^\n]", " ", match.group())
    return re.sub(rf"({LITERAL})|/\*.*?\*/|//[^\n]*|^#[^\n]*",
                  lambda match: match.group(1) or blank(match), code, flags=re.S | re.M)


def silent_regions(file):
    """[(first, last)] of code that no test ran, each (line, column)."""
    segments = file["segments"]
    return [(tuple(one[:2]), tuple(after[:2])) for one, after in zip(segments, segments[1:])
            if one[3] and one[2] == 0 and not one[5]]


def call_round(code, at):
    """What of the innermost call stands before a place in it; "" if there is no call: a row of a table."""
    depth = 0
    for i in range(at - 1, -1, -1):
        if code[i] == ")":
            depth += 1
        elif code[i] == "(":
            depth -= 1
            if depth < 0:
                name = re.search(r"\w+\s*$", code[:i])
                return code[name.start():at] if name else code[i:at]
        elif code[i] in "{};" and depth == 0:
            return ""
    return ""


def is_failure(path, code, call):
    name = re.match(r"\w*", call).group()
    if WARNS.search(call) or path.startswith("ballistics/warnings/") and name == "sm_text_format":
        return True
    return FAILS.search(call) or name and re.search(rf"^static (enum sm_status|fmi2Status) {name}\(", code, flags=re.M)


def silent_texts(path, file):
    with open(os.path.join(coverage.source, path), encoding="utf-8") as source:
        code = blanked(source.read())
    regions = silent_regions(file)
    for match in TEXT.finditer(code):
        text = "".join(part[1:-1] for part in re.findall(LITERAL, match.group()))
        line = code.count("\n", 0, match.start()) + 1
        place = (line, match.start() - code.rfind("\n", 0, match.start()))
        call = call_round(code, match.start())
        if (len(text.split()) >= 3 and is_failure(path, code, call) and not ASIDE.search(call + text)
                and any(first <= place < last for first, last in regions)):
            yield line, text


def allowed():
    """{(file, beginning of the text): reason}"""
    rows, here = {}, os.path.join(os.path.dirname(os.path.realpath(__file__)), "messages.txt")
    with open(here, encoding="utf-8") as file:
        for line in file:
            if line.strip() and not line.startswith("#"):
                path, text, reason = (part.strip() for part in line.split("|"))
                rows[path, text] = reason
    return rows


def main(build):
    rows, met, n_silent = allowed(), set(), 0
    silent = {}
    for path, file in coverage.export(build):  # a file in several programs comes once for each
        here = set(silent_texts(path, file))
        silent[path] = silent.get(path, here) & here
    for path in sorted(silent):
        for line, text in sorted(silent[path]):
            named = [row for row in rows if row[0] == path and text.startswith(row[1])]
            met.update(named)
            if not named:
                n_silent += 1
                print(f"src/{path}:{line}: no test provokes: {text[:110]}")
    for path, text in sorted(set(rows) - met):
        print(f"tests/messages.txt: {path} says it, or has it no more: {text}")
    print(f"{n_silent} messages that no test provoked, {len(met)} more that are named with the reason")
    return 1 if n_silent or set(rows) - met else 0


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1]))
