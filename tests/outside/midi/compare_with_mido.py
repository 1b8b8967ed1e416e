"""compare_with_mido.py DUMP_NOTES SONG...: the songs, and files that mido writes at random (formats 0 and 1, tempo
changes, running status, several tracks), read by both readers: the same notes, their times within a microsecond."""
import os
import random
import subprocess
import sys
import tempfile

import mido

TOLERANCE_S = 1e-6
LONGEST_NOTE_S = 600  # Burstloom ends what is held for longer
PERCUSSION = 9


def merged(midi):
    """All messages in order of time, as (seconds, message); mido's own merging and tempo map."""
    now = 0.0
    for message in midi:
        now += message.time
        yield now, message


def notes_by_mido(midi):
    down, held, pedal, notes, percussion, now = {}, set(), set(), [], 0, 0.0
    sostenuto, caught = set(), set()  # channels whose pedal is down; keys that it holds

    def end(key, at):
        held.discard(key)
        caught.discard(key)
        if key in down:
            start, velocity = down.pop(key)
            notes.append((start, min(at, start + LONGEST_NOTE_S), key[1], velocity, key[0]))

    def release_sustain(channel, at):
        pedal.discard(channel)
        for key in [key for key in held if key[0] == channel and key not in caught]:
            end(key, at)

    def release_sostenuto(channel, at):
        sostenuto.discard(channel)
        for key in [key for key in caught if key[0] == channel]:
            caught.discard(key)
            if key in held and channel not in pedal:
                end(key, at)

    for now, message in merged(midi):
        if message.type == 'note_on' and message.velocity > 0:
            if message.channel == PERCUSSION:
                percussion += 1
                continue
            key = (message.channel, message.note)
            end(key, now)
            down[key] = (now, message.velocity)
        elif message.type in ('note_off', 'note_on'):
            key = (message.channel, message.note)
            held.add(key) if message.channel in pedal or key in caught else end(key, now)
        elif message.type == 'control_change' and message.control == 64:
            if message.value >= 64:
                pedal.add(message.channel)
            else:
                release_sustain(message.channel, now)
        elif message.type == 'control_change' and message.control == 66:
            if message.value >= 64 and message.channel not in sostenuto:
                sostenuto.add(message.channel)
                caught.update(key for key in down if key[0] == message.channel and key not in held)
            elif message.value < 64:
                release_sostenuto(message.channel, now)
        elif message.type == 'control_change' and message.control == 121:
            release_sustain(message.channel, now)
            release_sostenuto(message.channel, now)
        elif message.type == 'control_change' and message.control == 120:
            for key in [key for key in down if key[0] == message.channel]:
                end(key, now)
        elif message.type == 'control_change' and message.control >= 123:
            for key in [key for key in down if key[0] == message.channel]:
                held.add(key) if message.channel in pedal or key in caught else end(key, now)
    for key in list(down):
        end(key, now)
    return sorted(notes, key=lambda note: (note[4], note[2], note[0])), now, percussion


def notes_by_burstloom(dump_notes, path):
    lines = subprocess.run([dump_notes, path], check=True, capture_output=True, text=True).stdout.splitlines()
    notes = []
    for line in lines[:-1]:
        start, end, key, velocity, channel = line.split()
        notes.append((float(start), float(end), int(key), int(velocity), int(channel)))
    length, percussion = lines[-1].split()
    return sorted(notes, key=lambda note: (note[4], note[2], note[0])), float(length), int(percussion)


def compare(dump_notes, path):
    mine, my_length, my_percussion = notes_by_burstloom(dump_notes, path)
    theirs, their_length, their_percussion = notes_by_mido(mido.MidiFile(path))
    assert len(mine) == len(theirs), f'{path}: {len(mine)} notes, mido reads {len(theirs)}'
    for a, b in zip(mine, theirs):
        assert a[2:] == b[2:], f'{path}: {a}, mido reads {b}'
        assert abs(a[0] - b[0]) <= TOLERANCE_S and abs(a[1] - b[1]) <= TOLERANCE_S, f'{path}: {a}, mido reads {b}'
    assert abs(my_length - their_length) <= TOLERANCE_S, f'{path}: {my_length} s, mido reads {their_length} s'
    assert my_percussion == their_percussion, f'{path}: {my_percussion} of percussion, mido reads {their_percussion}'
    return len(mine)


def random_file(path, seed):
    dice = random.Random(seed)
    midi = mido.MidiFile(type=dice.choice([0, 1]), ticks_per_beat=dice.choice([24, 96, 480, 960, 15360]))
    for _ in range(1 if midi.type == 0 else dice.randint(1, 8)):
        track = mido.MidiTrack()
        midi.tracks.append(track)
        for _ in range(dice.randint(0, 300)):
            time, channel = dice.choice([0, 0, dice.randint(0, 2000)]), dice.randint(0, 15)
            kind = dice.randint(0, 11)
            if kind == 0:
                track.append(mido.MetaMessage('set_tempo', tempo=dice.randint(100_000, 2_000_000), time=time))
            elif kind == 1:
                track.append(mido.Message('control_change', channel=channel, control=dice.choice([64, 64, 64, 66, 66, 120, 121, 123]), value=dice.randint(0, 127), time=time))
            elif kind == 2:
                track.append(mido.Message('sysex', data=[dice.randint(0, 127) for _ in range(dice.randint(0, 200))], time=time))
            elif kind == 3:
                track.append(mido.Message('pitchwheel', channel=channel, pitch=dice.randint(-8192, 8191), time=time))
            else:
                track.append(mido.Message(dice.choice(['note_on', 'note_on', 'note_off']), channel=channel,
                                          note=dice.randint(40, 60), velocity=dice.randint(0, 127), time=time))
    midi.save(path)


def main():
    dump_notes, songs = sys.argv[1], sys.argv[2:]
    for song in songs:
        print(f'{os.path.basename(song)}: {compare(dump_notes, song)} notes agree')
    total = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(40):
            path = os.path.join(folder, f'seed-{seed}.mid')
            random_file(path, seed)
            total += compare(dump_notes, path)
    print(f'40 random files: {total} notes agree')
    assert total > 5000


main()
