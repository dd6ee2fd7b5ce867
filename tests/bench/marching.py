"""scikit-fmm's distance on a cube of values that bench_marching writes: marching.py FILE NODES STEP ORDER OUT.

Replaces the values, which are known near the void's surface, by those that it marches outwards from it, and prints its time [s].
"""
import sys
import time

import numpy
import skfmm

name, nodes, step, order, out = sys.argv[1], int(sys.argv[2]), float(sys.argv[3]), int(sys.argv[4]), sys.argv[5]
values = numpy.fromfile(name).reshape(nodes, nodes, nodes)
values[abs(values) < 1e-9 * step] = 0.0  # nodes on a burning end lie on it, whatever rounding has made of that
before = time.perf_counter()
far = skfmm.distance(values, dx=step, order=order)
print(time.perf_counter() - before)
numpy.ascontiguousarray(far).tofile(out)
