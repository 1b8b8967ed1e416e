#!/usr/bin/env bash
# clang-tidy (.clang-tidy has the checks that we mean) and cppcheck over the sources: lint.sh [FILE.cpp...]; without
# files, all of src and firmware-out. Takes minutes; a finding is an error.
set -euo pipefail
cd "$(dirname "$0")/.."

bash scripts/setup.sh
cmake --preset release >/dev/null
cmake --build --preset release --target burstloom >/dev/null # what is generated must be there

files=("$@")
[[ ${#files[@]} -gt 0 ]] || mapfile -t files < <(find src -name '*.cpp' | sort)

# tidy FILES: those of one folder, one after the other in one file. Most of the time goes into the headers, which are
# so read and checked once a folder. Files that give two things one local name cannot stand together: they are halved.
# (The checks of unused using-declarations look into the outer file alone: they find nothing here.)
tidy() {
  local together failed=0
  together=$(mktemp build/release/lint/XXXXXX.cpp)
  printf "#include \"$PWD/%s\"\n" "$@" >"$together"
  mapfile -t flags < <(grep -oE -- '-(I[^ ]*/(include|firmware-out/[a-z]+)|isystem [^ ]+)' \
    build/release/compile_commands.json | sort -u | tr ' ' '\n')
  flags+=(-std=c++20 "-I${1%/*}" '-DBURSTLOOM_VERSION=""' -w)
  if [[ $# -gt 1 ]] && ! clang++ -fsyntax-only "${flags[@]}" "$together" 2>/dev/null; then
    tidy "${@:1:$#/2}" || failed=1
    tidy "${@:$#/2+1}" || failed=1
    return $failed
  fi
  # The analyzer looks less deep, for half the time.
  clang-tidy --quiet --checks=-bugprone-suspicious-include "$together" -- "${flags[@]}" \
    -Xclang -analyzer-opt-analyze-headers -Xclang -analyzer-config -Xclang mode=shallow
}
export -f tidy
mkdir -p build/release/lint
rm -f build/release/lint/*.cpp
dirname "${files[@]}" | sort | uniq | while read -r folder; do
  printf '%s ' $(printf '%s\n' "${files[@]}" | grep -E "^$folder/[^/]+$")
  echo
done | xargs -P "$(nproc)" -I{} bash -c 'tidy {}'

# Not meant: small values are passed by value; C++20 says what a shift of a negative number gives; cppcheck 2.10 takes
# what emplace_back has just returned for stale, and stumbles over templates called by name.
cppcheck --quiet --error-exitcode=1 --inline-suppr -j "$(nproc)" --std=c++20 --language=c++ -Iinclude \
  --enable=warning,performance,portability --suppress=missingIncludeSystem --suppress=unknownMacro \
  --suppress=passedByValue --suppress=shiftTooManyBitsSigned --suppress=invalidContainerReference \
  --suppress=internalAstError "${files[@]}"
# The player's C, in each of its configurations; its linker's symbols are compared as addresses.
cppcheck --quiet --error-exitcode=1 --inline-suppr --force --std=c99 --language=c \
  -Ifirmware-out/player -Ifirmware-out/link -DF_CPU=16000000 -DBURST_LINK_BAUD=115200 '-DEMPTY_INTERRUPT(vector)=' \
  --enable=warning,performance,portability --suppress=missingIncludeSystem \
  --suppress=comparePointers:firmware-out/ports/cortex-m/startup.c firmware-out
echo "lint: ${#files[@]} files, no finding"
