#!/usr/bin/env bash
# Installs what is missing from Debian's packages (Debian 12). Says what, works as root or with sudo, and does
# nothing when all is there. --build: only what building and using Burstloom takes; without: the tests' tools too.
set -euo pipefail

to_build=(cmake ninja-build g++ pkg-config libsndfile1-dev libkissfft-dev libcli11-dev libtomlplusplus-dev
          nlohmann-json3-dev libeigen3-dev libcairo2-dev libebur128-dev librtmidi-dev
          libjack-jackd2-dev libxxhash-dev fonts-dejavu-core)
to_test=(libgtest-dev librapidcheck-dev libbenchmark-dev gcc-avr avr-libc make simavr libsimavr-dev libelf-dev
         frama-c-base why3 cvc4 gcc-arm-none-eabi libunicorn-dev qemu-system-arm
         procps ngspice python3 python3-mido python3-rtmidi python3-numpy chromium poppler-utils fluidsynth
         timgm6mb-soundfont fluidr3mono-gm-soundfont
         aubio-tools clang libclang-rt-14-dev clang-tidy cppcheck
         jackd2 groff-base locales zsh fish lintian mmdebstrap)

needed=("${to_build[@]}")
[[ "${1:-}" == --build ]] || needed+=("${to_test[@]}")
# Node.js may have come from elsewhere; any with npm will do.
command -v node >/dev/null && command -v npm >/dev/null || needed+=(nodejs npm)

missing=()
for package in "${needed[@]}"; do
  [[ "$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null)" == installed ]] || missing+=("$package")
done
[[ ${#missing[@]} -gt 0 ]] || exit 0

as_root=()
if [[ $(id -u) -ne 0 ]]; then
  if ! command -v sudo >/dev/null; then
    echo "setup: these packages are missing and need root to install: ${missing[*]}" >&2
    echo "setup: as root, run: apt-get install ${missing[*]}" >&2
    exit 4
  fi
  as_root=(sudo)
fi
echo "setup: installing ${missing[*]}"
export DEBIAN_FRONTEND=noninteractive
"${as_root[@]}" apt-get update -q >/dev/null
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}" >/dev/null
