"""time_mido.py SONG: milliseconds that mido takes to read it, warm: the best of five."""
import io
import sys
import time

import mido

song = open(sys.argv[1], "rb").read()


def read_ms():
    begin = time.perf_counter()
    mido.MidiFile(file=io.BytesIO(song))
    return 1e3 * (time.perf_counter() - begin)


print(f"{min(read_ms() for _ in range(5)):.3f}")
