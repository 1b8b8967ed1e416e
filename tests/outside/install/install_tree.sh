#!/usr/bin/env bash
# install_tree.sh BUILD PROJECT CMAKE: installs into a folder of its own, moves it, and there runs the program and
# builds a program that uses the library.
set -euo pipefail
build=$1 project=$2 cmake=$3
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fail() { echo "install: $1"; exit 1; }

"$cmake" --install "$build" --prefix "$work/first" >/dev/null
mv "$work/first" "$work/moved"  # nothing may know where it was installed
prefix=$work/moved
cd "$work"

for file in bin/burstloom share/man/man1/burstloom.1.gz share/bash-completion/completions/burstloom \
  share/zsh/site-functions/_burstloom share/fish/vendor_completions.d/burstloom.fish \
  share/burstloom/quayside-lanterns.mid share/burstloom/ferry-call.flac share/burstloom/coils/bench-36v.toml \
  share/doc/burstloom/README.md share/doc/burstloom/LICENSE share/doc/burstloom/docs/reference/commands.md; do
  [[ -s $prefix/$file ]] || fail "$file was not installed"
done
if grep -rIlF -e "$build" -e "$project" "$prefix"; then fail "these files name the folder they were built in"; fi

# Each room has its library; each installed header can be included alone and is the project's; a few are enough.
for room in "$project"/include/burstloom/*/; do
  room=$(basename "$room")
  compgen -G "$prefix/lib*/**/libburstloom_$room.a" >/dev/null || compgen -G "$prefix/lib*/libburstloom_$room.a" >/dev/null ||
    fail "the library of room $room was not installed"
done
mapfile -t headers < <(cd "$prefix/include" && find burstloom -type f | sort)
[[ ${#headers[@]} -ge 10 && ${#headers[@]} -le 20 ]] || fail "${#headers[@]} headers were installed"
for header in "${headers[@]}"; do
  cmp "$project/include/$header" "$prefix/include/$header" || fail "$header differs"
  echo "#include \"$header\"" | c++ -std=c++20 -fsyntax-only -I"$prefix/include" -xc++ - || fail "$header cannot be included alone"
done

coil=$prefix/share/burstloom/coils/bench-36v.toml
"$prefix/bin/burstloom" weave "$prefix/share/burstloom/quayside-lanterns.mid" --coil "$coil" --out song.burst >/dev/null
"$prefix/bin/burstloom" check song.burst >/dev/null || fail "the installed program's stream is not within limits"

"$cmake" -S "$project/tests/outside/install/example" -B example -DCMAKE_PREFIX_PATH="$prefix" >cmake.log 2>&1 ||
  { cat cmake.log; fail "find_package(burstloom) failed"; }
"$cmake" --build example >build.log 2>&1 || { cat build.log; fail "the example does not build"; }
song=$prefix/share/burstloom/quayside-lanterns.mid
said=$(example/song_to_table "$song" "$coil" table.h) || fail "the example's stream is not within limits: $said"
[[ $said =~ ^[0-9]{3,}' bursts, within limits, table.h takes '[0-9]+' bytes'$ ]] || fail "the example says: $said"
grep -qi "quayside" table.h || fail "the example's table does not name its song"
if example/song_to_table "$song" missing.toml table.h 2>/dev/null; then fail "the example took a missing coil"; fi

# Every room can be linked: what it links itself is found again.
cat >CMakeLists.txt <<'CMAKE'
cmake_minimum_required(VERSION 3.25)
project(all_rooms LANGUAGES CXX)
find_package(burstloom REQUIRED)
get_property(rooms DIRECTORY PROPERTY IMPORTED_TARGETS)
list(FILTER rooms INCLUDE REGEX "^burstloom::")
add_executable(all_rooms main.cpp)
target_link_libraries(all_rooms PRIVATE ${rooms})
CMAKE
echo 'int main(int argc, char** argv); namespace burstloom { int run(int, const char* const*); }
int main(int argc, char** argv) { return burstloom::run(argc, argv); }' >main.cpp
{ "$cmake" -S . -B all -DCMAKE_PREFIX_PATH="$prefix" && "$cmake" --build all; } >all.log 2>&1 ||
  { cat all.log; fail "a program cannot be linked with every room"; }
said=$(all/all_rooms --version)
[[ $said == "$("$prefix/bin/burstloom" --version)" ]] || fail "the library says another version: $said"
grep -q "^## ${said#burstloom }\b" "$prefix/share/doc/burstloom/docs/reference/changelog.md" || fail "no changes are told of $said"

# A program that was written for another version is told.
sed 's/find_package(burstloom/& 0.999/' "$project/tests/outside/install/example/CMakeLists.txt" >CMakeLists.txt
touch song_to_table.cpp
if "$cmake" -S . -B other -DCMAKE_PREFIX_PATH="$prefix" >/dev/null 2>&1; then fail "version 0.999 was found"; fi
