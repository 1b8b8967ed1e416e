#!/usr/bin/env bash
# What stands on a terminal and what does not when it is piped: terminal.sh BURSTLOOM PROJECT
set -euo pipefail
burstloom=$1 project=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
stream="$work/song.burst"
song="$project/audio-samples/quayside-lanterns.mid" coil="$project/audio-samples/coils/bench-36v.toml"
on_terminal() { LC_ALL="$1" script -qec "\"$burstloom\" check \"$stream\"" /dev/null </dev/null; }
must() { grep -q "$1" <<<"$2" || { echo "missing: $1"; echo "$2"; exit 1; }; }
must_not() { ! grep -q "$1" <<<"$2" || { echo "should not be there: $1"; echo "$2"; exit 1; }; }

woven=$(LC_ALL=C.UTF-8 script -qec "\"$burstloom\" weave \"$song\" --coil \"$coil\" --out \"$stream\"" /dev/null </dev/null)
must 'duty 1000 ms  [▁▂▃▄▅▆▇█ ]\{60\}  0 to 7 %' "$woven"
blocks=$(on_terminal C.UTF-8)
must 'duty 1000 ms  [▁▂▃▄▅▆▇█ ]\{60\}  0 to 7 %' "$blocks"
must 'heatsink  ' "$blocks"
must 'duty 1000 ms  [_.:=+*# -]\{60\}  0 to 7 %' "$(on_terminal C)"

piped=$(LC_ALL=C.UTF-8 "$burstloom" check "$stream" 2>&1)
must_not '[▁▂▃▄▅▆▇█]' "$piped"
must_not $'\x1b' "$piped"
must 'within limits' "$piped"
