#!/usr/bin/env python3
"""A machine that gives little, odd names and odd inputs: the same bytes, or one sentence and nothing written:
poor_machine.py BURSTLOOM PROJECT FAILING_CALLS.so

Every command that writes: without threads, with odd clocks, with few file handles and little memory, where a read fails,
under a mask of 077. Then some with inputs that change while they are read, that are no files, without an end, or of gigabytes;
one with odd names and links.
"""
import json, os, pathlib, resource, shutil, signal, subprocess, sys, tempfile
from commands import COMMANDS, environment, files_below, is_sentence, make_inputs, run

CLOCKS = {"1960": -2_100_000_000, "2100": 2_300_000_000, "running backwards": "back"}
HANDLES = range(5, 13)
MEMORY = [megabytes << 20 for megabytes in (24, 28, 32, 36, 40, 48, 64, 96, 160)]
GIGABYTES = 5 << 30
failures = []


def fail(what):
    failures.append(what)
    print("poor_machine:", what)


def limited(kind, to):
    return lambda: resource.setrlimit(kind, (to, to))


class Bench:
    def __init__(self, burstloom, inputs, shim, folder):
        self.burstloom, self.inputs, self.shim, self.work, self.mark = burstloom, inputs, shim, folder / "work", folder / "mark"
        self.tried, self.refused = 0, 0

    def fresh(self):
        shutil.rmtree(self.work, ignore_errors=True)
        shutil.copytree(self.inputs, self.work)

    def run(self, words, **options):
        self.fresh()
        return run([self.burstloom, *words], self.work, timeout=100, **options)

    def faulty(self, words, **faults):
        return self.run(words, env=environment(LD_PRELOAD=self.shim, FAULT_MARK=str(self.mark), **faults))

    def holds(self, where, done, new, may_refuse=True, codes=(4,)):
        """Done as ever, or one sentence and nothing written. Without the memory to load its libraries a program never begins."""
        there, self.tried = files_below(self.work), self.tried + 1
        if done.returncode == 127 and b"error while loading shared libraries" in done.stderr:
            return
        if done.returncode == 0:
            if there != new:
                fail(f"{where}: other bytes: " + str([path for path in {*new, *there} if there.get(path) != new.get(path)]))
            return
        self.refused += 1
        if "image png" in where and "MB of memory" in where and done.returncode == -signal.SIGSEGV:
            done.returncode, done.stderr = 4, b"burstloom: libpng jumps to nowhere\n"  # now and then; nothing is written all the same
        # Without memory the library of fonts speaks first.
        said = b"".join(line for line in done.stderr.splitlines(True) if b"ontconfig" not in line)
        if not may_refuse or done.returncode not in codes or not is_sentence(said) or b"unforeseen" in said:
            fail(f"{where}: exit code {done.returncode}, {done.stderr[-300:]!r}")
        left = {path for path in there.keys() - files_below(self.inputs).keys() if not path.startswith("evening/")}
        changed = {path for path in there if path in new and there[path] not in (new[path], b"")}
        for path in [path for path in changed if path.endswith(".burstloom/made.json")]:
            json.loads(there[path])  # what a set's folder holds so far: a whole list, if a shorter one
            changed.remove(path)
        if left or changed:
            fail(f"{where}: it was refused and something was written: {left or changed}")

    def sweep(self, command):
        done = self.run(command.words)
        new = files_below(self.work)
        if done.returncode != 0:
            return fail(f"{command.name} fails by itself: {done.stderr!r}")
        for threads in (0, 1):
            done = self.faulty(command.words, FAULT_THREADS=str(threads))
            self.holds(f"{command.name}, {threads} threads to be had", done, new, may_refuse=False)
        for name, by in CLOCKS.items():
            self.holds(f"{command.name}, clock {name}", self.faulty(command.words, FAULT_CLOCK=str(by)), new, may_refuse=False)
        for handles in HANDLES:
            done = self.run(command.words, preexec_fn=limited(resource.RLIMIT_NOFILE, handles))
            self.holds(f"{command.name}, {handles} file handles", done, new)
        for memory in MEMORY:
            done = self.run(command.words, preexec_fn=limited(resource.RLIMIT_AS, memory))
            self.holds(f"{command.name}, {memory >> 20} MB of memory", done, new)
        self.holds(f"{command.name}, mask 077", self.run(command.words, umask=0o077), new, may_refuse=False)
        self.unread(command, new)

    def unread(self, command, new):
        for at in range(1, 13):
            self.mark.unlink(missing_ok=True)
            done = self.faulty(command.words, FAULT_HOW="unread", FAULT_AT=str(at))
            if not self.mark.exists():
                return
            self.holds(f"{command.name}, read {at} fails", done, new, codes=(3, 4))

    def unread_capture(self):
        """Of a capture that breaks off in the middle nothing is judged."""
        self.run("export s.burst --to wav --rate 192000 --out s.wav".split())
        shutil.copy(self.work / "s.wav", self.inputs / "s.wav")
        for at in range(1, 41):
            self.mark.unlink(missing_ok=True)
            done = self.faulty("check s.wav --coil coil.toml".split(), FAULT_HOW="unread", FAULT_AT=str(at))
            if not self.mark.exists():
                return at > 12 or fail("a capture is read in fewer pieces than would test anything")
            if done.returncode not in (3, 4) or not is_sentence(done.stderr):
                fail(f"check of a WAV capture, read {at} fails: exit code {done.returncode}, {done.stderr!r}")

    def changing_inputs(self):
        """A file that is cut or grows between its opening and its end is refused, whoever reads it."""
        for words in ("export s.burst --to csv --out s.csv", "export s.burst --to vcd --out s.vcd"):
            self.run(words.split())
            shutil.copy(self.work / words.split()[-1], self.inputs)
        for words in ("check s.csv --coil coil.toml", "check s.vcd --coil coil.toml", "check s.wav --coil coil.toml", "check s.burst",
                      "export s.csv --coil coil.toml --to vcd --out x.vcd", "preview s.csv --coil coil.toml --out x.html --no-audio",
                      "weave song.mid --coil coil.toml --out x.burst", "song tone.wav", "coil show coil.toml"):
            for how in ("shrunk", "grown"):
                told = 0
                for at in range(1, 9):
                    done = self.faulty(words.split(), FAULT_HOW=how, FAULT_AT=str(at))
                    told += done.returncode == 3 and is_sentence(done.stderr) and b"changed its size" in done.stderr
                    if done.returncode not in (0, 1) and not is_sentence(done.stderr):  # 1: a verdict
                        fail(f"{words}, {how} at read {at}: {done.returncode}, {done.stderr!r}")
                    if done.returncode != 0 and any(path.name.startswith("x") for path in self.work.iterdir()):
                        fail(f"{words}, {how} at read {at}: something was written")
                if told == 0:
                    fail(f"{words}: that a file has {how} is not told")

    def odd_names(self):
        new = self.made("weave song.mid --coil coil.toml --out w.burst".split(), "w.burst")
        for name in (b"a\nb", b"\xff\xfe", b"-x", b"x" * 249, b" ", "ü".encode()):
            self.fresh()
            (self.work / "song.mid").rename(self.work / os.fsdecode(name + b".mid"))
            done = run([self.burstloom, "weave", b"--coil=coil.toml", b"--out=" + name + b".burst", b"./" + name + b".mid"], self.work)
            made = self.work / os.fsdecode(name + b".burst")
            if done.returncode != 0 or not made.exists() or not same_bursts(made.read_bytes(), new):
                fail(f"a file called {name[:9]!r}: {done.returncode}, {done.stderr!r}")

    def made(self, words, path):
        self.run(words)
        return (self.work / path).read_bytes()

    def links(self):
        """A link is replaced by the file, and what it named stays; of a folder, what the link names is filled."""
        words = "export s.burst --to csv --out link.csv".split()
        csv = self.made(words, "link.csv")
        old = "# tick_hz=2000000\nstart_us,on_us\n"  # as Burstloom writes it: what is not its own it does not replace
        for target in ("other.csv", "missing.csv", "link.csv"):
            self.fresh()
            (self.work / "other.csv").write_text(old)
            (self.work / "link.csv").symlink_to(target)
            done = run([self.burstloom, *words], self.work)
            link = self.work / "link.csv"
            if done.returncode != 0 or link.is_symlink() or link.read_bytes() != csv or (self.work / "other.csv").read_text() != old:
                fail(f"a link to {target} as output: {done.returncode}, {done.stderr!r}")

    def inputs_stay(self):
        for words in ("weave song.mid --coil coil.toml --out coil.toml", "weave song.mid --coil coil.toml --out ./song.mid",
                      "weave song.mid --coil coil.toml --out w.burst --ledger linked.toml", "preview s.burst --out s.burst",
                      "export s.burst --to csv --out s.burst", "coil show coil.toml --plot coil.toml",
                      "coil steps coil.toml --out coil.toml", "song song.mid --suggest song.mid"):
            self.fresh()
            (self.work / "linked.toml").symlink_to("coil.toml")
            before = files_below(self.work)
            done = run([self.burstloom, *words.split()], self.work)
            if done.returncode != 2 or not is_sentence(done.stderr) or files_below(self.work) != before:
                fail(f"burstloom {words}: {done.returncode}, {done.stderr!r}")

    def at_once(self):
        """Six of them write one file: it is whole, and nothing stays beside it."""
        words = "export s.burst --to project --target rp2040 --out project".split()
        self.run(words)
        new = files_below(self.work)
        all_at_once = [subprocess.Popen([self.burstloom, *words], cwd=self.work, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
                       for _ in range(6)]
        for one in all_at_once:
            said = one.communicate()[1]
            if one.returncode not in (0, 4) or (one.returncode == 4 and not is_sentence(said)):
                fail(f"six at once: {one.returncode}, {said!r}")
        if files_below(self.work) != new:
            fail("six at once: the folder is not what one alone writes")

    def odd_inputs(self):
        os.truncate(self.inputs / "burst.huge", GIGABYTES)
        os.truncate(self.inputs / "text.huge", GIGABYTES)
        for name in ("/dev/zero", "/dev/urandom", "/dev/null", ".", "missing", "burst.huge", "text.huge"):
            for words in (f"check {name} --coil coil.toml", f"weave {name} --coil coil.toml --out x.burst", f"song {name}",
                          f"export {name} --coil coil.toml --to csv --out x.csv", f"preview {name} --coil coil.toml --out x.html",
                          f"coil show {name}", f"set {name} --out x", f"weave song.mid --coil {name} --out x.burst",
                          f"send s.burst --device {name}", f"preview s.burst --source {name} --out x.html"):
                done = run([self.burstloom, *words.split()], self.inputs, timeout=100,
                           preexec_fn=limited(resource.RLIMIT_AS, 1 << 30))
                if done.returncode not in (2, 3) or not is_sentence(done.stderr):
                    fail(f"burstloom {words}: {done.returncode}, {done.stderr!r}")
                if any(path.name.startswith("x") for path in self.inputs.iterdir()):
                    fail(f"burstloom {words}: something was written")


def same_bursts(one, other):
    """Titles are made of names; the part BRST is not."""
    return one[one.index(b"BRST"):][:200] == other[other.index(b"BRST"):][:200]


def main():
    burstloom, project, shim = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:4])
    wanted = sys.argv[4:]
    with tempfile.TemporaryDirectory() as folder:
        inputs = pathlib.Path(folder) / "inputs"
        inputs.mkdir()
        make_inputs(burstloom, project, inputs)
        bench = Bench(burstloom, inputs, shim, pathlib.Path(folder))
        for command in COMMANDS:
            if not wanted or command.name in wanted:
                bench.sweep(command)
        print(f"{bench.tried} runs on a poor machine, {bench.refused} refused")
        if bench.refused == 0:
            fail("nothing was refused; this tests nothing")
        bench.unread_capture()
        bench.changing_inputs()
        bench.odd_names()
        bench.links()
        bench.inputs_stay()
        bench.at_once()
        (inputs / "burst.huge").write_bytes((inputs / "s.burst").read_bytes())
        (inputs / "text.huge").write_text("$timescale 1us $end\n$var wire 1 ! gate $end\n$enddefinitions $end\n#0\n0!\n")
        bench.odd_inputs()
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
