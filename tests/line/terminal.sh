#!/usr/bin/env bash
# What stands on a terminal and what does not when it is piped: terminal.sh BURSTLOOM PROJECT
set -euo pipefail
burstloom=$1 project=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
stream="$work/song.burst"
song="$project/audio-samples/quayside-lanterns.mid" coil="$project/audio-samples/coils/bench-36v.toml"
on_terminal() { LC_ALL="$1" script -qec "\"$burstloom\" check \"${2-$stream}\" --coil \"$coil\"" /dev/null </dev/null || true; }
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

# A limit that is exceeded: word and sign everywhere, colour where the terminal takes it and nobody asked for none.
close="$work/close.csv"
printf '# tick_hz=2000000\nstart_us,on_us\n100,30\n190,30\n5000,39\n90000,10\n' >"$close"
export TERM=xterm-256color
unset NO_COLOR
red=$'\x1b\\[1;97;41m' cyan=$'\x1b\\[1;36m'
failing=$(on_terminal C.UTF-8 "$close")
must "^$red✗ OUTSIDE LIMITS: 1 limit exceeded: gap, 50 % below its 120 µs minimum (59.64 µs at 0:00.000)" "$failing"
must "^$red  gap .*59.64 µs .*120 µs .*✗ exceeded" "$failing"
must '^  exceeded at 0:00.000: gap 59.64 µs, allowed 120 µs' "$failing"
must "^$cyan✓ within limits; tightest: " "$(on_terminal C.UTF-8)"
plain_c=$(on_terminal C "$close")
must '! OUTSIDE LIMITS: 1 limit exceeded: gap, 50 % below its 120 us minimum' "$plain_c"
must ' C  .* C  ' "$(on_terminal C)"
must_not '[^ -~[:cntrl:]]' "$(LC_ALL=C tr -d '\000-\177' <<<"$plain_c" | od -c | grep -v '^[0-9]*$' || true)"
must_not $'\x1b' "$(NO_COLOR=1 on_terminal C.UTF-8 "$close")"
must_not $'\x1b' "$(TERM=dumb on_terminal C.UTF-8 "$close")"
must "$red" "$(NO_COLOR='' on_terminal C.UTF-8 "$close")"
piped=$(LC_ALL=C "$burstloom" check "$close" --coil "$coil" || true)
must '^✗ OUTSIDE LIMITS' "$piped"
must "59.64 µs" "$piped"  # the same bytes wherever it is read later
must_not $'\x1b' "$piped"
