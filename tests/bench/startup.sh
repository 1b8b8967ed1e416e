#!/usr/bin/env bash
# How long it takes until the program has answered --help and --version (the aim: under 10 ms), beside a program that
# does nothing, in turns: startup.sh BURSTLOOM. Smallest and middle of 50 runs; the smallest is the machine's least disturbed.
set -euo pipefail
burstloom=${1:?startup.sh BURSTLOOM}
python3 - "$burstloom" <<'PYTHON'
import statistics, subprocess, sys, time
commands = {"true": ["/bin/true"], "--version": [sys.argv[1], "--version"], "--help": [sys.argv[1], "--help"],
            "weave --help": [sys.argv[1], "weave", "--help"]}
taken = {name: [] for name in commands}
for _ in range(50):
    for name, command in commands.items():
        begun = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
        taken[name].append(1e3 * (time.perf_counter() - begun))
for name, ms in taken.items():
    print(f"{name:14} {min(ms):6.2f} ms smallest  {statistics.median(ms):6.2f} ms middle")
libraries = subprocess.run(["ldd", sys.argv[1]], capture_output=True, text=True).stdout.count("=>")
print(f"{libraries} shared libraries are loaded")
PYTHON
