"""compare_with_fluidsynth.py DUMP_NOTES SONG...: a second opinion on when notes begin, by a synthesiser. FluidSynth says
each note-on with its time when it is told to be verbose; it keeps time in blocks of 64 samples (1.45 ms)."""
import os
import subprocess
import sys
import tempfile

TOLERANCE_S = 0.002
SOUNDFONT = '/usr/share/sounds/sf2/TimGM6mb.sf2'
PERCUSSION = 9


def by_fluidsynth(song):
    with tempfile.TemporaryDirectory() as folder:
        said = subprocess.run(['fluidsynth', '-ni', '-v', '-q', '-r', '44100', '-F', os.path.join(folder, 'out.wav'), SOUNDFONT, song],
                              check=True, capture_output=True, text=True)
    notes = set()
    for line in (said.stdout + said.stderr).splitlines():
        words = line.split()
        if len(words) > 6 and words[1] == 'noteon':
            channel, key, velocity = map(int, words[2:5])
            if channel != PERCUSSION:
                # One key may take several voices of the synthesiser; it is one note.
                notes.add((channel, key, float(words[6]), velocity))
    return sorted(notes)


def by_burstloom(dump_notes, song):
    lines = subprocess.run([dump_notes, song], check=True, capture_output=True, text=True).stdout.splitlines()[:-1]
    notes = []
    for line in lines:
        start, _, key, velocity, channel = line.split()
        notes.append((int(channel), int(key), float(start), int(velocity)))
    return sorted(notes)


def main():
    dump_notes, songs = sys.argv[1], sys.argv[2:]
    for song in songs:
        mine, theirs = by_burstloom(dump_notes, song), by_fluidsynth(song)
        assert len(mine) == len(theirs) > 100, f'{song}: {len(mine)} notes, FluidSynth plays {len(theirs)}'
        worst = 0
        for a, b in zip(mine, theirs):
            assert a[:2] == b[:2] and a[3] == b[3], f'{song}: {a}, FluidSynth plays {b}'
            worst = max(worst, abs(a[2] - b[2]))
        print(f'{os.path.basename(song)}: {len(mine)} notes, at most {1000 * worst:.2f} ms apart')
        assert worst <= TOLERANCE_S


main()
