#!/usr/bin/env bash
# From a bundled song to a project for a microcontroller: sets up, builds, weaves, checks, exports, and says where
# everything lies.
set -euo pipefail
cd "$(dirname "$0")/.."

bash scripts/setup.sh --build
# The tests are left out here, unless scripts/test.sh has set the folder up with them.
[[ -f build/release/build.ninja ]] || cmake --preset release -DBURSTLOOM_TESTS=OFF >/dev/null
cmake --build --preset release --target burstloom -- --quiet

burstloom=build/release/burstloom
song=audio-samples/quayside-lanterns.mid
coil=audio-samples/coils/bench-36v.toml
out=build/demo
mkdir -p "$out"

step() { printf '\n%s\n' "$1"; }

step "What is in the song:"
"$burstloom" song "$song"
step "Woven for the bundled coil:"
"$burstloom" weave "$song" --coil "$coil" --out "$out/quayside-lanterns.burst" --ledger "$out/ledger.csv"
step "Checked once more, from the file:"
"$burstloom" check "$out/quayside-lanterns.burst" --coil "$coil"
step "A report to look into, a sketch of what it might sound like, and a picture:"
"$burstloom" preview "$out/quayside-lanterns.burst" --coil "$coil" --source "$song" --out "$out/report.html" \
  --sound "$out/sketch.wav" --image "$out/timeline.png"
step "The whole song as a C header, and as a project for an ATmega328P:"
"$burstloom" export "$out/quayside-lanterns.burst" --coil "$coil" --to header --out "$out/quayside_lanterns.h"
"$burstloom" export "$out/quayside-lanterns.burst" --coil "$coil" --to project --out "$out/quayside-lanterns-project"

cat <<END

Where everything lies:
  stream            $out/quayside-lanterns.burst
  ledger            $out/ledger.csv
  report            $out/report.html (open it in a browser)
  sound and picture $out/sketch.wav, $out/timeline.png
  C header          $out/quayside_lanterns.h
  project           $out/quayside-lanterns-project (make builds it with avr-gcc; see its README)
  program           $burstloom

The coil is invented. A stream within limits is a prediction, and a prediction is no permission: read the cautions in
README.md before you power anything.
END
