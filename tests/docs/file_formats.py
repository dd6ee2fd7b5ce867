"""Writes docs/file-formats.md from the JSON Schemas, which the program writes from its own rows, and compares.

    file_formats.py PROJECT [--write]
"""

import json
import sys
from pathlib import Path

project = Path(sys.argv[1])
page = project / "docs/file-formats.md"
INPUTS = ["motor", "propellant", "vehicle", "request", "stand"]
HEAD = """# File formats

Written from the same rows that read the files (`python3 tests/docs/file_formats.py . --write`); do not edit. Files are JSON
(RFC 8259). A *quantity* is text with its unit, as `"34 mm"`, `"600 psi"` or `"21 degC"`, in any unit of the right dimension;
a bare number stands only where there is no unit. `"note"` and `"$schema"` may stand in every object. A key that is not known
is a fault. A value in **bold** must be given. `slowmatch schema NAME` prints the same for programs.
"""


def kind(s):
    if "const" in s:
        return f"`{json.dumps(s['const'])}`"
    if "oneOf" in s:
        return " or ".join(dict.fromkeys(kind(choice) for choice in s["oneOf"]))
    if "enum" in s:
        return ", ".join(f"`{json.dumps(v)}`" for v in s["enum"])
    if "pattern" in s:
        return "quantity"
    if s.get("type") == "array":
        inner = s.get("items", {})
        return "list" + (f" of {kind(inner)}" if kind(inner) not in ("", "object") else "")
    t = s.get("type", "")
    return " or ".join(t) if isinstance(t, list) else {"object": "object", "string": "text"}.get(t, t)


def limits(s):
    if "pattern" in s or ("minimum" not in s and "maximum" not in s):
        return ""
    return f"; {s.get('minimum', '')} to {s.get('maximum', '')}"


def row(out, name, s, required, depth):
    words = s.get("description", "").replace("|", "\\|").replace("\n", " ") + limits(s)
    if "default" in s:
        words += f"; {json.dumps(s['default'])} if not given"
    key = f"**{name}**" if required else name
    out.append(f"| {'&nbsp;&nbsp;' * depth}{key} | {kind(s)} | {words.lstrip('; ')} |")


def rows(out, s, depth=0):
    for name, value in s.get("properties", {}).items():
        if name in ("$schema", "note"):
            continue
        row(out, name, value, name in s.get("required", []), depth)
        inner = value.get("items", value)
        if isinstance(inner, dict) and "properties" in inner:
            rows(out, inner, depth + 1)


def table(out, s):
    out += ["", "| key | what it is | meaning and range |", "|---|---|---|"]
    rows(out, s)


def alternatives(s):
    for name, value in s.get("properties", {}).items():
        inner = value.get("items", value)
        for choice in inner.get("oneOf", []) if isinstance(inner, dict) else []:
            if "properties" in choice and "shape" in choice["properties"]:
                yield choice["properties"]["shape"]["const"], choice


def write():
    out = [HEAD]
    for name in INPUTS:
        path = project / f"docs/schema/slowmatch-{name}.schema.json"
        if not path.is_file():
            continue
        s = json.loads(path.read_text("utf-8"))
        out += [f"## {s['title']}", "", s.get("description", "")]
        table(out, s)
        out.append("")
        for shape, choice in alternatives(s):
            out += [f"### Shape `{shape}`", "", choice.get("description", "").capitalize() + "."]
            table(out, choice)
            out.append("")
    return "\n".join(out).rstrip() + "\n"


text = write()
if "--write" in sys.argv:
    page.write_text(text, "utf-8")
elif not page.is_file() or page.read_text("utf-8") != text:
    sys.exit("docs/file-formats.md is not what the schemas give: write it anew")
print(f"{text.count(chr(10))} lines of file formats")
