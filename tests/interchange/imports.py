"""Curves read back: every form that can be read, of every example motor, against the run's own totals; and files as others
write them, against totals reckoned by hand.

Reference: ANSI/AIAA S-119-2011; W3C, Metadata Vocabulary for Tabular Data (2015).
"""

import json
import os
import subprocess
import sys
import tempfile

import checks as c

TOP = '<?xml version="1.0"?>\n<DAVEfunc xmlns="http://daveml.org/2010/DAVEML"><fileHeader name="x"/>'
TIME = '<variableDef name="time" varID="t" units="{0}" initialValue="0"><isInput/></variableDef>'

# A triangle: 100 N at 1 s, from nothing at 0 s to nothing at 3 s, has 150 N s.
FOREIGN = {
    "the short form, lbf and ms": TOP + TIME.format("ms") + """
        <variableDef name="motorThrust" varID="T" units="lbf"><isOutput/></variableDef>
        <function name="f"><independentVarPts varID="t">0 1000 3000</independentVarPts>
        <dependentVarPts varID="T">0, 22.480894309971045, 0</dependentVarPts></function></DAVEfunc>""",
    "a table within the function": TOP + TIME.format("s") + """
        <variableDef name="motorThrust" varID="T" units="kN"/>
        <breakpointDef bpID="b" units="s"><bpVals>0, 1, 3</bpVals></breakpointDef>
        <function name="f"><independentVarRef varID="t"/><dependentVarRef varID="T"/><functionDefn><griddedTableDef>
        <breakpointRefs><bpRef bpID="b"/></breakpointRefs><dataTable>0, <!-- peak --> 0.1, 0</dataTable>
        </griddedTableDef></functionDefn></function></DAVEfunc>""",
    "vacuum thrust less pressure times area": TOP + TIME.format("sec") + """
        <variableDef name="ambientPressure" varID="p_a" units="Pa" initialValue="100000"><isInput/></variableDef>
        <variableDef name="exitArea" varID="A_e" units="m2" initialValue="0.0002"/>
        <variableDef name="vacuumThrust" varID="V" units="N"/>
        <variableDef name="thrustBodyForce_X" varID="F" units="N"><calculation>
        <math xmlns="http://www.w3.org/1998/Math/MathML"><apply><max/><apply><minus/><ci>V</ci>
        <apply><times/><ci>p_a</ci><ci>A_e</ci></apply></apply><cn>0</cn></apply></math></calculation><isOutput/></variableDef>
        <breakpointDef bpID="b" units="s"><bpVals>0, 1, 3</bpVals></breakpointDef>
        <griddedTableDef gtID="g" units="N"><breakpointRefs><bpRef bpID="b"/></breakpointRefs>
        <dataTable>20, 120, 20</dataTable></griddedTableDef>
        <function name="f"><independentVarRef varID="t"/><dependentVarRef varID="V"/><functionDefn>
        <griddedTableRef gtID="g"/></functionDefn></function></DAVEfunc>""",
    "two dimensions, the pressure between its points": TOP + TIME.format("s") + """
        <variableDef name="ambientPressure" varID="p_a" units="Pa" initialValue="50000"><isInput/></variableDef>
        <variableDef name="thrust" varID="F" units="N"><isOutput/></variableDef>
        <breakpointDef bpID="b" units="s"><bpVals>0, 1, 3</bpVals></breakpointDef>
        <breakpointDef bpID="c" units="Pa"><bpVals>0, 100000</bpVals></breakpointDef>
        <griddedTableDef gtID="g" units="N"><breakpointRefs><bpRef bpID="b"/><bpRef bpID="c"/></breakpointRefs>
        <dataTable>0, 0, 120, 80, 0, 0</dataTable></griddedTableDef>
        <function name="f"><independentVarRef varID="t"/><independentVarRef varID="p_a"/><dependentVarRef varID="F"/>
        <functionDefn><griddedTableRef gtID="g"/></functionDefn></function></DAVEfunc>""",
}


def impulse(program, path, *more):
    told = json.loads(c.command(program, "burn", path, "--json", *more))
    return told["summary"]["thrust"]["total_impulse"]


def check_own(checks, program, motor, folder):
    name = os.path.basename(motor)
    summary = c.run_of(program, motor)["summary"]
    total, letter = summary["thrust"]["total_impulse"], summary["class"]["letter"]
    for ending in ("csv", "dml", "json"):
        path = os.path.join(folder, "curve." + ending)
        c.command(program, "export", motor, "-o", path)
        # A result's series is true to 1e-4 where the total is the march's own integral; tables are fitted to it.
        tolerance = 1e-4 if ending == "json" else 1e-6
        checks.near(impulse(program, path), total, tolerance * total, f"{name} from {ending}")
        told = json.loads(c.command(program, "classify", path, "--json"))
        checks.that(told["letter"] == letter, f"{name}, {ending}")


def check_masses(checks, program, motor, folder):
    """Masses and centres of a whole motor come back, at the start and at the end; of propellant, what burned."""
    name, series = os.path.basename(motor), c.run_of(program, motor)["series"]
    left = series["propellant_mass"][-1]
    series["propellant_mass"] = [mass - left for mass in series["propellant_mass"]]
    wanted = [(key, i, series[key][i]) for key in ("propellant_mass", "motor_mass", "motor_center_of_mass")
              if series.get(key) for i in (0, -1)]
    for ending in ("csv", "dml", "json"):
        path = os.path.join(folder, "masses." + ending)
        c.command(program, "export", motor, "-o", path)
        told = json.loads(c.command(program, "burn", path, "--json"))["series"]
        for key, i, value in wanted:
            checks.near(told[key][i], value, 1e-9 * abs(wanted[0][2]) + 1e-9 * abs(value), f"{name} from {ending}: {key}[{i}]")


def check_wrong_masses(checks, program, folder):
    """Propellant that grows, and a motor lighter than it, are refused in a line."""
    for rows, words in ((["0,0,1,3", "1,9,2,3", "2,0,3,3"], "must fall"), (["0,0,3,2", "1,9,1,1", "2,0,0,0"], "not more than")):
        path = os.path.join(folder, "wrong.csv")
        with open(path, "w", encoding="utf-8") as file:
            file.write("\n".join(["time,thrust,propellant_mass (g),motor_mass (g)", *rows, ""]))
        done = subprocess.run([program, "burn", path], capture_output=True, text=True, check=False)
        checks.that(done.returncode == 2 and words in done.stderr, f"{words}: exit {done.returncode} {done.stderr}")


def check_thrust_alone(checks, program, motor, folder):
    name, bare = os.path.basename(motor), os.path.join(folder, "curve.csv")
    series = c.run_of(program, motor)["series"]
    with open(bare, "w", encoding="utf-8") as file:
        file.write("time,thrust\n" + "".join(f"{t!r},{f!r}\n" for t, f in zip(series["time"], series["thrust"])))
    for form in ("csvw", "dave-ml", "fmu", "modelica", "json", "mat", "c-header"):
        again = os.path.join(folder, "again." + form)
        c.command(program, "export", bare, "--to", form, "-o", again)
        checks.that(os.path.getsize(again) > 0, f"{name}: thrust alone as {form}")


def check_foreign(checks, program, folder):
    for name, text in FOREIGN.items():
        path = os.path.join(folder, "foreign.xml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        checks.near(impulse(program, path), 150.0, 1e-9 * 150.0, name)
    path = os.path.join(folder, "table.csv")
    with open(path, "w", encoding="utf-8") as file:
        file.write("Mass,Schub,Zeit\r\n3,0,0\r\n2,0.1,1\r\n1,0,3\r\n")
    unit = "http://qudt.org/schema/qudt/ucumCode"
    columns = [{"name": "mass", "titles": "Mass"}, {"name": "thrust", "titles": "Schub", unit: "kN"},
               {"name": "time", "titles": ["Zeit"], unit: "s"}]
    with open(path + "-metadata.json", "w", encoding="utf-8") as file:
        json.dump({"@context": "http://www.w3.org/ns/csvw", "url": "table.csv", "tableSchema": {"columns": columns}}, file)
    checks.near(impulse(program, path), 150.0, 1e-9 * 150.0, "columns and units by metadata")


def main():
    program, folder = sys.argv[1:3]
    checks = c.Checks()
    for motor in c.examples(folder):
        with tempfile.TemporaryDirectory() as room:
            check_own(checks, program, motor, room)
            check_masses(checks, program, motor, room)
    with tempfile.TemporaryDirectory() as room:
        check_thrust_alone(checks, program, c.examples(folder)[0], room)
    with tempfile.TemporaryDirectory() as room:
        check_foreign(checks, program, room)
        check_wrong_masses(checks, program, room)
    checks.end()


main()
