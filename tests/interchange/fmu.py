"""The fmu form: its archive, its description's cross-references, and a master that steps it, against the csvw table.

The published XML Schema knows no cross-references, so they are looked at here; the schema itself is used by grammars.py.
Reference: FMI 2.0.5, sections 2.2, 2.3 and 4.
"""

import csv
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET
import zipfile

import checks as c


def table_of(program, motor, folder):
    path = os.path.join(folder, "table.csv")
    c.command(program, "export", motor, "--to", "csvw", "-o", path)
    with open(path, newline="", encoding="utf-8") as file:
        header, *rows = list(csv.reader(file))
    return {key: [float(row[i]) for row in rows] for i, key in enumerate(header)}


def check_archive(checks, name, path):
    with zipfile.ZipFile(path) as archive:
        checks.that(archive.testzip() is None, f"{name}: sums")
        for part in archive.infolist():
            checks.that(part.compress_type in (0, 8) and part.extract_version <= 20 and part.filename.isascii()
                        and "\\" not in part.filename and part.date_time[:3] == (1980, 1, 1), f"{name}: {part.filename}")
        names = archive.namelist()
        library = [n for n in names if re.fullmatch(r"binaries/[^/]+/slowmatch_motor\.so", n)]
        checks.that("modelDescription.xml" in names and "sources/motor_fmu.c" in names and len(library) == 1, f"{name}: {names}")
        checks.that(b"NO EVENT SHALL" not in archive.read("modelDescription.xml")
                    and b"NO EVENT SHALL" in archive.read("documentation/licenses/license.txt"), f"{name}: licence")
        room = path + ".d"
        archive.extractall(room)
    return room, os.path.join(room, library[0])


def check_library(checks, name, library):
    symbols = subprocess.run(["nm", "-D", "--defined-only", library], check=True, capture_output=True, text=True).stdout
    found = [line.split()[-1] for line in symbols.splitlines()]
    checks.that(len(found) == 34 and all(s.startswith("fmi2") for s in found), f"{name}: exactly the 34 functions: {found}")
    needed = subprocess.run(["readelf", "-d", library], check=True, capture_output=True, text=True).stdout
    needed = re.findall(r"NEEDED.*\[(.*)\]", needed)
    checks.that(all(re.match(r"lib[cm]\.so|ld-linux", n) for n in needed), f"{name}: needs {needed}")


def check_description(checks, name, room):
    root = ET.parse(os.path.join(room, "modelDescription.xml")).getroot()
    variables = root.findall("ModelVariables/ScalarVariable")
    names, references = [v.get("name") for v in variables], [v.get("valueReference") for v in variables]
    checks.that(len(set(names)) == len(names) and len(set(references)) == len(references), f"{name}: names, references")
    units = {u.get("name") for u in root.iter("Unit")}
    used = {kind.get("unit") for v in variables for kind in v if kind.get("unit")}
    checks.that(used <= units, f"{name}: units {used - units}")
    outputs = []
    for i, v in enumerate(variables, 1):
        has_start, causality = v[0].get("start") is not None, v.get("causality")
        wanted = causality in ("input", "parameter")
        checks.that(has_start == wanted, f"{name}: start of {v.get('name')}")
        checks.that(v[0].tag == "Real" or v.get("variability") == "discrete", f"{name}: variability of {v.get('name')}")
        if causality == "output":
            outputs.append(str(i))
    for part in ("Outputs", "InitialUnknowns"):
        listed = [u.get("index") for u in root.findall(f"ModelStructure/{part}/Unknown")]
        checks.that(listed == outputs, f"{name}: {part} lists {listed}, not {outputs}")
    pressure = names.index("ambient_pressure") + 1
    for u in root.findall("ModelStructure/InitialUnknowns/Unknown"):
        is_pressure = names[int(u.get("index")) - 1] == "pressure"
        checks.that(u.get("dependencies") == (str(pressure) if is_pressure else ""), f"{name}: dependencies")
    identifier = root.find("CoSimulation").get("modelIdentifier")
    checks.that(identifier == "slowmatch_motor" and "no certification" in root.get("description"), f"{name}: identifier")
    return root, dict(zip(names, references, strict=True))


def check_master(checks, name, master, library, room, root, references, table):
    keys = [key for key in table if key in references and key != "time"]
    missing = [key for key in table if key not in references and key != "thrust_vacuum"]
    checks.that(not missing, f"{name}: the unit lacks {missing}")
    location = "file://" + os.path.join(room, "resources").replace(" ", "%20") + "/"
    done = subprocess.run([master, library, location, root.get("guid"), *[references[k] for k in keys]],
                          input="\n".join(map(repr, table["time"])), capture_output=True, text=True, check=False)
    checks.that(done.returncode == 0, f"{name}: {os.path.basename(library)}: {done.stderr[-2000:]}")
    rows = [[float(x) for x in line.split(",")] for line in done.stdout.splitlines()]
    if not checks.that(len(rows) == len(table["time"]), f"{name}: {len(rows)} rows"):
        return
    total = table["impulse"][-1]
    for column, key in enumerate(keys):
        got, wanted = [row[column] for row in rows], table[key]
        if key == "impulse":  # the table's is rounded to twelve digits
            checks.that(all(abs(a - b) <= 1e-11 * total for a, b in zip(got, wanted, strict=True)), f"{name}: impulse")
        elif key == "pressure":  # after the end it is the pressure around
            checks.that(got[:-1] == wanted[:-1], f"{name}: pressure at the table's points")
        else:
            checks.that(got == wanted, f"{name}: {key} at the table's points")


def check(checks, program, motor, master, other, folder):
    name, path = os.path.basename(motor), os.path.join(folder, "a unit.fmu")
    c.command(program, "export", motor, "-o", path)
    with open(path, "rb") as file:
        first = file.read()
    os.environ["TZ"] = "Asia/Tokyo"
    c.command(program, "export", motor, "-o", path)
    del os.environ["TZ"]
    with open(path, "rb") as file:
        checks.that(file.read() == first, f"{name}: the same bytes, in another time zone too")
    room, library = check_archive(checks, name, path)
    check_library(checks, name, library)
    root, references = check_description(checks, name, room)
    table = table_of(program, motor, folder)
    for lib in (library, other):
        check_master(checks, name, master, lib, room, root, references, table)


def main():
    program, folder, master, other = sys.argv[1:5]
    checks = c.Checks()
    for motor in c.examples(folder):
        with tempfile.TemporaryDirectory() as room:
            check(checks, program, motor, master, other, room)
    checks.end()


main()
