#!/usr/bin/env bash
# A test in Python that wants a JACK server, in a folder of its own: with_jack_server.sh TEST.py WORDS...
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
source "$here/jack_server.sh"
trap 'stop_jack; rm -rf "$work"' EXIT
cd "$work"
start_jack "$work"
/usr/bin/python3 "$here/$1" "${@:2}"
