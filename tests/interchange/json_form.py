"""The json form: by Python's json module and an independent validator, value by value against burn --json.

Reference: JSON Schema, draft 2020-12; the schema is docs/schema/slowmatch-result.schema.json.
"""

import hashlib
import json
import os
import sys

import checks as c
from jsonschema import Draft202012Validator


def main():
    program, folder = sys.argv[1:3]
    checks = c.Checks()
    path = os.path.join(folder, "..", "docs", "schema", "slowmatch-result.schema.json")
    with open(path, encoding="utf-8") as file:
        validator = Draft202012Validator(json.load(file))
    for motor in c.examples(folder):
        name = os.path.basename(motor)
        written = json.loads(c.command(program, "export", motor, "--to", "json", "--date", "2026-01-31"))
        faults = [error.message for error in validator.iter_errors(written)]
        checks.that(not faults, f"{name}: {faults}")
        provenance = written.pop("provenance")
        checks.that(written == c.run_of(program, motor), f"{name}: the run itself")
        with open(motor, "rb") as file:
            checks.that(provenance["input_sha256"] == hashlib.sha256(file.read()).hexdigest(), f"{name}: hash")
        checks.that(provenance["date"] == "2026-01-31" and provenance["program"].startswith("slowmatch "), name)
        checks.that(not validator.is_valid({**written, "extra": 1}), f"{name}: the schema refuses what it does not know")
    checks.end()


main()
