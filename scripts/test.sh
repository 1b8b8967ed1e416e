#!/usr/bin/env bash
# The whole test suite: sets up, builds, tests. scripts/sanitizers.sh goes through it once more under the sanitizers.
set -euo pipefail
cd "$(dirname "$0")/.."

bash scripts/setup.sh

cmake --preset release -DBURSTLOOM_TESTS=ON
cmake --build --preset release
ctest --preset release --no-tests=error
