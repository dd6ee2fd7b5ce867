"""From STL text on standard input to binary on standard output."""
import struct
import sys

corners = [[float(x) for x in line.split()[1:]] for line in sys.stdin if line.split()[0] == "vertex"]
data = b"solid in name only".ljust(80) + struct.pack("<I", len(corners) // 3)
for i in range(0, len(corners), 3):
    data += struct.pack("<12fH", 0, 0, 0, *corners[i], *corners[i + 1], *corners[i + 2], 0)
sys.stdout.buffer.write(data)
