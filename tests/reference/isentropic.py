#!/usr/bin/env python3
"""Isentropic flow and vacuum thrust coefficients to 50 digits, for the tests of src/nozzle.

Writes isentropic-ratios.csv, isentropic-mach.csv and thrust-coefficient-vacuum.csv beside this file. The textbook
relations (NACA Report 1135; thrust coefficient as G. P. Sutton and O. Biblarz, Rocket Propulsion Elements, ch. 3) are
worked in decimal arithmetic by bisection, a method and a form of the equations other than the program's. Inputs are
the doubles nearest to the decimals shown, so that the answers hold to all digits of a double.

    python3 tests/reference/isentropic.py
"""
import os
from decimal import Decimal, getcontext

getcontext().prec = 50
HERE = os.path.dirname(os.path.abspath(__file__))

GAMMAS = ["1.01", "1.05", "1.131", "1.17", "1.18", "1.2", "1.25", "1.3", "1.4", "1.67"]
MACHS = ["0.01", "0.2", "0.5", "0.9", "0.999", "1", "1.001", "1.04", "1.5", "2", "2.5", "3", "4", "5"]
AREA_RATIOS = ["1.00000001", "1.0001", "1.003", "1.05", "1.5", "2", "4", "6", "8", "10", "20", "60", "300", "10000"]
EPS = ["1.5", "2", "4", "6", "8", "9", "10", "14.79", "16", "20", "60"]


def exact(text):
    return Decimal(float(text))


def pressure_ratio(g, m):
    return (1 + (g - 1) / 2 * m * m) ** (-g / (g - 1))


def area_ratio(g, m):
    return (2 / (g + 1) * (1 + (g - 1) / 2 * m * m)) ** ((g + 1) / (2 * (g - 1))) / m


def mach(g, a, supersonic):
    lo, hi = (Decimal(1), Decimal(2)) if supersonic else (Decimal("1e-8"), Decimal(1))
    while supersonic and area_ratio(g, hi) < a:
        hi *= 2
    for _ in range(170):
        mid = (lo + hi) / 2
        if (area_ratio(g, mid) < a) == supersonic:
            lo = mid
        else:
            hi = mid
    return (lo + hi) / 2


def thrust_coefficient(g, eps):
    p = pressure_ratio(g, mach(g, eps, True))
    momentum = 2 * g * g / (g - 1) * (2 / (g + 1)) ** ((g + 1) / (g - 1)) * (1 - p ** ((g - 1) / g))
    return momentum.sqrt() + eps * p


def write(name, what, tolerance, columns, rows):
    with open(os.path.join(HERE, name), "w", encoding="ascii") as out:
        out.write("# %s\n" % what)
        out.write("# source: computed by isentropic.py in this folder, 50 digits\n")
        out.write("# units: all ratios [1]\n")
        out.write("# tolerance: %s\n" % tolerance)
        out.write(columns + "\n")
        for row in rows:
            out.write(",".join(x if isinstance(x, str) else format(x, ".20e") for x in row) + "\n")


def main():
    write("isentropic-ratios.csv", "Pressure and area ratios of isentropic flow",
          "2e-14 relative, for at gamma 1.01 the exponents near 100 turn a rounding of the base into some 1e-14",
          "gamma,mach,pressure_ratio,area_ratio",
          [(g, m, pressure_ratio(exact(g), exact(m)), area_ratio(exact(g), exact(m))) for g in GAMMAS for m in MACHS])
    write("isentropic-mach.csv", "Mach number from area ratio",
          "1e-14 relative, the accuracy stated in isentropic.h",
          "gamma,area_ratio,supersonic,mach",
          [(g, a, "%d" % s, mach(exact(g), exact(a), bool(s))) for g in GAMMAS for a in AREA_RATIOS for s in (1, 0)])
    write("thrust-coefficient-vacuum.csv", "Ideal thrust coefficient in vacuum",
          "1e-13 relative, ten times the accuracy of the Mach number it is made from",
          "gamma,eps,cf",
          [(g, e, thrust_coefficient(exact(g), exact(e))) for g in GAMMAS for e in EPS])


if __name__ == "__main__":
    main()
