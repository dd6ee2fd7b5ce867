"""The dave-ml form, by a reader written from the standard's manual on Python's XML parser, against the run.

Every check case is reckoned anew from the tables, and the rules that the DTD can't say are looked at. The DTD itself is
used by grammars.py. Reference: ANSI/AIAA S-119-2011; reference manual of DAVEfunc.dtd 2.0.2.
"""

import itertools
import os
import re
import sys
import xml.etree.ElementTree as ET

import checks as c

SPACE = "{http://daveml.org/2010/DAVEML}"
MATH = "{http://www.w3.org/1998/Math/MathML}"


def numbers(text):
    return [float(x) for x in re.split(r"[\s,]+", text.strip())]


def between(axes, values, at):
    """Linear in every direction and held at the ends; the last axis varies fastest."""
    axis, x, step = axes[0], at[0], len(values) // len(axes[0])
    rows = [values[i * step : (i + 1) * step] for i in range(len(axis))]
    whole = [between(axes[1:], row, at[1:]) if len(axes) > 1 else row[0] for row in rows]
    return c.line_at(axis, whole, x)


class Model:
    def __init__(self, text):
        self.root = ET.fromstring(text)
        find = self.root.iter
        self.variables = {v.get("varID"): v for v in find(SPACE + "variableDef")}
        self.points = {b.get("bpID"): numbers(b.findtext(SPACE + "bpVals")) for b in find(SPACE + "breakpointDef")}
        self.tables = {}
        for table in find(SPACE + "griddedTableDef"):
            axes = [ref.get("bpID") for ref in table.iter(SPACE + "bpRef")]
            self.tables[table.get("gtID")] = (axes, numbers(table.findtext(SPACE + "dataTable")))
        self.functions = {}
        for f in find(SPACE + "function"):
            table = f.find(f"{SPACE}functionDefn/{SPACE}griddedTableRef").get("gtID")
            inputs = [ref.get("varID") for ref in f.findall(SPACE + "independentVarRef")]
            self.functions[f.find(SPACE + "dependentVarRef").get("varID")] = (inputs, table)

    def value(self, name, given):
        if name in given:
            return given[name]
        if name in self.functions:
            inputs, table = self.functions[name]
            axes, values = self.tables[table]
            return between([self.points[a] for a in axes], values, [self.value(i, given) for i in inputs])
        apply = self.variables[name].find(f"{SPACE}calculation/{MATH}math/{MATH}apply")
        if apply is None or apply[0].tag != MATH + "max":
            raise ValueError(f"{name} has no origin that this reader knows")
        return max(self.value(a.text.strip(), given) if a.tag == MATH + "ci" else float(a.text) for a in apply[1:])


def check_shots(checks, name, model):
    ids = {v.get("name"): key for key, v in model.variables.items()}
    inputs = {key for key, v in model.variables.items() if v.find(SPACE + "isInput") is not None}
    outputs = {key for key, v in model.variables.items() if v.find(SPACE + "isOutput") is not None}
    shots = list(model.root.iter(SPACE + "staticShot"))
    checks.that(len(shots) >= 10, f"{name}: {len(shots)} check cases")
    for shot in shots:
        label = f"{name}, {shot.get('name')}"
        given, told = {}, {}
        for signal in shot.findall(f"{SPACE}checkInputs/{SPACE}signal"):
            given[ids[signal.findtext(SPACE + "signalName")]] = float(signal.findtext(SPACE + "signalValue"))
        checks.that(set(given) == inputs, f"{label}: every input")
        for signal in itertools.chain(
            shot.findall(f"{SPACE}internalValues/{SPACE}signal"), shot.findall(f"{SPACE}checkOutputs/{SPACE}signal")
        ):
            key = signal.findtext(SPACE + "varID") or ids[signal.findtext(SPACE + "signalName")]
            value, tolerance = float(signal.findtext(SPACE + "signalValue")), float(signal.findtext(SPACE + "tol"))
            told[key] = value
            checks.near(model.value(key, given), value, tolerance, f"{label}: {key}")
            unit = signal.findtext(SPACE + "signalUnits")
            checks.that(unit in (None, model.variables[key].get("units")), f"{label}: unit of {key}")
        checks.that(set(told) == outputs | {"F_tab"}, f"{label}: every output and the internal value")
        checks.that(not list(shot.iter(SPACE + "provenanceRef")), f"{label}: no provenance inside")


def check(checks, program, motor):
    name = os.path.basename(motor)
    text = c.command(program, "export", motor, "--to", "dave-ml", "--date", "2026-01-31").decode()
    model, run = Model(text), c.run_of(program, motor)
    names = [e.get(k) for e in model.root.iter() for k in ("varID", "bpID", "gtID", "refID", "provID")
             if e.get(k) and e.tag.split("}")[1] in
             ("variableDef", "breakpointDef", "griddedTableDef", "reference", "provenance")]
    checks.that(len(names) == len(set(names)), f"{name}: identifiers are unique over all kinds")
    for axes, values in model.tables.values():
        count = 1
        for axis in axes:
            count *= len(model.points[axis])
        checks.that(count == len(values), f"{name}: as many values as breakpoints tell")
    times = model.points["bp_t"]
    ids = {"thrust": "F", "mass_flow": "mdot", "pressure": "p_c", "propellant_mass": "m_p", "center_of_mass": "x_p",
           "inertia_axial": "Ia_p", "inertia_transverse": "It_p", "motor_mass": "m_m", "motor_center_of_mass": "x_m",
           "motor_inertia_axial": "Ia_m", "motor_inertia_transverse": "It_m"}
    here = {"p_a": 101325.0}
    table = {key: [model.value(v, {"t": t, **here}) for t in times] for key, v in ids.items() if v in model.variables}
    c.check_curve(checks, name, run, times, table)
    check_shots(checks, name, model)
    description = model.root.findtext(f"{SPACE}fileHeader/{SPACE}description")
    thrust = run["summary"]["class"]
    checks.that(f"designation: {thrust['designation']}" in description, f"{name}: designation")
    checks.that(f"impulse class: {thrust['letter']}\n" in description, f"{name}: class")
    checks.that("no certification" in description and "input sha256: " in description, f"{name}: standing, hash")


def main():
    program, folder = sys.argv[1:3]
    checks = c.Checks()
    for motor in c.examples(folder):
        check(checks, program, motor)
    checks.end()


main()
