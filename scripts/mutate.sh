#!/usr/bin/env bash
# How much the tests of a room notice: mutate.sh ROOM N [SEED] changes one line of src/ROOM at a time, N times, and runs the
# room's own tests on each. Works on a copy in build/mutate/ROOM, never on this tree. See mutate.py.
set -euo pipefail
[[ $# -ge 2 ]] || { echo "usage: mutate.sh ROOM N [SEED]" >&2; exit 2; }
root=$(cd "$(dirname "$0")/.." && pwd)
exec nice python3 -B "$root/scripts/mutate.py" "$root" "$@"
