#!/usr/bin/env bash
# The example in firmware-out/tables is what the program exports today. example_table.sh BURSTLOOM SOURCE_FOLDER
# [--write] makes it anew.
set -euo pipefail
burstloom=$1 source=$2 example=$2/firmware-out/tables/quayside_lanterns_opening.h
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$burstloom" weave "$source/audio-samples/quayside-lanterns.mid" --coil "$source/audio-samples/coils/bench-36v.toml" \
  --out "$work/song.burst" >/dev/null
"$burstloom" export "$work/song.burst" --coil "$source/audio-samples/coils/bench-36v.toml" --to header --until 3 --out "$work/table.h" >/dev/null
if [[ ${3:-} == --write ]]; then cp "$work/table.h" "$example"; fi
cmp "$work/table.h" "$example"
