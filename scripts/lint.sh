#!/usr/bin/env bash
# clang-tidy (.clang-tidy has the checks that we mean) and cppcheck over the sources: lint.sh [FILE.cpp...]; without files, all of
# src. Takes minutes; a finding is an error.
set -euo pipefail
cd "$(dirname "$0")/.."

bash scripts/setup.sh
cmake --preset release >/dev/null
cmake --build --preset release --target burstloom >/dev/null # what is generated must be there

files=("$@")
[[ ${#files[@]} -gt 0 ]] || mapfile -t files < <(find src -name '*.cpp' | sort)

# clang does not know all of g++'s warnings; command/ is compiled several files at once, so what CMake defines for it is
# said here. The analyzer looks less deep, for half the time.
printf '%s\0' "${files[@]}" | xargs -0 -n 1 -P "$(nproc)" clang-tidy --quiet -p build/release \
  --extra-arg=-Wno-unknown-warning-option '--extra-arg=-DBURSTLOOM_VERSION=""' \
  --extra-arg=-Xclang --extra-arg=-analyzer-config --extra-arg=-Xclang --extra-arg=mode=shallow

# Not meant: small values are passed by value; C++20 says what a shift of a negative number gives; cppcheck 2.10 takes what
# emplace_back has just returned for stale, and stumbles over templates called by name.
cppcheck --quiet --error-exitcode=1 --inline-suppr -j "$(nproc)" --std=c++20 --language=c++ -Iinclude \
  --enable=warning,performance,portability --suppress=missingIncludeSystem --suppress=unknownMacro \
  --suppress=passedByValue --suppress=shiftTooManyBitsSigned --suppress=invalidContainerReference \
  --suppress=internalAstError "${files[@]}"
echo "lint: ${#files[@]} files, no finding"
