"""The page on a terminal while playing live, its keys, and the terminal as it was afterwards, also after a crash:
terminal.py BURSTLOOM PROJECT. Needs a JACK server (with_jack_server.sh)."""
import os
import pty
import re
import select
import signal
import sys
import termios
import time

burstloom, project = sys.argv[1:3]
coil = project + "/audio-samples/coils/bench-36v.toml"


class Live:
    def __init__(self, name):
        self.process, self.terminal = pty.fork()
        if self.process == 0:
            os.execv(burstloom, [burstloom, "live", "--coil", coil, "--virtual", name, "--to", name + ".burst"])
        self.seen = ""
        self.before = termios.tcgetattr(self.terminal)

    def read(self, seconds):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if select.select([self.terminal], [], [], 0.05)[0]:
                try:
                    self.seen += os.read(self.terminal, 65536).decode(errors="replace")
                except OSError:
                    return

    def until(self, pattern, seconds=20):
        end = time.monotonic() + seconds
        while not re.search(pattern, self.seen):
            assert time.monotonic() < end, f"no {pattern!r} in {self.seen[-2000:]!r}"
            self.read(0.1)

    def press(self, key, pattern):
        self.seen = ""
        os.write(self.terminal, key)
        self.until(pattern)

    def end(self):
        after = termios.tcgetattr(self.terminal)
        self.read(1)
        code = os.waitpid(self.process, 0)[1]
        return code, after


live = Live("by-key")
live.until("step 0 of 10")
page = live.seen[live.seen.rindex("\x1b[H"):]
lines = re.sub(r"\x1b\[[?0-9]*[A-Za-z]", "", page).split("\n")
assert len(lines) <= 25 and all(len(line.rstrip("\r")) <= 79 for line in lines), lines
live.press(b"+", "step 1 of 10")
live.press(b"+", "step 2 of 10")
live.press(b"-", "step 1 of 10")
live.press(b" ", "SILENT")
live.press(b" ", r"\"  \x1b\[K")
live.press(b"q", re.escape("\x1b[?1049l"))
live.until("written: by-key.burst, by-key.mid")
code, after = live.end()
assert code == 0, code
assert after == live.before, "the terminal is as it was"
assert os.path.exists("by-key.burst") and os.path.exists("by-key.mid")

live = Live("by-crash")
live.until("step 0 of 10")
live.seen = ""
os.kill(live.process, signal.SIGSEGV)
live.until(re.escape("\x1b[?25h\x1b[?1049l"))
code, after = live.end()
assert os.WIFSIGNALED(code), code
assert after == live.before, "the terminal is as it was, after a crash too"
print("page, keys, and the terminal as it was")
