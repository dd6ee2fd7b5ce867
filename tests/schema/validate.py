"""Checks every example and propellant file against its schema, by a validator that is not ours.

    python3 validate.py ROOT

ROOT/docs/schema/ holds one JSON Schema (2020-12) a format; which format it serves stands in it, as the constant value of
its property "format". Ends with 77 (skipped) if there are no schemas at all.
"""

import json
import sys
from pathlib import Path

from jsonschema import Draft202012Validator
from jsonschema.exceptions import SchemaError

SKIPPED = 77
DIALECT = "https://json-schema.org/draft/2020-12/schema"


def read_schemas(root):
    """Validators by format, and what is wrong with the schemas themselves."""
    validators, faults = {}, []
    for path in sorted((root / "docs/schema").glob("*.schema.json")):
        name = path.relative_to(root)
        schema = json.loads(path.read_text("utf-8"))
        form = schema.get("properties", {}).get("format", {}).get("const")
        if schema.get("$schema") != DIALECT:
            faults.append(f"{name}: \"$schema\" is not {DIALECT}")
        if not isinstance(form, str) or "format" not in schema.get("required", []):
            faults.append(f'{name}: does not require a constant "format"')
        elif form in validators:
            faults.append(f"{name}: another schema serves {form} already")
        try:
            Draft202012Validator.check_schema(schema)
        except SchemaError as error:
            faults.append(f"{name}: not a schema: {error.json_path}: {error.message}")
            continue
        validators[form] = Draft202012Validator(schema)
    return validators, faults


def check_file(path, name, validators):
    try:
        document = json.loads(path.read_text("utf-8"))
    except ValueError as reason:
        return [f"{name}: {reason}"]
    form = document.get("format") if isinstance(document, dict) else None
    if form not in validators:
        return [f'{name}: no schema for "format": {json.dumps(form)}']
    errors = sorted(validators[form].iter_errors(document), key=lambda error: error.json_path)
    return [f"{name}: {error.json_path}: {error.message}" for error in errors]


def main():
    root = Path(sys.argv[1])
    validators, faults = read_schemas(root)
    files = sorted(path for folder in ("examples", "propellants") for path in (root / folder).rglob("*.json"))
    if not validators and not faults:
        print("skipped: there are no schemas in docs/schema/")
        return SKIPPED
    if not files:
        faults.append("no files in examples/ and propellants/")
    for path in files:
        faults += check_file(path, path.relative_to(root), validators)
    for fault in faults:
        print(fault, file=sys.stderr)
    if not faults:
        print(f"{len(files)} files keep to their schemas")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
