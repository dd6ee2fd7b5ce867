"""Published grammars by xmllint: every example motor as DAVE-ML against its DTD, and as FMU against FMI's schema.

Needs SM_STANDARDS_DIR; without it all are SKIPPED, with it a missing file fails. Each grammar must also refuse a file
with a planted fault, so that a checker that takes anything is found out.
"""

import os
import subprocess
import sys
import tempfile
import zipfile

import checks as c

FORMS = ("dave-ml", "fmu")


def lint(path, *arguments, catalogue=None):
    environment = dict(os.environ, XML_CATALOG_FILES=catalogue) if catalogue else None
    done = subprocess.run(["xmllint", "--noout", "--nonet", *arguments, path], capture_output=True, text=True, check=False,
                          env=environment)
    return done.returncode == 0, done.stderr[-400:]


def check_dave_ml(checks, program, motor, folder, catalogue):
    path = os.path.join(folder, "motor.dml")
    c.command(program, "export", motor, "-o", path)
    good, said = lint(path, "--valid", catalogue=catalogue)
    checks.that(good, f"{motor}: {said}")
    with open(path, encoding="utf-8") as file:
        text = file.read()
    with open(path, "w", encoding="utf-8") as file:
        file.write(text.replace('gtID="gt_F"', 'gtID="F"'))
    checks.that(not lint(path, "--valid", catalogue=catalogue)[0], f"{motor}: an identifier used twice is refused")


def check_fmu(checks, program, motor, folder, schema):
    unit, path = os.path.join(folder, "motor.fmu"), os.path.join(folder, "modelDescription.xml")
    c.command(program, "export", motor, "-o", unit)
    with zipfile.ZipFile(unit) as archive:
        text = archive.read("modelDescription.xml").decode()
    for changed, wanted in ((text, True), (text.replace('causality="input"', 'causality="inlet"'), False)):
        with open(path, "w", encoding="utf-8") as file:
            file.write(changed)
        good, said = lint(path, "--schema", schema)
        checks.that(good == wanted, f"{motor}: the schema {'takes' if wanted else 'refuses'} it: {said}")


def main():
    program, folder = sys.argv[1:3]
    motors = c.examples(folder)
    paths = c.standards("daveml/DAVEfunc.dtd", "daveml/catalog.xml", "fmi2/fmi2ModelDescription.xsd")
    if not paths:
        c.skip(len(FORMS) * len(motors), "files against published grammars")
    catalogue = os.path.abspath(paths[1])
    checks = c.Checks()
    for motor in motors:
        with tempfile.TemporaryDirectory() as room:
            check_dave_ml(checks, program, motor, room, catalogue)
            check_fmu(checks, program, motor, room, paths[2])
    checks.end()


main()
