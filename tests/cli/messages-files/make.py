"""Writes files with one fault each: an example with a value changed or left out. Their names tell the fault."""

import copy
import json
import os
import subprocess

EXAMPLES = os.environ["EXAMPLES"]
GONE = object()


def load(name):
    with open(os.path.join(EXAMPLES, name)) as file:
        return json.load(file)


def put(document, pointer, value):
    """The document with the value at a JSON pointer changed, added, or left out."""
    document = copy.deepcopy(document)
    *way, last = pointer.split("/")[1:]
    at = document
    for token in way:
        at = at[int(token) if isinstance(at, list) else token]
    last = int(last) if isinstance(at, list) else last
    if value is GONE:
        del at[last]
    else:
        at[last] = value
    return document


def write(name, document):
    with open(name + ".json", "w") as file:
        json.dump(document, file)


def write_each(prefix, document, rows):
    for name, *changes in rows:
        changed = document
        for pointer, value in changes:
            changed = put(changed, pointer, value)
        write(prefix + name, changed)


def shape(name):
    said = subprocess.run(["slowmatch", "shapes", name], capture_output=True, text=True, check=True).stdout
    return json.loads(said[said.index("\nexample\n") + 9:])


cored, bought = load("sandpiper-cored.json"), load("curlew-bought.json")
for motor in (cored, bought):
    motor.pop("note", None)

write_each("motor-", cored, [
    ("empty-name", ("/name", "")),
    ("no-name", ("/name", GONE)),
    ("name-of-a-number", ("/name", 5)),
    ("grains-no-list", ("/grains", {})),
    ("grains-none", ("/grains", [])),
    ("grain-no-object", ("/grains/0", "tube")),
    ("shape-no-text", ("/grains/0/shape", 7)),
    ("shape-missing", ("/grains/0/shape", GONE)),
    ("shape-unknown", ("/grains/0/shape", "tubes")),
    ("too-many-tolerances", ("/tolerances", [{"of": "/nozzle/throat_diameter", "normal": "0.01 mm"}] * 65)),
    ("propellant-no-file", ("/propellant", "nowhere.json")),
    ("propellant-inline-number", ("/propellant", 12)),
])
strays = [{"of": f"/grains/{i}/length", "normal": "0.1 mm"} for i in range(64)]
inline = load("../propellants/demo-slow-composite.json")
tolerant_in_all = {**cored, "propellant": {**inline, "tolerances": [{"of": "/density", "normal": "2 kg/m3"}]},
                   "tolerances": strays, "case": {"bore": "31 mm", "length": "9 m"}, "grains": cored["grains"] * 64}
write("run-too-many-tolerances-in-all", tolerant_in_all)
vehicle = load("vehicles/dunlin.json")
for name, motor in {"drawn": "run-tight.json", "faint": "run-faint.json"}.items():
    write("run-vehicle-" + name, put(vehicle, "/motors/0/motor", motor))
# twenty grains that fit their case by nothing, of which one at least is too large in all but one motor of a million
twenty = {**cored, "case": {"bore": "30 mm", "length": "2 m"}, "grains": [
    {"shape": "tube", "outer_diameter": "30 mm", "bore_diameter": "20 mm", "length": "9 mm"}] * 20}
write("run-twenty", twenty)
write("run-needs-twenty", put(vehicle, "/motors/0/motor", "run-twenty.json"))
write("run-tight", {**twenty, "tolerances": [{"of": f"/grains/{i}/outer_diameter", "uniform": "0.5 mm"} for i in range(20)]})
faint = put(inline, "/burn_rate/0/rate", "0.02 mm/s")
write("run-faint", {**load("sandpiper-end-burner.json"), "propellant": faint, "ignition": {"pressure": "101326 Pa"},
                    "nozzle": {"throat_diameter": "17 mm", "exit_diameter": "17 mm"}})
write_each("motor-", put(load("sandpiper-end-burner.json"), "/case", {"bore": "31 mm", "length": "100 mm"}), [
    ("no-gas-space", ("/grains/0/outer_diameter", "31 mm"), ("/grains/0/length", "100 mm"),
     ("/nozzle/throat_diameter", "30.99999999999999 mm"), ("/nozzle/exit_diameter", "31 mm")),
])
write("propellant-format-of-a-number", put(cored, "/propellant", {"format": 7}))
write("propellant-no-object", [])
write("propellant-no-format", {"name": "x"})
write("propellant-other-format", put(cored, "/propellant", {"format": "slowmatch-motor/1"}))

curve = lambda **more: {**bought["curve"], **more}
write_each("curve-", bought, [
    ("and-case", ("/case", cored["case"])),
    ("no-impulse", ("/curve/thrust", {"unit": "N", "values": [0] * 14})),
    ("a-word", ("/curve/thrust", {"unit": "N", "values": [0, "1"] + [1] * 12})),
    ("counts", ("/curve/thrust", {"unit": "N", "values": [0, 1]})),
    ("key", ("/curve/time", {"unit": "s", "values": [0, 1], "value": []})),
    ("beyond", ("/curve/thrust", {"unit": "N", "values": [0, 1e300] + [1] * 12})),
    ("late", ("/curve/delay", "500 s")),
    ("and-file", ("/curve/file", "curve.csv")),
    ("neither", ("/curve", {key: value for key, value in bought["curve"].items() if key not in ("time", "thrust")})),
    ("masses", ("/curve/propellant_mass", "90 g")),
    ("too-many", ("/curve/time", {"unit": "s", "values": [1] * 1000001}), ("/curve/thrust", {"unit": "N", "values": []})),
    ("pulls-back", ("/curve/thrust", {"unit": "N", "values": [0, 1] + [-5] * 12})),
])

tolerant = lambda *items: put(cored, "/tolerances", list(items))
for name, item in {
        "two-laws": {"of": "/nozzle/throat_diameter", "normal": "0.02 mm", "uniform": "0.02 mm"},
        "no-law": {"of": "/nozzle/throat_diameter"},
        "share-of-temperature": {"of": "/conditions/grain_temperature", "normal": "2 %"},
        "share-of-nothing": {"of": "/nozzle/half_angle", "normal": "2 %"},
        "zero": {"of": "/nozzle/throat_diameter", "normal": "0 mm"},
        "no-of": {"normal": "0.02 mm"},
        "whole": {"of": "/grains/0/count", "normal": "1"},
        "not-given": {"of": "/nozzle/roughness", "normal": "0.02 mm"},
        "absent": {"of": "/ignition/spread_speed", "normal": "2 m/s"},
        "truncated-uniform": {"of": "/nozzle/throat_diameter", "uniform": "0.02 mm", "truncated": 2},
        "no-object": "2 %",
        "unknown-key": {"of": "/nozzle/throat_diameter", "normal": "0.02 mm", "batches": True},
        "wide": {"of": "/nozzle/throat_diameter", "normal": "20 mm"}}.items():
    document = tolerant(item)
    if name == "share-of-nothing":
        document = put(document, "/nozzle/half_angle", "0 deg")
    write("tolerance-" + name, document)
write("tolerance-twice", tolerant(*[{"of": "/nozzle/throat_diameter", "normal": "0.02 mm"}] * 2))
write("tolerance-none", put(cored, "/tolerances", []))
write("tolerance-no-list", put(cored, "/tolerances", {}))

request = load("requests/sandpiper.json")
os.mkdir("motors")
write("motors/end", {**load("sandpiper-end-burner.json"), "note": "a copy"})
request["motor"] = "motors/end.json"
write_each("request-", request, [
    ("free-no-object", ("/free/0", 3)),
    ("free-key", ("/free/0/too", "1 mm")),
    ("no-of", ("/free/0/of", GONE)),
    ("a-list", ("/free/0/of", "/propellant/burn_rate")),
    ("not-given", ("/free/0/of", "/ignition/spread_speed")),
    ("no-from", ("/free/0/from", GONE)),
    ("factor-no-number", ("/free/2/tied/0/factor", "2 mm")),
    ("tied-no-list", ("/free/2/tied", {})),
    ("free-no-list", ("/free", {})),
    ("count-in-halves", ("/free", [{"of": "/grains/0/count", "from": 1.5, "to": 3}])),
    ("tied-to-count", ("/free", [{"of": "/grains/0/count", "from": 1, "to": 3,
                                  "tied": [{"of": "/case/bore", "plus": "1 mm"}]}])),
    ("band-crossed", ("/limits/thrust", [{"time": "1 s", "least": "20 N", "most": "10 N"},
                                         {"time": "2 s", "least": "5 N", "most": "10 N"}])),
    ("times-fall", ("/wanted/thrust", [{"time": "0 s", "thrust": "10 N"}, {"time": "3 s", "thrust": "10 N"},
                                       {"time": "2 s", "thrust": "10 N"}])),
])


def grain(name, **changes):
    one = {**shape(name), **changes}
    for key in [key for key, value in one.items() if value is GONE]:
        del one[key]
    bore = max(float(one["outer_diameter"].split()[0]) + 1, 62)
    return {**cored, "case": {"bore": f"{bore} mm", "length": "400 mm"}, "grains": [one]}


mesh = shape("mesh")
facet = lambda **changes: [{**mesh["facets"][0], **changes}, *mesh["facets"][1:]]
points = lambda *places: {"points": [{"x": f"{x} mm", "y": f"{y} mm"} for x, y in places]}
square = lambda at, half: points((at - half, -half), (at + half, -half), (at + half, half), (at - half, half))
for name, document in {
        "star-both-points": grain("star", point_radius="1 mm", core_diameter="20 mm"),
        "star-fillets": grain("star", fillet_radius="12 mm"),
        "star-lobes": grain("star", fillet_radius="5 mm", angle_fraction=0.3),
        "cruciform-bar": grain("cruciform", arms=2),
        "end-burner-recess": grain("end-burner", recess_diameter="8 mm", recess_depth="5 mm", burning=["fore-end"]),
        "profile-ends": grain("bore-profile", profile=[{"diameter": "16 mm"}, {"z": "60 mm", "diameter": "16 mm"}]),
        "profile-three": grain("bore-profile", profile=[{"diameter": "16 mm"}, *({"z": "60 mm", "diameter": f"{d} mm"}
                                                                                 for d in (16, 20, 18)), {"diameter": "16 mm"}]),
        "profile-step-at-face": grain("bore-profile", profile=[{"z": "0 mm", "diameter": "16 mm"},
                                                               {"z": "0 mm", "diameter": "20 mm"}, {"diameter": "20 mm"}]),
        "recess-half": grain("end-burner", recess_diameter="8 mm"),
        "domes-long": grain("domed-tube", aft_dome="190 mm"),
        "outline-fillet-on-arc": grain("outline", sectors=GONE, outer_diameter="60 mm", loops=[
            {"points": [{"x": "9 mm", "y": "-9 mm", "arc_radius": "20 mm", "fillet": "1 mm"}, {"x": "9 mm", "y": "9 mm"},
                        {"x": "-9 mm", "y": "0 mm"}]}]),
        "profile-no-z": grain("bore-profile", profile=[{"diameter": "16 mm"}, {"diameter": "16 mm"}, {"diameter": "16 mm"}]),
        "profile-on-axis": grain("bore-profile", profile=[{"diameter": "16 mm"}, {"z": "60 mm", "diameter": "0 mm"},
                                                          {"diameter": "16 mm"}]),
        "profile-closed": grain("bore-profile", profile=[{"z": "20 mm", "diameter": "0 mm"}, {"z": "30 mm", "diameter": "16 mm"},
                                                         {"z": "60 mm", "diameter": "0 mm"}]),
        "slots-none": grain("slotted-segment", slotted=GONE, round_slots=GONE),
        "outline-none": grain("outline", loops=GONE),
        "outline-both": grain("outline", file="port.svg"),
        "outline-no-unit": grain("outline", loops=GONE, sectors=GONE, file="port.svg"),
        "outline-two-inside": grain("outline", sectors=GONE, outer_diameter="60 mm", loops=[square(0, 8), square(1, 8)]),
        "outline-text": grain("outline", loops=GONE, sectors=GONE, file="port.txt", file_unit="1 mm"),
        "mesh-few": grain("mesh", facets=mesh["facets"][:3]),
        "mesh-inside": grain("mesh", vertices=[{**v, "z": f"{10 + 0.3 * float(v['z'].split()[0])} mm"} for v in mesh["vertices"]]),
        "voids-many": grain("joined-voids", voids=[{"form": "ball", "z": "30 mm", "x": f"{i / 4} mm", "diameter": "3 mm", "count": 16}
                                                   for i in range(64)]),
        "outline-all": grain("outline", sectors=GONE, outer_diameter="20 mm", loops=[square(0, 15)]),
        "mesh-nothing": grain("mesh", vertices=GONE, facets=GONE),
        "mesh-vertex": grain("mesh", facets=facet(a=900)),
        "mesh-twice": grain("mesh", facets=facet(a=1, b=1)),
        "mesh-outside": grain("mesh", vertices=[{**v, "z": f"{float(v['z'].split()[0]) + 500} mm"} for v in mesh["vertices"]]),
        "mesh-fine": grain("mesh", resolution=256, outer_diameter="60 mm", length="20 m"),
        "sleeves-all": grain("bore-profile", burnback="geodesic", burning=["bore"],
                             sleeves=[{"from": "0 mm", "to": "120 mm"}]),
}.items():
    write("grain-" + name, document)

open("port.svg", "w").write('<svg xmlns="http://www.w3.org/2000/svg"><path/></svg>')
write("drawing-no-data", grain("outline", loops=GONE, sectors=GONE, file="port.svg", file_unit="1 mm"))
open("deep.svg", "w").write('<svg xmlns="http://www.w3.org/2000/svg">' + "<g>" * 70 + "</g>" * 70 + "</svg>")
write("drawing-deep", grain("outline", loops=GONE, sectors=GONE, file="deep.svg", file_unit="1 mm"))
open("many.svg", "w").write('<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0' +
                            "".join(f"L{i % 2} {i}" for i in range(1, 1100)) + 'Z"/></svg>')
write("drawing-many-points", grain("outline", loops=GONE, sectors=GONE, file="many.svg", file_unit="1 mm"))
open("loops.svg", "w").write('<svg xmlns="http://www.w3.org/2000/svg"><path d="' +
                             "".join(f"M{i} 0L{i} 1L{i}.5 1Z" for i in range(70)) + '"/></svg>')
write("drawing-many-loops", grain("outline", loops=GONE, sectors=GONE, file="loops.svg", file_unit="1 mm"))
for name, text in {"other-column": "x,z\n1,2\n", "no-y": "x,loop\n1,2\n",
                   "bow": "x,y\n-10,-10\n10,10\n10,-10\n-10,10\n",
                   "fillets": "x,y,fillet\n-10,-10,30\n10,-10,0\n0,10,0\n"}.items():
    open(name + ".csv", "w").write(text)
    write("drawing-" + name, grain("outline", loops=GONE, sectors=GONE, outer_diameter="60 mm", file=name + ".csv",
                                   file_unit="1 mm"))
open("long.csv", "w").write("x,y\n" + "".join(f"{i % 7},{i}\n" for i in range(1001)))
write("drawing-long-table", grain("outline", loops=GONE, sectors=GONE, file="long.csv", file_unit="1 mm"))
