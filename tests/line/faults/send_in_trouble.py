#!/usr/bin/env python3
"""`send` to the player that chips run, and something fails in mid-song: the pin is low within 100 ms, the person is told in one
sentence, and what only looks like trouble ends no song: send_in_trouble.py BURSTLOOM PROJECT FAILING_CALLS.so PLAYER_ON_LINE

The player's time passes at a quarter of real time, so that a busy machine that keeps the program waiting is no lost link.
"""
import concurrent.futures, os, pathlib, pty, re, select, signal, subprocess, sys, tempfile, time
from commands import environment, is_sentence, make_inputs, midi, run

PACE = 0.25
SILENT_WITHIN_MS = 100
AT_ONCE = 4
failures = []


class Player:
    """`player_on_line`: tells its time, and in the end what its pin has made."""

    def __init__(self, program):
        self.process = subprocess.Popen([program, str(PACE)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.device = self.process.stdout.readline().strip()

    def now_ms(self):
        self.process.stdin.write("\n")
        self.process.stdin.flush()
        return float(self.process.stdout.readline())

    def end(self):
        self.process.stdin.close()
        made, last_ms = self.process.stdout.readline().split()
        self.process.wait()
        return int(made), float(last_ms)


class Terminal:
    """What `send` says on, read all the time; `close` is what a person does to the window."""

    def __init__(self):
        self.ours, self.its = pty.openpty()
        self.said = b""

    def read(self):
        try:
            while self.ours is not None and select.select([self.ours], [], [], 0)[0]:
                self.said += os.read(self.ours, 65536)
        except OSError:  # nobody has it open any more
            pass
        return self.said

    def close(self):
        os.close(self.ours)
        self.ours = None


class Sending:
    """One `send`, and the player it sends to."""

    def __init__(self, bench, name, song="long.burst", terminal=None, faults=None, **options):
        self.name, self.player, self.terminal, self.bursts = name, Player(bench.player), terminal, bench.bursts[song]
        self.mark, self.said = bench.folder / (name + ".mark"), bench.folder / (name + ".said")
        env = environment(LD_PRELOAD=bench.shim, FAULT_MARK=str(self.mark), **faults) if faults else None
        with open(self.said, "wb") as said:
            options = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": said, **options}
            if terminal:
                options |= {"stdin": terminal.its, "stdout": terminal.its, "stderr": terminal.its, "start_new_session": True,
                            "preexec_fn": lambda: os.close(os.open(os.ttyname(0), os.O_RDWR))}  # becomes its terminal
            self.process = subprocess.Popen([bench.burstloom, "send", song, "--device", self.player.device], cwd=bench.folder,
                                            env=env, **options)
        if terminal:
            os.close(terminal.its)

    def fail(self, what):
        failures.append(f"{self.name}: {what}; it said {self.words()!r}")

    def words(self):
        return self.terminal.read() if self.terminal else self.said.read_bytes()

    def until(self, has_come, most_s=20):
        end = time.monotonic() + most_s
        while not has_come() and time.monotonic() < end:
            time.sleep(0.005)
        return has_come() or self.fail("what should come does not come")

    def until_mid_song(self):
        self.until(lambda: re.search(rb"playing|\d of \d", self.words()))
        time.sleep(1)

    def is_over(self):
        self.words()  # a terminal that nobody reads is full one day
        return self.process.poll() is not None

    def code(self):
        self.until(self.is_over)
        return self.process.poll()

    def require_silence(self, trouble_ms):
        time.sleep(2 * SILENT_WITHIN_MS / 1000 / PACE)
        made, last_ms = self.player.end()
        if not 10 <= made < self.bursts:
            self.fail(f"it was not in mid-song: {made} bursts of {self.bursts}")
        if last_ms > trouble_ms + SILENT_WITHIN_MS:
            self.fail(f"the pin was still busy {last_ms - trouble_ms:.0f} ms later")

    def require_told(self, code, words):
        sentence = b"burstloom: " + self.words().replace(b"\r\n", b"\n").rpartition(b"burstloom: ")[2]
        if self.process.poll() != code or not is_sentence(sentence) or words not in sentence:
            self.fail(f"exit code {self.process.poll()}")

    def require_whole(self, code):
        """The song was played to its end, `code` tells how the program fared."""
        if self.code() != code:
            self.fail(f"exit code {self.process.poll()}")
        made = self.player.end()[0]
        if made != self.bursts:
            self.fail(f"{made} bursts of {self.bursts}")


class Bench:
    def __init__(self, burstloom, project, shim, player, folder):
        self.burstloom, self.shim, self.player, self.folder = burstloom, shim, player, folder
        make_inputs(burstloom, project, folder)
        # The player's limits are compiled in: 50 us of on-time, 100 us of gap.
        coil = (folder / "coil.toml").read_text()
        for old, new in (("max = 40.0 }", "max = 50.5 }"), ("gap_us = 120.0", "gap_us = 99.5"),
                         ("clock_tolerance_percent = 0.5", "clock_tolerance_percent = 0.0")):
            assert old in coil, old
            coil = coil.replace(old, new)
        (folder / "coil.toml").write_text(coil)
        self.bursts = {song: self.woven(song, notes) for song, notes in (("short.burst", 4), ("long.burst", 60))}

    def woven(self, song, notes):
        """Weaves it; how many bursts it has."""
        (self.folder / "notes.mid").write_bytes(midi([60, 64, 67, 72] * (notes // 4)))
        run([self.burstloom, "weave", "notes.mid", "--coil", "coil.toml", "--out", song], self.folder, check=True)
        csv = run([self.burstloom, "export", song, "--to", "csv", "--out", "/dev/stdout"], self.folder, check=True).stdout
        return sum(line[:1].isdigit() for line in csv.decode().splitlines())

    def signalled(self, number, words):
        it = Sending(self, number.name)
        it.until_mid_song()
        it.process.send_signal(number)
        trouble_ms = it.player.now_ms()
        it.code()
        it.require_silence(trouble_ms)
        if words:
            it.require_told(4, words)

    def halted(self):
        """Halted and let go on, as by Ctrl-Z and fg: the player has given up meanwhile, and so does the program."""
        it = Sending(self, "halted")
        it.until_mid_song()
        it.process.send_signal(signal.SIGSTOP)
        trouble_ms = it.player.now_ms()
        time.sleep(2 * SILENT_WITHIN_MS / 1000 / PACE)
        it.process.send_signal(signal.SIGCONT)
        it.code()
        it.require_silence(trouble_ms)
        it.require_told(4, b"heard nothing for 80 ms")

    def line_breaks(self):
        it = Sending(self, "line breaks", faults={"FAULT_HOW": "line", "FAULT_AT": "150"})
        it.until_mid_song()
        it.until(it.mark.exists)
        trouble_ms = it.player.now_ms()
        it.code()
        it.require_silence(trouble_ms)
        it.require_told(4, b"the device has gone")

    def terminal_goes(self):
        it = Sending(self, "terminal goes", terminal=Terminal())
        it.until_mid_song()
        it.terminal.close()
        trouble_ms = it.player.now_ms()
        if it.code() != 4:
            it.fail(f"exit code {it.code()}")
        it.require_silence(trouble_ms)

    def terminal_is_held(self):
        """Ctrl-S: a terminal that takes nothing does not keep the player waiting."""
        it = Sending(self, "terminal is held", song="short.burst", terminal=Terminal())
        it.until(lambda: re.search(rb"\d of \d", it.words()))
        os.write(it.terminal.ours, b"\x13")
        time.sleep(2 / PACE)
        os.write(it.terminal.ours, b"\x11")
        it.require_whole(0)

    def whole(self, name, code, words=None, **options):
        it = Sending(self, name, song="short.burst", **options)
        it.require_whole(code)
        if words:
            it.require_told(code, words)

    def all(self):
        with open("/dev/full", "w") as full, concurrent.futures.ThreadPoolExecutor(AT_ONCE) as pool:
            lost = b"the answer could not be written"
            tried = [pool.submit(self.signalled, *one) for one in
                     ((signal.SIGINT, b"stopped by hand"), (signal.SIGTERM, b"stopped by hand"),
                      (signal.SIGHUP, b"stopped by hand"), (signal.SIGKILL, None), (signal.SIGPIPE, None))]
            tried += [pool.submit(one) for one in (self.halted, self.line_breaks, self.terminal_goes, self.terminal_is_held)]
            tried += [pool.submit(self.whole, "standard output full", 4, lost, stdout=full),
                      pool.submit(self.whole, "standard error full", 0, stderr=full),
                      pool.submit(self.whole, "standard output closed", 4, lost, preexec_fn=lambda: os.close(1)),
                      pool.submit(self.whole, "a byte a read and a write", 0, faults={"FAULT_HOW": "short"}),
                      pool.submit(self.whole, "a clock that jumps", 0, faults={"FAULT_CLOCK": "jumping"})]
            for one in tried:
                one.result()
            return len(tried)


def main():
    burstloom, project, shim, player = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:5])
    with tempfile.TemporaryDirectory() as folder:
        tried = Bench(burstloom, project, shim, player, pathlib.Path(folder)).all()
    for failure in failures:
        print("send_in_trouble:", failure)
    print(f"{tried} troubles, {len(failures)} of them ended badly")
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
