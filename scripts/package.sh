#!/usr/bin/env bash
# Builds the Debian packages into build/release/packages and prints where they lie.
set -euo pipefail
cd "$(dirname "$0")/.."
SOURCE_DATE_EPOCH=${SOURCE_DATE_EPOCH:-$(git log -1 --format=%ct 2>/dev/null || date +%s)}  # the changelog's day
export SOURCE_DATE_EPOCH

bash scripts/setup.sh --build
# As scripts/test.sh has set the folder up, or without the tests.
tests=(); [[ -f build/release/build.ninja ]] || tests=(-DBURSTLOOM_TESTS=OFF)
cmake --preset release "${tests[@]}" >/dev/null
cmake --build build/release --target installable -- --quiet >&2
rm -rf build/release/packages
(cd build/release && cpack >packages.log 2>&1) || { cat build/release/packages.log >&2; exit 1; }
ls "$PWD"/build/release/packages/*.deb
