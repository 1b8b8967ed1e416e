"""Whether every note that was sent stands in the recording, in order and in time: compare.py SENT RECORDING.mid MS

MS is how unevenly half of them may arrive."""
import statistics
import sys

import mido

sent = [line.split(",") for line in open(sys.argv[1])]
sent = [(float(at), int(channel), int(key), int(velocity)) for at, channel, key, velocity in sent]
heard, at = [], 0.0
for message in mido.MidiFile(sys.argv[2]):
    at += message.time
    if message.type == "note_on" and message.velocity > 0:
        heard.append((at, message.channel, message.note, message.velocity))
assert len(sent) > 50, f"only {len(sent)} notes were sent"
assert [note[1:] for note in sent] == [note[1:] for note in heard], f"{len(sent)} sent, {len(heard)} heard"
# The two clocks differ by a constant; what is left is how unevenly messages arrive.
delays = [h[0] - s[0] for s, h in zip(sent, heard)]
middle = statistics.median(delays)
late = sorted(abs(delay - middle) for delay in delays)
print(f"{len(sent)} notes; unevenness p50 {late[len(late) // 2] * 1e3:.2f} ms, most {late[-1] * 1e3:.2f} ms")
assert late[len(late) // 2] * 1e3 < float(sys.argv[3]), "half of the notes are more uneven than that"
assert late[-1] < 0.25, "a note is a quarter of a second off"
