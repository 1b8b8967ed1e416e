"""Plays a MIDI file in real time into a MIDI port, by mido and RtMidi: play.py FILE SECONDS PART_OF_PORT SENT

Writes what note-ons it sent, a line each: seconds, channel, key, velocity."""
import sys
import time

import mido

path, seconds, part, sent = sys.argv[1], float(sys.argv[2]), sys.argv[3], sys.argv[4]
mido.set_backend("mido.backends.rtmidi/UNIX_JACK")
port_name = next(name for name in mido.get_output_names() if part in name)
notes = []
down = set()
with mido.open_output(port_name) as port:
    time.sleep(0.5)  # for the connection
    began = time.monotonic()
    at = 0.0
    for message in mido.MidiFile(path):
        at += message.time
        if at > seconds:
            break
        wait = began + at - time.monotonic()
        if wait > 0:
            time.sleep(wait)
        if message.is_meta:
            continue
        port.send(message)
        if message.type == "note_on" and message.velocity > 0:
            notes.append((time.monotonic() - began, message.channel, message.note, message.velocity))
            down.add((message.channel, message.note))
        elif message.type in ("note_on", "note_off"):
            down.discard((message.channel, message.note))
    for channel, key in sorted(down):
        port.send(mido.Message("note_off", channel=channel, note=key))
    time.sleep(0.5)
with open(sent, "w") as out:
    for note in notes:
        out.write("%.6f,%d,%d,%d\n" % note)
