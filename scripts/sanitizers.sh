#!/usr/bin/env bash
# The test suite under the address and undefined-behaviour sanitizers, without the checks against other programs: they
# would test the same code again, slowly. Then what has threads under the thread sanitizer.
set -euo pipefail
cd "$(dirname "$0")/.."

bash scripts/setup.sh

for preset in sanitizers threads; do
  cmake --preset "$preset"
  cmake --build --preset "$preset"
  ctest --preset "$preset" --no-tests=error
done
