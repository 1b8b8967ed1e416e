#!/usr/bin/env python3
"""Wrong uses and their answers: wrong_uses.py BURSTLOOM PROJECT [--rewrite]

wrong_uses.txt beside this script holds them, to be read by a person: under a heading ('#') the shell's lines ('$'),
then the exit code and what was told. Each runs in a fresh folder that holds a song, a recording, two coils, a stream,
an arrangement and a set. --rewrite writes the answers that the program gives now.
"""
import os, pathlib, re, shutil, subprocess, sys, tempfile

FEWEST = 60
LONGEST = 260  # characters: two lines and a bit of a terminal
NOBODY = 65534
ARRANGEMENT = '[[channel]]\nchannel = 1\nrole = "lead"\n\n[drums]\n42 = "off"\n'
SET = ('name = "Evening"\ncoil = "coil.toml"\n\n[[song]]\nfile = "song.mid"\npause_s = 60\n\n'
       '[[song]]\nfile = "song.mid"\n')


def make_template(folder, burstloom, project):
    samples = project / "audio-samples"
    shutil.copy(samples / "quayside-lanterns.mid", folder / "song.mid")
    shutil.copy(samples / "ferry-call.flac", folder / "tune.flac")
    shutil.copy(samples / "coils/bench-36v.toml", folder / "coil.toml")
    shutil.copy(samples / "coils/half-bridge-325v.toml", folder / "big.toml")
    (folder / "arrangement.toml").write_text(ARRANGEMENT)
    (folder / "evening.toml").write_text(SET)
    shutil.copy(burstloom, folder.parent / "burstloom")
    subprocess.run([burstloom, "coil", "steps", "coil.toml", "--out", "song.burst"], cwd=folder, check=True,
                   stdout=subprocess.DEVNULL)


def as_anybody():
    """Root may read what it may not: the cases run as nobody then."""
    return {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}


def open_to_nobody(folder):
    for path in [folder, *folder.rglob("*")]:
        path.chmod(0o777 if path.is_dir() else 0o666)
        if os.geteuid() == 0:
            os.chown(path, NOBODY, NOBODY)


def answer_of(lines, template, work):
    folder = work / "case"
    shutil.copytree(template, folder)
    open_to_nobody(folder)
    environment = {"PATH": f"{work}:/usr/bin:/bin", "LC_ALL": "C.UTF-8", "HOME": str(work / "case")}
    ran = subprocess.run(["bash", "-c", "\n".join(lines)], cwd=folder, env=environment, stdin=subprocess.DEVNULL,
                         capture_output=True, text=True, timeout=120, **as_anybody())
    folder.chmod(0o777)
    shutil.rmtree(folder)
    return [f"exit {ran.returncode}"] + (ran.stdout + ran.stderr).splitlines()


def cases_in(text):
    """(heading, shell's lines, answer) of each paragraph."""
    for paragraph in re.split(r"\n\n+", text.strip()):
        lines = paragraph.split("\n")
        heading = [line for line in lines if line.startswith("#")]
        commands = [line[2:] for line in lines if line.startswith("$ ")]
        if commands:
            yield heading, commands, lines[len(heading) + len(commands):]


def faults_of(answer):
    """What no answer may be, whatever the golden text says."""
    told = answer[1:]
    if answer[0] not in ("exit 2", "exit 3", "exit 4"):
        yield "the exit code is none of a wrong use"
    if len(told) != 1 or not told[0].startswith("burstloom: "):
        yield "not one sentence"
    if any(len(line) > LONGEST for line in told):
        yield f"longer than {LONGEST} characters"
    if any(re.search(r"; (raise|widen|increase)\b", line) for line in told):
        yield "its first advice is to raise a limit"
    if any(re.search(r"\d\.\d{7}", line) for line in told):
        yield "a figure with more digits than anybody measures"


def main():
    burstloom, project = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    rewrite = "--rewrite" in sys.argv[3:]
    golden = pathlib.Path(__file__).resolve().with_suffix(".txt")
    text = golden.read_text(encoding="utf-8")
    opening = text.split("\n\n")[0]
    failures, written, count = [], [opening], 0
    with tempfile.TemporaryDirectory() as name:
        work = pathlib.Path(name)
        work.chmod(0o755)
        template = work / "template"
        template.mkdir()
        make_template(template, burstloom, project)
        for heading, commands, wanted in cases_in(text):
            count += 1
            answer = answer_of(commands, template, work)
            written.append("\n".join(heading + ["$ " + line for line in commands] + answer))
            failures += [f"{heading[0]}\n  {fault}: {answer}" for fault in faults_of(answer)]
            if not rewrite and answer != wanted:
                failures.append("\n  ".join([heading[0], "wanted:", *wanted, "answered:", *answer]))
    if rewrite:
        golden.write_text("\n\n".join(written) + "\n", encoding="utf-8")
    print("\n".join(failures))
    print(f"{count} wrong uses, {len(failures)} failures")
    sys.exit(1 if failures or count < FEWEST else 0)


if __name__ == "__main__":
    main()
