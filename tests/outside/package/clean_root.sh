#!/usr/bin/env bash
# Builds the Debian packages, has lintian read them, installs the program in a fresh Debian of the same release that
# holds nothing but what the package depends on, runs the demo's commands there as nobody, asks bash for completions,
# removes it and looks whether anything is left. As root (it makes a folder to chroot into); needs the network to Debian's
# packages; a minute or two. By hand, before a release: neither ctest nor CI runs it.
set -euo pipefail
cd "$(dirname "$0")/../../.."
project=$PWD
[[ $(id -u) == 0 ]] || { echo "clean_root: only root may chroot; run it as root" >&2; exit 4; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fail() { echo "clean_root: $1" >&2; exit 1; }
step() { echo "clean_root: $1 (${SECONDS} s)"; }

bash scripts/setup.sh
bash scripts/package.sh >"$work/packages"
version=$(sed -n 's/^project(burstloom VERSION \([0-9.]*\) .*/\1/p' CMakeLists.txt)
program=$(grep "/burstloom_${version}_" "$work/packages") library=$(grep "/libburstloom-dev_${version}_" "$work/packages")
step "the packages are built"

lintian --allow-root --fail-on error,warning "$program" "$library" || fail "lintian complains"
step "lintian is content"

root=$work/root
needed=$(dpkg-deb -f "$program" Depends | tr ',' '\n' | sed -E 's/\(.*//; s/\|.*//; s/ //g' | sort -u | paste -sd,)
. /etc/os-release
cat /etc/apt/sources.list /etc/apt/sources.list.d/*.{list,sources} 2>/dev/null >"$work/sources" || true
mmdebstrap --quiet --variant=minbase --include="$needed" "$VERSION_CODENAME" "$root" - <"$work/sources"
step "a fresh $VERSION_CODENAME stands"

# What dpkg keeps about itself is no part of the package.
files_in_root() { (cd "$root" && find . -xdev -not -path './var/lib/dpkg/*' -not -path './var/log/*' -not -path './tmp/*' | sort); }
files_in_root >"$work/before"
cp "$program" "$root/tmp/burstloom.deb"
chroot "$root" dpkg -i /tmp/burstloom.deb >/dev/null || fail "it cannot be installed on what it depends on"
[[ -z $(chroot "$root" dpkg -C) ]] || fail "dpkg finds it half-installed"
[[ -z $(chroot "$root" dpkg -V burstloom) ]] || fail "installed files differ from the package's"

inside() { chroot --userspec=nobody:nogroup "$root" env -i PATH=/usr/bin:/bin bash -euo pipefail -c "$1"; }
[[ $(inside 'burstloom --version') == "burstloom $version" ]] || fail "--version does not say $version"
if inside 'ldd /usr/bin/burstloom' | grep "not found"; then fail "libraries are missing"; fi

# The demo's own lines, with the installed program and samples.
demo=$(sed -n '/^step()/,/^cat <<END/{/^cat/!p}' scripts/demo.sh)
[[ $(grep -c '^"\$burstloom"' <<<"$demo") -ge 5 ]] || fail "the demo's commands were not found"
inside "burstloom=burstloom out=/tmp/demo song=/usr/share/burstloom/quayside-lanterns.mid
  coil=/usr/share/burstloom/coils/bench-36v.toml; mkdir \$out
  $demo" >"$work/demo.txt" 2>"$work/remarks.txt" || fail "the demo fails: $(cat "$work/remarks.txt")"
[[ ! -s $work/remarks.txt ]] || fail "the demo complains: $(<"$work/remarks.txt")"
for file in quayside-lanterns.burst report.html sketch.wav timeline.png quayside_lanterns.h quayside-lanterns-project/Makefile; do
  [[ -s $root/tmp/demo/$file ]] || fail "the demo did not write $file"
done
step "the demo ran with the installed program"

warnings=$(zcat "$root/usr/share/man/man1/burstloom.1.gz" | groff -man -Tutf8 -ww -z 2>&1)
[[ -z $warnings ]] || fail "groff warns of the manual page: $warnings"
offered=$(inside 'source /usr/share/bash-completion/completions/burstloom
  COMP_WORDS=(burstloom weave --cau) COMP_CWORD=2
  _burstloom; echo "${COMPREPLY[*]}"; complete -p burstloom')
[[ $offered == $'--causal\ncomplete '*'-F _burstloom burstloom' ]] || fail "bash offers: $offered"

chroot "$root" dpkg --purge burstloom >/dev/null 2>"$work/purge.txt" || fail "it cannot be removed: $(<"$work/purge.txt")"
files_in_root >"$work/after"
diff "$work/before" "$work/after" || fail "this was left, or taken away"
step "it is removed, and nothing is left"

dpkg-deb -x "$library" "$work/library"
cmake -S tests/outside/install/example -B "$work/example" -DCMAKE_PREFIX_PATH="$work/library/usr" >/dev/null
cmake --build "$work/example" >/dev/null
"$work/example/song_to_table" "$project/audio-samples/quayside-lanterns.mid" "$project/audio-samples/coils/bench-36v.toml" \
  "$work/table.h" >/dev/null || fail "the example fails with libburstloom-dev"
step "a program was built with libburstloom-dev; all is well"
