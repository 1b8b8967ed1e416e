#!/usr/bin/env bash
# Prints the latency of playing live with a JACK server of 64 frames: live_latency.sh BENCH_LIVE [NOTES]
set -euo pipefail
work=$(mktemp -d)
source "$(dirname "$0")/../outside/live/jack_server.sh"
trap 'stop_jack; rm -rf "$work"' EXIT
start_jack "$work"
"$1" "${2:-500}" "$work/played"
