#!/usr/bin/env python3
"""Each file that is written is the old one or the new one, whole, whichever call to the system fails:
writes_that_fail.py BURSTLOOM PROJECT FAILING_CALLS.so

Every command that writes is run again and again: the disk is full from its first, second, ... call on, that call alone is
broken, the program is killed at it. A table at the end says how often, and how each ended.
"""
import pathlib, random, shutil, sys, tempfile
from commands import COMMANDS, NEW_ONLY, ONE_BY_ONE, environment, files_below, is_sentence, make_inputs, run

OLD = b"what was there before\n"
FEW = 16  # of commands with more calls than this, each fault is tried at so many of them, drawn by its name, and the last ones
failures = []


def fail(what):
    failures.append(what)
    print("writes_that_fail:", what)


class Bench:
    """A command with its inputs in a folder of its own; what it writes when nothing fails is known."""

    def __init__(self, burstloom, inputs, command, shim, work):
        self.words, self.command, self.shim = [burstloom, *command.words], command, shim
        self.inputs, self.work, self.mark = inputs, work, work.parent / "mark"
        self.lay_out(old=True)
        before = files_below(work)
        done = run(self.words, work)
        if done.returncode != 0:
            fail(f"{command.name} fails by itself: {done.stderr.decode()}")
        self.new = files_below(work)
        self.old = before
        self.made_anew = {path for path in self.new if self.new[path] != self.old.get(path)}

    def lay_out(self, old):
        shutil.rmtree(self.work, ignore_errors=True)
        shutil.copytree(self.inputs, self.work)
        written = [*self.command.files, *(f"{self.command.folder}/{path}" for path in self.command.before)]
        for path in written:
            if old and path not in NEW_ONLY:
                (self.work / path).parent.mkdir(parents=True, exist_ok=True)
                (self.work / path).write_bytes(OLD)

    def run(self, how, at):
        self.mark.unlink(missing_ok=True)
        done = run(self.words, self.work,
                   env=environment(LD_PRELOAD=self.shim, FAULT_HOW=how, FAULT_AT=str(at), FAULT_MARK=str(self.mark)))
        return done, self.mark.exists()

    def after(self, done, how, at):
        where, there = f"{self.command.name}, {how} at call {at}", files_below(self.work)
        for path, content in there.items():
            if how == "killed" and ".part" in path:
                continue
            if path not in self.new and path not in self.old:
                fail(f"{where}: {path} is left behind")
            elif content not in (self.new.get(path), self.old.get(path)) and path != "evening/.burstloom/made.json":
                fail(f"{where}: {path} is half-written ({len(content)} bytes)")
        for path in self.old.keys() - there.keys():
            fail(f"{where}: {path} is lost")
        if how == "killed":
            if done.returncode != -9:
                fail(f"{where}: it was not killed, {done.returncode}")
            if self.command.folder and not self.command.before and self.command.name not in ONE_BY_ONE:
                placed = {path: content for path, content in there.items() if ".part" not in path}
                if placed not in (self.old, self.new):
                    fail(f"{where}: a part of a new folder is there")
            if run(self.words, self.work).returncode != 0:
                fail(f"{where}: the next run does not work")
            there = {path: content for path, content in files_below(self.work).items() if ".part" not in path}
        elif done.returncode == 0:
            fail(f"{where}: the fault is not told: {done.stdout[-200:]!r}")
        elif done.returncode != 4 or not is_sentence(done.stderr):
            fail(f"{where}: exit code {done.returncode}, {done.stderr!r}")
        if how == "killed" or done.returncode == 0:
            if there != self.new:
                fail(f"{where}: it says that it is done and has not written " +
                     str([path for path in self.new if there.get(path) != self.new[path]]))
        elif there != self.old and not self.may_be_mixed(done.stderr, how):
            fail(f"{where}: it failed and something is new: {done.stderr!r}")

    def may_be_mixed(self, said, how):
        """Where nothing can be renamed any more, the old files cannot be put back either; and that is told."""
        return self.command.name in ONE_BY_ONE or how == "full" and b"some are new and others old" in said

    def calls(self):
        """How many calls there are to fail at when none does."""
        self.lay_out(old=True)
        self.run("full", 0)
        return self.mark.stat().st_size

    def places(self, calls):
        if calls <= FEW:
            return range(1, calls + 1)
        drawn = random.Random(self.command.name).sample(range(1, calls + 1), FEW)
        return sorted({*drawn, *range(calls - 4, calls + 1)})  # headers are written again at the end

    def sweep(self, calls):
        tried = {}
        for how in ("full", "broken", "killed"):
            tried[how] = 0
            for at in self.places(calls):
                self.lay_out(old=True)
                done, met = self.run(how, at)
                if met:
                    tried[how] += 1
                    self.after(done, how, at)
        return tried

    def in_small_pieces(self):
        self.lay_out(old=False)
        done = run(self.words, self.work, env=environment(LD_PRELOAD=self.shim, FAULT_HOW="short"))
        if done.returncode != 0 or files_below(self.work) != self.new:
            fail(f"{self.command.name}: other answers when a byte is read and written at a time: {done.stderr!r}")


def main():
    burstloom, project, shim = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:4])
    wanted = sys.argv[4:]
    with tempfile.TemporaryDirectory() as folder:
        inputs, work = pathlib.Path(folder) / "inputs", pathlib.Path(folder) / "work"
        inputs.mkdir()
        make_inputs(burstloom, project, inputs)
        print(f"{'command':24} {'calls':>5} {'full':>5} {'broken':>7} {'killed':>7}  times")
        for command in COMMANDS:
            if wanted and command.name not in wanted:
                continue
            bench = Bench(burstloom, inputs, command, shim, work)
            calls = bench.calls()
            tried = bench.sweep(calls)
            bench.in_small_pieces()
            print(f"{command.name:24} {calls:5} {tried['full']:5} {tried['broken']:7} {tried['killed']:7}")
            if min(tried.values()) < 4 * max(1, len(command.files)):
                fail(f"{command.name}: hardly any call was met; this tests nothing")
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
