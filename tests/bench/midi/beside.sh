#!/bin/bash
# beside.sh BENCH_MIDI FOLDER: reads one song with this reader, npm's midi-file (installed into FOLDER) and mido, in one
# run, the best of many each; prints milliseconds and how many times as long the others take.
set -euo pipefail
bench=$(realpath "$1") here=$(dirname "$(realpath "$0")")
mkdir -p "$2"
cd "$2"
cp "$here/package.json" "$here/package-lock.json" .
[ -d node_modules/midi-file ] || npm ci --ignore-scripts --no-audit --no-fund --silent
"$bench" --song song.mid 240 16
ours=$("$bench" --best song.mid)
npm_ms=$(node "$here/time_midi_file.mjs" song.mid)
mido_ms=$(/usr/bin/python3 "$here/time_mido.py" song.mid)
awk -v ours="$ours" -v npm="$npm_ms" -v mido="$mido_ms" 'BEGIN {
  printf "| reader | ms | times ours |\n|---|---|---|\n"
  printf "| burstloom | %.3f | 1 |\n| npm midi-file | %.3f | %.1f |\n| mido | %.1f | %.0f |\n", ours, npm, npm / ours, mido, mido / ours
}'
