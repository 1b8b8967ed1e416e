"""Every command of burstloom that writes, small enough to be run a thousand times; and the folder they run in."""
import os, pathlib, shutil, struct, subprocess, wave


class Writes:
    """A command and what it writes: files, or a folder (with a few files that are there before, of somebody else)."""

    def __init__(self, name, words, files=(), folder=None, before=()):
        self.name, self.words, self.files, self.folder, self.before = name, [*words.split(), "--force"], files, folder, before


COMMANDS = [
    Writes("coil show --plot", "coil show coil.toml --plot coil.svg", ["coil.svg"]),
    Writes("coil steps", "coil steps coil.toml --out steps.burst", ["steps.burst"]),
    Writes("song --suggest", "song song.mid --suggest parts.toml", ["parts.toml"]),
    Writes("song --score", "song tone.wav --score heard.mid", ["heard.mid"]),
    Writes("weave", "weave song.mid --coil coil.toml --out w.burst --ledger w.csv", ["w.burst", "w.csv"]),
    Writes("weave --live", "weave song.mid --live --coil coil.toml --out l.burst", ["l.burst"]),
    Writes("weave of two coils", "weave song.mid --coil coil.toml --plays lead --out a.burst --coil coil.toml --plays bass --out b.burst",
           ["a.burst", "b.burst"]),
    Writes("export --to csv", "export s.burst --to csv --out s.csv", ["s.csv"]),
    Writes("export --to vcd", "export s.burst --to vcd --out s.vcd", ["s.vcd"]),
    Writes("export --to wav", "export s.burst --to wav --rate 192000 --out s.wav", ["s.wav"]),
    Writes("export --to header", "export s.burst --to header --out s.h", ["s.h"]),
    Writes("export --to project", "export s.burst --to project --target rp2040 --out project", folder="project",
           before=["README.md", "player/player.c"]),
    Writes("export to a new folder", "export s.burst --to project --target rp2040 --out new/project/", folder="new"),
    Writes("export --to player", "export --to player --coil coil.toml --out player", folder="player"),
    Writes("preview --out", "preview s.burst --out s.html --no-audio", ["s.html"]),
    Writes("preview --sound wav", "preview s.burst --sound sketch.wav", ["sketch.wav"]),
    Writes("preview --sound flac", "preview s.burst --sound sketch.flac", ["sketch.flac"]),
    Writes("preview --image svg", "preview s.burst --image s.svg", ["s.svg"]),
    Writes("preview --image png", "preview s.burst --image s.png", ["s.png"]),
    Writes("preview of all kinds", "preview s.burst --out k.html --no-audio --sound k.wav --image k.svg", ["k.html", "k.wav", "k.svg"]),
    Writes("set --out", "set set.toml --out evening --no-previews", folder="evening"),
    Writes("set --plan --out-plan", "set set.toml --plan --out-plan plan.toml", ["plan.toml"]),
]
NEW_ONLY = {"plan.toml"}  # is refused where it is there already
ONE_BY_ONE = {"set --out"}  # keeps what is finished; all other commands write everything or nothing


def midi(notes, ticks=96):
    """A MIDI file of notes one after the other, 0.1 s each."""
    track = b"\x00\xff\x51\x03\x07\xa1\x20"
    for key in notes:
        track += bytes([0, 0x90, key, 100, ticks // 5, 0x80, key, 0])
    track += b"\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, ticks) + b"MTrk" + struct.pack(">I", len(track)) + track


def make_inputs(burstloom, project, folder):
    folder = pathlib.Path(folder)
    shutil.copy(pathlib.Path(project) / "audio-samples/coils/bench-36v.toml", folder / "coil.toml")
    (folder / "song.mid").write_bytes(midi([60, 64, 67]))
    (folder / "other.mid").write_bytes(midi([55, 62]))
    (folder / "set.toml").write_text('name = "Two"\ncoil = "coil.toml"\npause_s = 5\n'
                                     '[[song]]\nfile = "song.mid"\n[[song]]\nfile = "other.mid"\n')
    with wave.open(str(folder / "tone.wav"), "wb") as sound:
        sound.setparams((1, 2, 8000, 0, "NONE", ""))
        sound.writeframes(b"".join(struct.pack("<h", 9000 if i * 440 // 8000 % 2 else -9000) for i in range(4000)))
    subprocess.run([burstloom, "weave", "song.mid", "--coil", "coil.toml", "--out", "s.burst"], cwd=folder, check=True,
                   stdout=subprocess.DEVNULL)


def files_below(folder):
    """Every file below a folder by its path, the lock of a set apart."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in pathlib.Path(folder).rglob("*")
            if path.is_file() and path.name != "lock"}


def run(command, folder, **options):
    return subprocess.run(command, cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options)


def is_sentence(said):
    return said.startswith(b"burstloom: ") and said.count(b"\n") == 1 and said.endswith(b"\n") and len(said) < 600


def environment(**more):
    return {**os.environ, **more}
