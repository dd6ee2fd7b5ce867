"""SciPy's LSODA on the chamber that bench_lanes writes: lanes.py FILE TIME_OF_A_LANE [s].

Prints time of one run with all instants stored, its error of the pressure's integral against LSODA at 1e-11, and the ratio.
A run that LSODA doesn't bring to its end, as it can stand still where the pressure law has a joint, is given up: each has a
process of its own with a limit of processor time.
"""
import json
import multiprocessing
import resource
import sys
import time
import warnings

import numpy
from scipy.integrate import odeint, solve_ivp

LIMIT = 10  # of processor time for a run and its repetitions [s]
ENOUGH = 0.3  # of processor time to tell a run's from [s]

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
    values, said = odeint(slope, start, instants, tfirst=True, rtol=tolerance, atol=1e-9, full_output=True)
    if said["message"] != "Integration successful.":
        raise ArithmeticError(said["message"])
    return values[-1][2]


def by_bounded(tolerance):
    """Steps of a 500th of the burn at most, without which it stands still at a joint of the area where much is asked for."""
    most = c["end"] / 500
    return solve_ivp(slope, (0.0, c["end"]), start, "LSODA", instants, rtol=tolerance, atol=1e-12, max_step=most).y[2][-1]


def repeat(run, tolerance, pipe):
    """In a process of its own, which the system ends at the limit. Runs on until a clock of coarse ticks can tell their time."""
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (LIMIT, LIMIT))
    warnings.simplefilter("ignore")
    before, n = time.process_time(), 0
    while n == 0 or time.process_time() - before < ENOUGH:
        try:
            got = run(tolerance)
        except ArithmeticError as fault:
            pipe.send(str(fault))
            return
        n += 1
    pipe.send((float(got), (time.process_time() - before) / n))


def limited(run, tolerance):
    """Integral and time of a run, or a text that says why there are none."""
    here, there = multiprocessing.Pipe(False)
    child = multiprocessing.get_context("fork").Process(target=repeat, args=(run, tolerance, there))
    child.start()
    there.close()
    try:
        return here.recv()
    except EOFError:
        return f"did not end in {LIMIT} s of a processor"
    finally:
        child.join()


exact = limited(by_bounded, 1e-11)
if isinstance(exact, str):
    print(f"  SciPy's LSODA at 1e-11 {exact}; errors are against its run at 1e-8")
    exact = limited(by_odeint, 1e-8)
USUAL = (1e-3, 1e-4, 1e-5, 1e-6, 1e-7)
for name, run, tolerances in (("solve_ivp", by_solve_ivp, USUAL), ("odeint", by_odeint, USUAL), ("bounded", by_bounded, (1e-6, 1e-8, 1e-9))):
    for tolerance in tolerances:
        what = f"  SciPy {name:9} LSODA {tolerance:.0e}"
        got = limited(run, tolerance)
        if isinstance(got, str):
            print(f"{what} gave nothing: {got}", flush=True)
            continue
        error = "no reference" if isinstance(exact, str) else f"impulse error {abs(got[0] / exact[0] - 1.0):.1e}"
        print(f"{what} {1e6 * got[1]:9.0f} us  {error}  x{got[1] / lane:.0f}", flush=True)
