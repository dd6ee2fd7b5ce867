"""SciPy's LSODA on the chamber that bench_lanes writes: lanes.py FILE TIME_OF_A_LANE [s].

Prints time of one run with all instants stored, its error of the pressure's integral against LSODA at 1e-11, and the ratio.
"""
import json
import sys
import time

import numpy
from scipy.integrate import odeint, solve_ivp

with open(sys.argv[1], encoding="utf-8") as file:
    c = json.load(file)
lane = float(sys.argv[2])
web, area, left = (numpy.array(c[name]) for name in ("web", "area", "left"))
step = web[1]
law, ramp, rt, density, drain, space = (c[k] for k in ("law", "ramp", "rt", "density", "drain", "space"))
area, left = area.tolist(), left.tolist()  # plain numbers are quicker to reach one by one


def slope(t, y):
    p, w = max(y[0], 1.0), y[1]
    at = w / step
    i = int(at)
    if i >= len(area) - 1:
        a, v, rate = 0.0, 0.0, 0.0
    else:
        u = at - i
        a = area[i] + u * (area[i + 1] - area[i])
        v = left[i] + u * (left[i + 1] - left[i])
        for coefficient, exponent, until in law:
            if p <= until:
                break
        rate = coefficient * p**exponent
    lit = min(1.0, t / ramp) if ramp > 0.0 else 1.0
    return [rt / (space - v) * (lit * (density - p / rt) * a * rate - drain * p), lit * rate, p]


instants = numpy.linspace(0.0, c["end"], c["instants"])
start = [c["start"], 0.0, 0.0]


def by_solve_ivp(tolerance):
    return solve_ivp(slope, (0.0, c["end"]), start, "LSODA", instants, rtol=tolerance, atol=1e-9).y[2][-1]


def by_odeint(tolerance):
    return odeint(slope, start, instants, tfirst=True, rtol=tolerance, atol=1e-9)[-1][2]


exact = solve_ivp(slope, (0.0, c["end"]), start, "LSODA", rtol=1e-11, atol=1e-12, max_step=c["end"] / 500).y[2][-1]
for name, run in (("solve_ivp", by_solve_ivp), ("odeint", by_odeint)):
    for tolerance in (1e-3, 1e-4, 1e-5, 1e-6, 1e-7):
        times = []
        for _ in range(5):
            before = time.process_time()
            got = run(tolerance)
            times.append(time.process_time() - before)
        print(f"  SciPy {name:9} LSODA {tolerance:.0e} {1e6 * min(times):9.0f} us  impulse error "
              f"{abs(got / exact - 1.0):.1e}  x{min(times) / lane:.0f}")
