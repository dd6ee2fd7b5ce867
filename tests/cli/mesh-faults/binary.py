"""Writes a binary STL file with the fault named: a tetrahedron for the most part."""
import math
import struct
import sys

corners = [(0, 0, 1), (5, 0, 1), (0, 5, 1), (0, 0, 60)]
facets = [(0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3)]
fault = sys.argv[1]
count = 1000001 if fault == "many" else len(facets)
records = [struct.pack("<12fH", *[0.0] * 3, *[x for k in facet for x in corners[k]], 0) for facet in facets]
data = b"binary".ljust(80) + struct.pack("<I", count) + (b"".join(records) * (count // 4 + 1))[:50 * count]
if fault == "nan":
    data = data[:84 + 12] + struct.pack("<f", math.nan) + data[84 + 16:]
sys.stdout.buffer.write(data[:-30] if fault == "cut" else data)
