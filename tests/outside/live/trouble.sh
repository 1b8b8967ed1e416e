#!/usr/bin/env bash
# Playing live into a file, and something fails: trouble.sh BURSTLOOM PROJECT FAILING_CALLS.so
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
source "$here/jack_server.sh"
trap 'stop_jack; rm -rf "$work"' EXIT
cd "$work"
start_jack "$work"
/usr/bin/python3 "$here/trouble.py" "$1" "$2" "$3"
