"""Plays a MIDI file in real time into a MIDI port, by mido and RtMidi: play.py FILE SECONDS PART_OF_PORT SENT

Sends the same to a port of its own: a virtual machine's host may hold the server up by 25 ms, for whoever listens. Writes
what note-ons it sent, a line each: seconds at which they came back through the server, channel, key, velocity."""
import sys
import time

import mido

path, seconds, part, sent = sys.argv[1], float(sys.argv[2]), sys.argv[3], sys.argv[4]
mido.set_backend("mido.backends.rtmidi/UNIX_JACK")
port_name = next(name for name in mido.get_output_names() if part in name)
notes = []
down = set()
came_back = []


def note_time(message):
    if message.type == "note_on" and message.velocity > 0:
        came_back.append(time.monotonic())


def output_named(part):
    return mido.open_output(next(name for name in mido.get_output_names() if part in name))


with (mido.open_input("back", virtual=True, client_name="play-control", callback=note_time),
      output_named("play-control") as control, mido.open_output(port_name) as port):
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
        control.send(message)
        if message.type == "note_on" and message.velocity > 0:
            notes.append((message.channel, message.note, message.velocity))
            down.add((message.channel, message.note))
        elif message.type in ("note_on", "note_off"):
            down.discard((message.channel, message.note))
    for channel, key in sorted(down):
        port.send(mido.Message("note_off", channel=channel, note=key))
    time.sleep(0.5)
assert len(came_back) == len(notes), f"{len(notes)} sent, {len(came_back)} came back"
with open(sent, "w") as out:
    for back, note in zip(came_back, notes):
        out.write("%.6f,%d,%d,%d\n" % (back - began, *note))
