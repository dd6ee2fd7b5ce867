"""Is what was wished there, and are both requests of the group that was named?"""

import json

needs, flown, boost = (json.load(open(name)) for name in ("needs.json", "flown.json", "boost.json"))
print("designed:", needs["group"], needs["group_name"], needs["count"])
print("splay takes its time:", 0 < needs["ease_time"] < needs["turn_time"])
for bounds in "bare", "reserve", "drag", "drag_reserve":
    hover = flown["hover_at"][bounds]
    print(bounds, "hovers for what was wished:", hover["to"] - hover["from"] >= 3)
thrust = boost["limits"]["thrust"]
seconds = [float(row["time"].split()[0]) for row in thrust]
print("boosters need give no thrust after their burn:", all("least" not in row for row, t in zip(thrust, seconds) if t > 2.201))
