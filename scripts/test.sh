#!/usr/bin/env bash
# The whole test suite: sets up, builds, tests, tries the Debian packages in a fresh root; then once more with the address and undefined-behaviour sanitizers,
# where the checks against other programs are left out: they would test the same code again, slowly.
set -euo pipefail
cd "$(dirname "$0")/.."

bash scripts/setup.sh

cmake --preset release -DBURSTLOOM_TESTS=ON
cmake --build --preset release
ctest --preset release --no-tests=error

if [[ $(id -u) == 0 ]]; then
  bash tests/outside/package/clean_root.sh
else
  echo "test: only root may chroot; the packages were not tried in a fresh root"
fi

cmake --preset sanitizers
cmake --build --preset sanitizers
ctest --preset sanitizers --no-tests=error
