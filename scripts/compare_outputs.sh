#!/usr/bin/env bash
# Whether two builds say the same: compare_outputs.sh OLD NEW, each a program or a commit (which is built first). Songs x
# coils x commands, byte by byte (compare_outputs.py says which); lists what differs by kind. Exit code 1 if anything does.
set -euo pipefail
[[ $# -eq 2 ]] || { echo "usage: compare_outputs.sh OLD NEW (each a built program, or a commit)" >&2; exit 2; }
root=$(cd "$(dirname "$0")/.." && pwd)

# program_of WHAT: the program itself, or the one that this commit gives, built in a tree of its own and kept there.
program_of() {
  if [[ -f $1 && -x $1 ]]; then
    realpath "$1"
    return
  fi
  local commit tree
  commit=$(git -C "$root" rev-parse --verify --short=12 "$1^{commit}")
  tree=$root/build/compared/$commit
  if [[ ! -x $tree/build/release/burstloom ]]; then
    mkdir -p "$tree"
    git -C "$root" archive "$commit" | tar -x -C "$tree"
    # Without headers compiled ahead: so the compiler's cache has what both have in common.
    (cd "$tree" && cmake --preset release -DBURSTLOOM_TESTS=OFF -DCMAKE_DISABLE_PRECOMPILE_HEADERS=ON &&
      cmake --build --preset release --target burstloom) >&2
  fi
  echo "$tree/build/release/burstloom"
}

old=$(program_of "$1")
new=$(program_of "$2")
exec python3 -B "$root/scripts/compare_outputs.py" "$old" "$new" "$root/audio-samples"
