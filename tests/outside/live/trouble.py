"""Playing live into a file, and the disk is full, the program killed, the terminal gone, the answer lost: what is recorded is
whole, and one sentence tells: trouble.py FAILING_CALLS.so BURSTLOOM PROJECT. Needs a JACK server (with_jack_server.sh)."""
import os
import pathlib
import pty
import signal
import subprocess
import sys
import time

import mido

shim, burstloom, project = sys.argv[1:4]
coil = project + "/audio-samples/coils/bench-36v.toml"
mark = pathlib.Path("mark")
mido.set_backend("mido.backends.rtmidi/UNIX_JACK")


class Live:
    """`live` into NAME.burst with a note sounding; what it says is in `said`."""

    def __init__(self, name, **options):
        self.name, self.said = name, pathlib.Path(name + ".said")
        with open(self.said, "wb") as said:
            options = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": said, **options}
            self.process = subprocess.Popen(
                [burstloom, "live", "--coil", coil, "--virtual", name, "--to", name + ".burst"], **options)
        with self.port() as port:
            time.sleep(0.5)
            port.send(mido.Message("note_on", note=48, velocity=100))
            time.sleep(1)

    def port(self):
        end = time.monotonic() + 20
        while time.monotonic() < end and self.process.poll() is None:
            try:
                return mido.open_output(next(port for port in mido.get_output_names() if self.name in port))
            except (StopIteration, OSError):  # not there yet, or a server that is busy
                time.sleep(0.05)
        raise AssertionError(f"{self.name}: no port; {self.said.read_bytes()[-500:]}")

    def end(self, code, sentence=b""):
        ended = self.process.wait(20)
        said = self.said.read_bytes()
        assert ended == code, (self.name, ended, said[-500:])
        last = said.rpartition(b"burstloom: ")[2]
        assert sentence in last and last.count(b"\n") == 1, (self.name, said[-500:])

    def require_recorded(self, least):
        checked = subprocess.run([burstloom, "check", self.name + ".burst", "--json"], capture_output=True, text=True)
        assert checked.returncode == 0, (self.name, checked)
        assert pathlib.Path(self.name + ".mid").read_bytes()[:4] == b"MThd"
        exported = subprocess.run([burstloom, "export", self.name + ".burst", "--to", "csv", "--out", "/dev/stdout"],
                                  capture_output=True, text=True)
        bursts = sum(line[:1].isdigit() for line in exported.stdout.splitlines())
        assert bursts >= least, (self.name, bursts)
        assert not list(pathlib.Path(".").glob("*.part*")), self.name


def with_faults(at):
    mark.unlink(missing_ok=True)
    return {**os.environ, "LD_PRELOAD": shim, "FAULT_HOW": "full", "FAULT_AT": str(at), "FAULT_MARK": str(mark)}


# How many calls it takes to write the empty recording, and then the whole one.
live = Live("counted", env=with_faults(0))
live.process.send_signal(signal.SIGINT)
live.process.wait(20)
calls = mark.stat().st_size
live.require_recorded(least=20)

live = Live("full", env=with_faults(calls - 4))
assert not mark.exists(), "the disk was full too early"
live.process.send_signal(signal.SIGINT)
live.end(4, b"No space left on device")
assert mark.exists()
live.require_recorded(least=0)  # what was written before

live = Live("killed")
live.process.kill()
live.process.wait()
live.require_recorded(least=0)

with open("/dev/full", "w") as full:
    live = Live("lost", stdout=full)
live.process.send_signal(signal.SIGTERM)
live.end(4, b"the answer could not be written")
live.require_recorded(least=20)

ours, its = pty.openpty()
live = Live("gone", stdin=its, stdout=its, stderr=its, start_new_session=True,
            preexec_fn=lambda: os.close(os.open(os.ttyname(0), os.O_RDWR)))  # becomes its terminal
os.close(its)
os.close(ours)
assert live.process.wait(20) == 4
live.require_recorded(least=20)
print("a full disk, a kill, a lost answer, a terminal gone")
