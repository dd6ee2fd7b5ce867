"""The csvw form: the table by Python's csv module, the metadata by its json module, against the run.

Reference: RFC 4180; W3C, Metadata Vocabulary for Tabular Data (2015).
"""

import csv
import json
import os
import sys
import tempfile

import checks as c


def check(checks, program, motor, folder):
    name = os.path.basename(motor)
    path = os.path.join(folder, "a curve.csv")
    c.command(program, "export", motor, "-o", path, "--date", "2026-01-31")
    with open(path, "rb") as file:
        raw = file.read()
    checks.that(raw.count(b"\r\n") == raw.count(b"\n") and raw.endswith(b"\r\n"), f"{name}: records end in CR LF")
    with open(path, newline="", encoding="utf-8") as file:
        header, *rows = list(csv.reader(file))
    table = {key: [float(row[i]) for row in rows] for i, key in enumerate(header)}
    run = c.run_of(program, motor)
    c.check_curve(checks, name, run, table["time"], table)
    check_metadata(checks, name, path, header, run)


def check_metadata(checks, name, path, header, run):
    with open(path + "-metadata.json", encoding="utf-8") as file:
        meta = json.load(file)
    columns = meta["tableSchema"]["columns"]
    checks.that(meta["@context"][0] == "http://www.w3.org/ns/csvw", f"{name}: context")
    checks.that(meta["url"] == "a%20curve.csv", f"{name}: url {meta['url']}")
    checks.that([col["titles"][0] for col in columns] == header, f"{name}: titles are the header's")
    checks.that(all(col["datatype"] == "double" for col in columns), f"{name}: data types")
    units = {col["name"]: col["http://qudt.org/schema/qudt/ucumCode"] for col in columns}
    wanted = {"time": "s", "thrust": "N", "impulse": "N.s", "mass_flow": "kg.s-1", "propellant_mass": "kg",
              "center_of_mass": "m", "inertia_axial": "kg.m2"}
    checks.that(wanted.items() <= units.items(), f"{name}: units {units}")
    notes = meta["notes"][0]
    thrust = run["summary"]["thrust"]
    checks.near(notes["total_impulse"]["value"], thrust["total_impulse"], 1e-11 * thrust["total_impulse"], name)
    checks.that(notes["designation"] == run["summary"]["class"]["designation"], f"{name}: designation")
    checks.that(notes["impulse_class"] == run["summary"]["class"]["letter"], f"{name}: class")
    checks.that("no certification" in notes["standing"], f"{name}: standing")
    checks.that(notes["program"].startswith("slowmatch "), f"{name}: program")
    checks.that(len(notes["input_sha256"]) == 64, f"{name}: hash")
    checks.that({"loaded_propellant", "loaded_mass"} <= notes.keys(), f"{name}: masses")
    checks.that(meta["dc:created"] == {"@value": "2026-01-31", "@type": "xsd:date"}, f"{name}: date")


def main():
    program, folder = sys.argv[1:3]
    checks = c.Checks()
    for motor in c.examples(folder):
        with tempfile.TemporaryDirectory() as room:
            check(checks, program, motor, room)
    checks.end()


main()
