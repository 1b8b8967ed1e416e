# A JACK server of this test's own with the dummy driver, 64 frames at 48 kHz: needs no sound card. To be sourced;
# `start_jack FOLDER` fails where none comes up, `stop_jack` leaves nothing behind.
export JACK_DEFAULT_SERVER="burstloom_$$" JACK_NO_AUDIO_RESERVATION=1 JACK_NO_START_SERVER=1

start_jack() {
  local real_time=-r
  # Servers that were killed stay in a list of eight; where none runs, the list is theirs.
  pgrep -x jackd >/dev/null || rm -f /dev/shm/jack-shm-registry
  chrt -f 50 true 2>/dev/null && real_time="-R -P 50"
  # -S: without it messages were lost and doubled under load.
  # shellcheck disable=SC2086
  jackd $real_time -S -d dummy -r 48000 -p 64 >"$1/jackd.log" 2>&1 </dev/null &
  jack_process=$!
  for _ in $(seq 200); do
    jack_lsp >/dev/null 2>&1 && return 0
    sleep 0.05
  done
  echo "the JACK server did not start:"
  cat "$1/jackd.log"
  return 1
}

stop_jack() {
  [[ -n "${jack_process:-}" ]] || return 0
  kill -TERM "$jack_process" 2>/dev/null || true
  for _ in $(seq 40); do
    kill -0 "$jack_process" 2>/dev/null || break
    sleep 0.05
  done
  kill -KILL "$jack_process" 2>/dev/null || true
  wait "$jack_process" 2>/dev/null || true
  rm -rf /dev/shm/jack_sem.*_"$JACK_DEFAULT_SERVER"_* /dev/shm/jack_"$JACK_DEFAULT_SERVER"_*
}

# wait_for_port PART: until a port with PART in its name is there; prints the name.
wait_for_port() {
  for _ in $(seq 200); do
    jack_lsp 2>/dev/null | grep -F -m1 -- "$1" && return 0
    sleep 0.05
  done
  echo "no JACK port \"$1\"" >&2
  return 1
}
