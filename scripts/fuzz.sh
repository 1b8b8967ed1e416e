#!/usr/bin/env bash
# Fuzzes the readers and the whole line with libFuzzer: fuzz.sh SECONDS [TARGET...] (all targets, each so long, one after
# the other; JOBS=2 runs two at a time). What was found lies in tests/fuzz/found/TARGET, where the test suite replays
# it; the corpora grow in build/fuzz/corpus, and build/fuzz/runs.tsv adds up what has been run.
# LONGEST_S=3600 where it may have little of the processor: libFuzzer takes seconds of the clock for a run that hangs.
set -euo pipefail
cd "$(dirname "$0")/.."
seconds=${1:?fuzz.sh SECONDS [TARGET...]}
shift
targets=("$@")
[[ ${#targets[@]} -gt 0 ]] || targets=(midi sound profile arrangement set burst csv vcd frames keys table line)

bash scripts/setup.sh
cmake --preset fuzz >/dev/null
cmake --build --preset fuzz
build/fuzz/tests/fuzz/targets/fuzz_seeds build/fuzz/seeds

run() {
  local target=$1 corpus=build/fuzz/corpus/$1 found=tests/fuzz/found/$1 log=build/fuzz/$1.log
  local leaks=1 longest_s=5
  # libsndfile leaks what libvorbis holds where a file breaks off in its head; a coil's current table is simulated,
  # which takes long for some.
  [[ $target == sound ]] && leaks=0
  export ASAN_OPTIONS=detect_leaks=$leaks
  case $target in profile | line | keys) longest_s=60 ;; esac
  longest_s=${LONGEST_S:-$longest_s}
  mkdir -p "$corpus" "$found"
  build/fuzz/tests/fuzz/targets/fuzz_"$target" "$corpus" "build/fuzz/seeds/$target" "$found" \
    -max_total_time="$seconds" -dict=tests/fuzz/words.dict -max_len=8192 -timeout="$longest_s" -report_slow_units="$longest_s" -detect_leaks="$leaks" -rss_limit_mb=2048 \
    -artifact_prefix="$found/" -print_final_stats=1 >"$log" 2>&1 || true
  awk -v target="$target" '
    / cov: / { for (i = 1; i < NF; ++i) if ($i == "cov:") edges = $(i + 1) }
    /^Done / { seconds = $(NF - 1) }
    /number_of_executed_units/ { runs = $2 }
    /Test unit written to/ { ++found }
    END { printf "%s\t%d\t%d\t%d\t%d\n", target, seconds, runs, edges, found }' "$log" | tee -a build/fuzz/runs.tsv
  if grep -q "Test unit written to" "$log"; then
    echo "fuzz: $target found something, see $log; mend it, give the file in $found a telling name, commit both" >&2
    return 1
  fi
}
export -f run
export seconds

echo "target	seconds	executions	edges	findings"
printf '%s\n' "${targets[@]}" | xargs -P "${JOBS:-1}" -I{} bash -c 'set -uo pipefail; run {}'
