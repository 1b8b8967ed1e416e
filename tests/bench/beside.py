#!/usr/bin/env python3
"""Whole commands beside general-purpose programs, in one run: beside.py BUILD_FOLDER [PART...]

Prints Markdown for docs/reference/performance.md. Processor seconds (user and system) of the least disturbed of several runs, in
turns; what counts is the ratio. Parts: start, song, listening, growth, hour. Wants fluidsynth and aubionotes (Debian:
fluidsynth, timgm6mb-soundfont, aubio-tools).
"""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
BUILD = pathlib.Path(sys.argv[1]).resolve()
BURSTLOOM = str(BUILD / "burstloom")
BENCH = BUILD / "tests/bench"
SOUNDFONT = "/usr/share/sounds/sf2/TimGM6mb.sf2"
COIL = str(ROOT / "audio-samples/coils/bench-36v.toml")


def taken(*command):
    """Processor seconds and peak megabytes of one run; ends the whole run where the command fails."""
    child = subprocess.Popen([str(word) for word in command], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        sys.exit(f"beside.py: {' '.join(map(str, command))} ended with {child.returncode}")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def least(commands, runs=5):
    """{name: [command, ...]} in turns, so that all meet the same machine: {name: (seconds, megabytes)}."""
    best = {}
    for _ in range(runs):
        for name, command in commands.items():
            seconds, peak = taken(*command)
            before = best.get(name, (float("inf"), 0))
            best[name] = (min(seconds, before[0]), max(peak, before[1]))
    return best


def rows(title, table):
    print(f"\n### {title}\n")
    for i, row in enumerate(table):
        print("| " + " | ".join(row) + " |")
        if i == 0:
            print("|" + "---|" * len(row))
    sys.stdout.flush()


def ms(seconds):
    return f"{1e3 * seconds:.1f} ms"


def song_of(folder, seconds, channels):
    path = folder / f"{seconds}s-{channels}.mid"
    taken(BENCH / "bench_midi", "--song", path, seconds, channels)
    return path


def start(_):
    best = least({"nothing": ["/bin/true"], "--help": [BURSTLOOM, "--help"], "--version": [BURSTLOOM, "--version"]}, 30)
    rows("Starting", [["command", "processor time", "aim"],
                      ["a program that does nothing", ms(best["nothing"][0]), ""],
                      ["`burstloom --help`", ms(best["--help"][0]), "10 ms"],
                      ["`burstloom --version`", ms(best["--version"][0]), ""]])


def song(folder):
    midi, burst, wav = song_of(folder, 240, 16), folder / "song.burst", folder / "song.wav"
    taken(BURSTLOOM, "weave", midi, "--coil", COIL, "--out", burst)
    best = least({
        "weave": [BURSTLOOM, "weave", midi, "--coil", COIL, "--out", burst],
        "causal": [BURSTLOOM, "weave", midi, "--coil", COIL, "--causal", "--out", folder / "causal.burst"],
        "check": [BURSTLOOM, "check", burst],
        "header": [BURSTLOOM, "export", burst, "--to", "header", "--target", "rp2040", "--out", folder / "song.h"],
        "report": [BURSTLOOM, "preview", burst, "--no-audio", "--out", folder / "song.html"],
        "fluidsynth": ["fluidsynth", "-ni", "-r", "44100", "-F", wav, SOUNDFONT, midi]}, 3)
    reference = best["fluidsynth"][0]
    whole = sum(best[name][0] for name in ("weave", "check", "header"))
    described = {"weave": "`weave` (placed, judged, written)", "causal": "`weave --causal`",
                 "check": "`check` (heat, supply, repeat)", "header": "`export --to header`",
                 "report": "`preview --no-audio --out`", "fluidsynth": "FluidSynth renders the same file"}
    table = [["240 s, 16 channels", "processor time", "FluidSynth takes", "aim"]]
    for name, words in described.items():
        table.append([words, ms(best[name][0]), f"{reference / best[name][0]:.0f} times as long", ""])
    table.append(["weave + check + header, three commands", ms(whole), f"{reference / whole:.0f} times as long",
                  "30 ms, 100 times"])
    rows("A song of four minutes and 16 channels", table)


def listening(folder):
    recording = folder / "recording.wav"
    taken("fluidsynth", "-ni", "-r", "44100", "-O", "s16", "-T", "wav", "-F", recording, SOUNDFONT,
          ROOT / "audio-samples/quayside-lanterns.mid")
    import wave
    with wave.open(str(recording)) as sound:
        seconds = sound.getnframes() / sound.getframerate()
    best = least({
        "listen": [BURSTLOOM, "song", recording, "--score", folder / "heard.mid"],
        "least": [BENCH / "decode_and_stft", recording],
        "aubionotes": ["aubionotes", "-i", recording]}, 3)
    floor = best["least"][0]
    table = [[f"{seconds:.0f} s of stereo", "s a second of sound", "against decode + STFT", "aim"]]
    for name, words, aim in [("listen", "`song --score` (notes found)", "3 times; at most 0.01; faster than aubionotes"),
                             ("least", "decode + one KissFFT STFT", ""), ("aubionotes", "aubionotes", "")]:
        table.append([words, f"{best[name][0] / seconds:.4f}", f"{best[name][0] / floor:.1f}", aim])
    rows("Listening", table)


def growth(folder):
    table = [["song", "bursts", "`weave`", "ns a burst", "peak", "`check`", "ns a burst", "peak"]]
    for seconds, channels in [(60, 4), (600, 4), (3600, 4), (36000, 4), (240, 1), (240, 2), (240, 4), (240, 8), (240, 16)]:
        midi, burst = song_of(folder, seconds, channels), folder / "growth.burst"
        best = least({"weave": [BURSTLOOM, "weave", midi, "--coil", COIL, "--voices", channels, "--out", burst],
                      "check": [BURSTLOOM, "check", burst]}, 3 if seconds < 3600 else 1)
        told = subprocess.run([BURSTLOOM, "check", burst, "--json"], capture_output=True, text=True, check=True).stdout
        import json
        bursts = json.loads(told)["burst_count"]
        row = [f"{seconds / 60:.0f} min, {channels} channels", f"{bursts:,}".replace(",", " ")]
        for name in ("weave", "check"):
            row += [ms(best[name][0]), f"{1e9 * best[name][0] / bursts:.0f}", f"{best[name][1]:.0f} MB"]
        table.append(row)
    rows("Growth with length and voices", table)


def hour(_):
    print("\n### An hour of sound\n", flush=True)
    subprocess.run([BENCH / "bench_memory", BURSTLOOM, COIL], check=True)


PARTS = {"start": start, "song": song, "listening": listening, "growth": growth, "hour": hour}
for needed in ("fluidsynth", "aubionotes"):
    if not shutil.which(needed):
        sys.exit(f"beside.py: {needed} is missing; install fluidsynth and aubio-tools")
with tempfile.TemporaryDirectory() as scratch:
    for name in sys.argv[2:] or PARTS:
        PARTS[name](pathlib.Path(scratch))
