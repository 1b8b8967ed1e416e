"""make_pieces.py FOLDER: sixteen invented pieces as MIDI, rendered with FluidSynth: four melodies, four for three voices,
four for three reeds, four with drums. The last of each kind is held out: rendered with another soundfont, and never
tuned on. Writes NAME.mid, NAME.wav and `pieces.txt`: a line a piece, `name kind held`."""
import os
import random
import subprocess
import sys

import mido

TUNED, HELD = '/usr/share/sounds/sf2/TimGM6mb.sf2', '/usr/share/sounds/sf3/FluidR3Mono_GM.sf3'
TICKS = 480
MAJOR, MINOR = [0, 2, 4, 5, 7, 9, 11], [0, 2, 3, 5, 7, 8, 10]

# name, kind, held, seed, quarter notes a minute, tonic, scale, programs (melody, inner, bass; General MIDI from 0)
PIECES = [
    ('tide-table', 'melody', False, 11, 96, 62, MINOR, [73]),
    ('lamp-oil', 'melody', False, 12, 132, 67, MAJOR, [0]),
    ('rope-walk', 'melody', False, 13, 80, 57, MINOR, [40]),
    ('cold-slipway', 'melody', True, 14, 110, 64, MAJOR, [71]),
    ('three-buoys', 'voices', False, 21, 100, 60, MAJOR, [0, 0, 0]),
    ('net-menders', 'voices', False, 22, 84, 65, MINOR, [73, 48, 32]),
    ('harbour-glass', 'voices', False, 23, 120, 58, MAJOR, [56, 60, 58]),
    ('salt-market', 'voices', True, 24, 104, 62, MINOR, [68, 71, 70]),
    ('fog-signal', 'reeds', False, 101, 96, 62, MINOR, [69, 20, 70]),
    ('tar-barrel', 'reeds', False, 103, 100, 65, MINOR, [68, 69, 70]),
    ('bell-buoy', 'reeds', False, 104, 88, 63, MAJOR, [71, 66, 67]),
    ('eel-pots', 'reeds', True, 106, 98, 60, MAJOR, [69, 71, 70]),
    ('crane-dance', 'full', False, 31, 112, 60, MINOR, [80, 0, 33]),
    ('gull-parade', 'full', False, 32, 126, 67, MAJOR, [61, 24, 32]),
    ('night-ferry', 'full', False, 33, 92, 63, MINOR, [11, 48, 38]),
    ('wharf-drums', 'full', True, 34, 118, 65, MAJOR, [65, 4, 33]),
]


def step(scale, tonic, degree):
    return tonic + 12 * (degree // 7) + scale[degree % 7]


def melody(dice, beats, tonic, scale):
    """(start, length, key) in beats: steps and small leaps, rests now and then, repeated notes among them."""
    notes, at, degree = [], 0.0, 7
    while at < beats:
        length = dice.choice([0.5, 0.5, 1, 1, 1.5, 2])
        if dice.random() > 0.12:
            notes.append((at, length * dice.choice([0.9, 0.95, 0.7]), step(scale, tonic, degree)))
        degree = min(14, max(2, degree + dice.choice([-2, -1, -1, 0, 1, 1, 2, 3, -3])))
        at += length
    return notes


def chords(dice, beats, tonic, scale):
    """Inner notes and bass of a chord for each two beats."""
    inner, bass = [], []
    for at in range(0, int(beats), 2):
        root = dice.choice([0, 3, 4, 5, 1])
        inner.append((at, 1.9, step(scale, tonic - 12, root + dice.choice([2, 4]))))
        bass.append((at, 0.95, step(scale, tonic - 24, root)))
        bass.append((at + 1, 0.9, step(scale, tonic - 24, root + dice.choice([0, 4, 0]))))
    return inner, bass


def drums(beats):
    for beat in range(int(beats)):
        yield (beat, 0.1, 36 if beat % 2 == 0 else 38)
        yield (beat, 0.1, 42)
        yield (beat + 0.5, 0.1, 42)


def write(path, parts, tempo, programs):
    midi = mido.MidiFile(ticks_per_beat=TICKS)
    events = [(0, mido.MetaMessage('set_tempo', tempo=mido.bpm2tempo(tempo)))]
    for part, program in enumerate(programs):
        events.append((0, mido.Message('program_change', channel=part, program=program)))
    for channel, velocity, notes in parts:
        for at, length, key in notes:
            start, end = round((at + 1) * TICKS), round((at + 1 + length) * TICKS)
            events.append((start, mido.Message('note_on', channel=channel, note=key, velocity=velocity)))
            events.append((end, mido.Message('note_off', channel=channel, note=key)))
    events.sort(key=lambda event: (event[0], event[1].type == 'note_on'))
    track, now = mido.MidiTrack(), 0
    for at, message in events:
        track.append(message.copy(time=at - now))
        now = at
    track.append(mido.MetaMessage('end_of_track', time=2 * TICKS))
    midi.tracks.append(track)
    midi.save(path)


def make(folder, name, kind, held, seed, tempo, tonic, scale, programs):
    dice, beats = random.Random(seed), 48
    parts = [(0, 96, melody(dice, beats, tonic, scale))]
    if kind != 'melody':
        inner, bass = chords(dice, beats, tonic, scale)
        parts += [(1, 80, inner), (2, 90, bass)]
    if kind == 'full':
        parts.append((9, 90, list(drums(beats))))
    path = os.path.join(folder, name)
    write(path + '.mid', parts, tempo, programs)
    subprocess.run(['fluidsynth', '-ni', '-q', '-r', '44100', '-O', 's16', '-T', 'wav', '-F', path + '.wav',
                    HELD if held else TUNED, path + '.mid'], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def main():
    folder = sys.argv[1]
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, 'pieces.txt'), 'w') as listing:
        for piece in PIECES:
            make(folder, *piece)
            listing.write(f'{piece[0]} {piece[1]} {"held" if piece[2] else "tuned"}\n')


main()
