"""What two programs make of the same songs, coils and commands, compared byte by byte. Run by compare_outputs.sh.

What differs only in the last digits of numbers, by less than a part in 10^9, is counted by itself: sums in another order do that.
Everything runs in one folder a program, with the same relative names, so that a name in an output is no difference.
Standard output, standard error and exit code of a command count as outputs like the files that it writes.
"""

import collections
import concurrent.futures
import os
import pathlib
import re
import subprocess
import sys
import tempfile

COILS = ["bench-36v", "half-bridge-325v", "full-bridge-560v", "continuous-36v"]
WAYS = {
    "quayside-lanterns.mid": {
        "plain": [], "causal": ["--causal"], "live": ["--live"], "voices": ["--voices", "2"], "cap": ["--cap", "0"],
        "ticks": ["--tick-hz", "1000000"], "arranged": ["--arrangement", "arranged.toml"]},
    "ferry-call.flac": {
        "plain": [], "follow": ["--how", "follow"], "edges": ["--how", "edges"], "carrier": ["--how", "carrier"],
        "carrier9k": ["--how", "carrier", "--carrier-hz", "9000"], "density": ["--how", "density"]},
    "harbour-chords.flac": {
        "plain": [], "notes": ["--how", "notes"], "snap": ["--snap", "4"], "silence": ["--keep-silence"]},
}
TARGETS = ["atmega328p", "rp2040", "stm32f103", "esp32", "generic"]
ARRANGEMENT = '[song]\ntranspose = -5\ngain_db = -3.0\n'
SET = """name = "Compared"
coil = "bench-36v.toml"
pause_s = 5.0
[[song]]
file = "quayside-lanterns.mid"
[[song]]
file = "ferry-call.flac"
"""
# What a set keeps to build quickly again; its names follow the program's own bytes.
KEPT_BY_SET = "/.burstloom/"
# Timing is not part of an output, nor is what a terminal shows; a minute is far more than any of these takes.
TIMEOUT_S = 300


def command_lists():
    """[(kind, arguments)], a list for each song and coil: each in its order, for later ones read what earlier ones write."""
    alone = [("help", ["--help"]), ("coil new", ["coil", "new"]),
             ("coil parts", ["coil", "parts", "--solenoid", "110,420,1200", "--json"])]
    alone += [("song", ["song", song, *form]) for song in WAYS for form in ([], ["--json"])]
    alone += [("song --suggest", ["song", "quayside-lanterns.mid", "--suggest", "suggested.toml"]),
              ("song --score", ["song", "harbour-chords.flac", "--score", "heard.mid"]),
              ("set", ["set", "set.toml", "--out", "evening", "--jobs", "1"]),
              ("set --json", ["set", "set.toml", "--json"]), ("set --plan", ["set", "set.toml", "--plan"])]
    lists = [alone]
    for coil in COILS:
        lists.append([("coil show", ["coil", "show", coil + ".toml"]),
                      ("coil show --json", ["coil", "show", coil + ".toml", "--json"]),
                      ("coil show --plot", ["coil", "show", coil + ".toml", "--plot", coil + ".svg"]),
                      ("coil steps", ["coil", "steps", coil + ".toml", "--out", coil + "-steps.burst"])])
        lists += [of_song(song, coil) for song in WAYS]
    return lists


def of_song(song, coil):
    commands = []
    for way, options in WAYS[song].items():
        name = f"{pathlib.Path(song).stem}-{coil}-{way}"
        stream = name + ".burst"
        commands.append(("weave", ["weave", song, "--coil", coil + ".toml", "--out", stream, "--ledger", name + ".ledger.csv",
                                   "--json", *options]))
        commands.append(("check", ["check", stream]))
        commands += [("check --json", ["check", stream, "--coil", judged_by + ".toml", "--json"]) for judged_by in COILS]
        commands.append(("export header", ["export", stream, "--to", "header", "--out", name + ".h"]))
        if way == "plain":
            commands += once_a_song(song, coil, name)
    return commands


def once_a_song(song, coil, name):
    stream, csv, vcd = name + ".burst", name + ".csv", name + ".vcd"
    captured = ["--coil", coil + ".toml", "--json", "--tolerance-us"]
    return [("weave text", ["weave", song, "--coil", coil + ".toml", "--out", name + "-again.burst"]),
            ("export csv", ["export", stream, "--to", "csv", "--out", csv]),
            ("export vcd", ["export", stream, "--to", "vcd", "--out", vcd]),
            ("export wav", ["export", stream, "--to", "wav", "--until", "3", "--out", name + ".wav"]),
            ("export excerpt", ["export", stream, "--to", "csv", "--from", "2", "--until", "5", "--out", name + "-part.csv"]),
            *[("export project", ["export", stream, "--to", "project", "--target", target, "--out", f"{name}-{target}"])
              for target in TARGETS],
            *[("check capture", ["check", capture, *captured, tolerance]) for capture in (csv, vcd)
              for tolerance in ("0", "1")],
            ("check --played", ["check", csv, "--coil", coil + ".toml", "--played", stream, "--json"]),
            ("preview page", ["preview", stream, "--no-audio", "--source", song, "--out", name + ".html"]),
            ("preview image", ["preview", stream, "--image", name + ".svg"]),
            ("preview sound", ["preview", stream, "--sound", name + "-sketch.wav"])]


def snapshot(folder, known):
    """The files that are new in a folder, and their bytes."""
    new = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_file() and not path.is_symlink() and name not in known and KEPT_BY_SET not in name:
            new[name] = path.read_bytes()
            known.add(name)
    return new


def prepare(folder, samples):
    for coil in COILS:
        (folder / (coil + ".toml")).write_bytes((samples / "coils" / (coil + ".toml")).read_bytes())
    for song in WAYS:
        (folder / song).write_bytes((samples / song).read_bytes())
    (folder / "arranged.toml").write_text(ARRANGEMENT)
    (folder / "set.toml").write_text(SET)


def outputs(program, folder, arguments, known):
    environment = {"PATH": os.environ["PATH"], "HOME": str(folder), "TZ": "UTC", "LC_ALL": "C"}
    ran = subprocess.run([program, *arguments], cwd=folder, env=environment, capture_output=True, timeout=TIMEOUT_S,
                         check=False)
    return {"exit code": str(ran.returncode).encode(), "standard output": ran.stdout, "standard error": ran.stderr,
            **snapshot(folder, known)}


def largest_relative_difference(old, new):
    """Of two outputs that are the same but for numbers; None if they are not."""
    number = re.compile(rb"-?\d+\.\d+(?:e[-+]?\d+)?")
    if old is None or new is None or number.sub(b"0", old) != number.sub(b"0", new):
        return None
    pairs = [(float(a), float(b)) for a, b in zip(number.findall(old), number.findall(new)) if a != b]
    return max(abs(a - b) / max(abs(a), abs(b)) for a, b in pairs)


def first_difference(old, new):
    if old is None or new is None:
        return "only in the new one" if old is None else "only in the old one"
    at = next((i for i, (a, b) in enumerate(zip(old, new)) if a != b), min(len(old), len(new)))
    line = old.count(b"\n", 0, at) + 1
    around = [text[max(0, at - 30):at + 40].decode("ascii", "replace").replace("\n", "\\n") for text in (old, new)]
    return f"byte {at}, line {line}: {around[0]!r} is {around[1]!r}"


def compare_list(old_program, new_program, samples, commands):
    """[(kind, command line, output, what differs, by how much)] of one list, and how many outputs there were by kind."""
    differences, counted = [], collections.Counter()
    with tempfile.TemporaryDirectory() as scratch:
        folders = [pathlib.Path(scratch) / side / "work" for side in ("old", "new")]
        known = []
        for folder in folders:
            folder.mkdir(parents=True)
            prepare(folder, samples)
            known.append({path.relative_to(folder).as_posix() for path in folder.rglob("*")})
        for kind, arguments in commands:
            old, new = (outputs(program, folder, arguments, names)
                        for program, folder, names in zip((old_program, new_program), folders, known))
            for name in sorted(old.keys() | new.keys()):
                counted[kind] += 1
                pair = old.get(name), new.get(name)
                if pair[0] != pair[1]:
                    differences.append((kind, " ".join(arguments), name, first_difference(*pair),
                                        largest_relative_difference(*pair)))
    return differences, counted


def main():
    old_program, new_program, samples = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
    differences, counted = [], collections.Counter()
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for found, counts in pool.map(lambda it: compare_list(old_program, new_program, samples, it), command_lists()):
            differences += found
            counted += counts
    rounded = [it for it in differences if it[-1] is not None and it[-1] < 1e-9]
    others = [it for it in differences if it not in rounded]
    by_kind, rounded_by_kind = (collections.Counter(kind for kind, *_ in them) for them in (others, rounded))
    for kind, number in sorted(counted.items()):
        print(f"{kind:20} {number:6} outputs, {rounded_by_kind[kind]:5} differ in last digits, {by_kind[kind]:5} otherwise")
    for kind, command, name, what, _ in others:
        print(f"\n{kind}: burstloom {command}\n  {name}: {what}")
    largest = max((it[-1] for it in rounded), default=0)
    print(f"\n{sum(counted.values())} outputs: {len(others)} differ, and {len(rounded)} in last digits of numbers only "
          f"(by {largest:.1e} of the number at most)")
    return 1 if others else 0


if __name__ == "__main__":
    sys.exit(main())
