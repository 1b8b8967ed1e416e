#!/usr/bin/env bash
# What playing live shows on a terminal: terminal.sh BURSTLOOM PROJECT
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
source "$here/jack_server.sh"
trap 'stop_jack; rm -rf "$work"' EXIT
cd "$work"
start_jack "$work"
/usr/bin/python3 "$here/terminal.py" "$1" "$2"
