#!/usr/bin/env bash
# A machine without any MIDI says so in one clear sentence: no_midi.sh BURSTLOOM PROJECT
set -euo pipefail
burstloom=$1 coil="$2/audio-samples/coils/bench-36v.toml"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
export JACK_DEFAULT_SERVER="burstloom_nobody_$$" JACK_NO_START_SERVER=1
[[ ! -e /dev/snd/seq ]] || { echo "this machine has MIDI through ALSA: nothing to test here"; exit 77; }
expect() {  # CODE SENTENCE WORDS...
  local code=0 wanted=$1 sentence=$2
  shift 2
  "$burstloom" live "$@" >out 2>err || code=$?
  [[ $code == "$wanted" ]] || { echo "code $code, not $wanted: $*"; cat err; exit 1; }
  [[ "$(cat out err)" == "$sentence"* && $(cat out err | wc -l) == 1 ]] || { echo "said:"; cat out err; exit 1; }
}
expect 0 "there is no MIDI port on this machine" --list
expect 4 "burstloom: there is no MIDI port on this machine; plug a keyboard in" --coil "$coil" --from 1 --to x.burst
expect 4 "burstloom: mine: there is no MIDI on this machine to open a port in" --coil "$coil" --virtual mine --to x.burst
expect 2 "burstloom: nothing is driven unless it is named; give --to" --coil "$coil" --virtual mine
expect 2 "burstloom: no MIDI port is chosen; give --from" --coil "$coil" --to x.burst
[[ "$(ls)" == $'err\nout' ]] || { echo "left behind:"; ls; exit 1; }
