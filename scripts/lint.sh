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

# tidy FILES: those of one folder, as one. Most of the time goes into the headers, which are so read and checked once.
# Files that cannot stand together, since they give two things one local name, and those with a finding, are halved
# until one is left to tell of.
tidy() {
  local source=$1 flags findings failed=0
  if [[ $# -gt 1 ]]; then
    source=$(mktemp build/release/lint/XXXXXX.cpp)
    cat "$@" >"$source"
  fi
  mapfile -t flags < <(grep -oE -- '-(I[^ ]*/(include|firmware-out/[a-z]+)|isystem [^ ]+)' \
    build/release/compile_commands.json | sort -u | tr ' ' '\n')
  # The analyzer looks less deep, for half the time.
  findings=$(clang-tidy --quiet "$source" -- "${flags[@]}" "-I${1%/*}" "-I$(cut -d/ -f-2 <<<"$1")" -std=c++20 -w '-DBURSTLOOM_VERSION=""' \
    -Xclang -analyzer-config -Xclang mode=shallow 2>&1) && return
  if [[ $# -eq 1 ]]; then
    echo "$findings"
    return 1
  fi
  tidy "${@:1:$#/2}" || failed=1
  tidy "${@:$#/2+1}" || failed=1
  return $failed
}
export -f tidy
rm -rf build/release/lint
mkdir build/release/lint
for folder in $(dirname "${files[@]}" | sort -u); do
  printf '%s\n' "${files[@]}" | grep -E "^$folder/[^/]+$" | paste -sd' '
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
