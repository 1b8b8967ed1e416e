"""compare_with_fluidsynth.py DUMP_NOTES SONG...: a second opinion on when notes begin, by a synthesiser. FluidSynth says
each note-on with its time when it is told to be verbose. It looks at its events once in 64 samples (1.45 ms) by a clock of
whole milliseconds and rounds once more at each change of tempo: against its neighbours a note has to agree within 2 ms,
and to 3 ms over the whole song."""
import os
import statistics
import subprocess
import sys
import tempfile

TOLERANCE_S, OVER_THE_SONG_S, NEIGHBOURS = 0.002, 0.003, 20
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
        for a, b in zip(mine, theirs):
            assert a[:2] == b[:2] and a[3] == b[3], f'{song}: {a}, FluidSynth plays {b}'
        late = [late for _, late in sorted((a[2], b[2] - a[2]) for a, b in zip(mine, theirs))]
        middles = [statistics.median(late[max(0, i - NEIGHBOURS):i + NEIGHBOURS]) for i in range(len(late))]
        worst, near = max(map(abs, late)), max(abs(a - b) for a, b in zip(late, middles))
        print(f'{os.path.basename(song)}: {len(mine)} notes, at most {1000 * near:.2f} ms apart against their neighbours, '
              f'{1000 * worst:.2f} ms over the song')
        assert near <= TOLERANCE_S and worst <= OVER_THE_SONG_S


main()
