"""Is what was wished there, with the reserve kept and with drag? Does the request keep what its base says?"""

import json
import sys

import jsonschema

flown, needs, hasty = (json.load(open(name)) for name in ("flown.json", "needs.json", "hasty.json"))
for bounds in "bare", "reserve", "drag", "drag_reserve":
    hover = flown["hover_at"][bounds]
    window = next(w for w in flown["windows"] if w["bounds"] == bounds)
    print(bounds, "hovers for what was wished:", hover["to"] - hover["from"] >= 6,
          "and lands after it:", window["time"][-1] > hover["to"])
base = json.load(open(f"{sys.argv[1]}/examples/requests/sandpiper.json"))
print("kept:", hasty["free"] == base["free"], hasty["wanted"] == base["wanted"],
      {key: value for key, value in hasty["limits"].items() if key != "thrust"} == base["limits"])
print("band:", all(a > b if b is not None else True for a, b in zip(needs["band"]["most"], needs["band"]["least"])))
for name, document in ("lift", flown), ("needs", needs), ("request", hasty):
    schema = json.load(open(f"{sys.argv[1]}/docs/schema/slowmatch-{name}.schema.json"))
    jsonschema.Draft202012Validator(schema).validate(document)
