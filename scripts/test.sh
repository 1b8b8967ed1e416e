#!/usr/bin/env bash
# The whole test suite: sets up, builds, tests; then once more with the address and undefined-behaviour sanitizers,
# where the checks against other programs are left out: they would test the same code again, slowly.
# (The Debian packages have a script of their own, tests/outside/package/clean_root.sh: it fetches a fresh Debian.)
set -euo pipefail
cd "$(dirname "$0")/.."

bash scripts/setup.sh

cmake --preset release -DBURSTLOOM_TESTS=ON
cmake --build --preset release
ctest --preset release --no-tests=error

cmake --preset sanitizers
cmake --build --preset sanitizers
ctest --preset sanitizers --no-tests=error
