#!/usr/bin/env bash
# What surrounds the program changes nothing of its answers, and what is missing or closed is told or borne in silence:
# environment.sh BURSTLOOM PROJECT
set -uo pipefail
burstloom=$1
samples=$2/audio-samples coil=$2/audio-samples/coils/bench-36v.toml
work=$(mktemp -d)
trap 'chmod -R u+w "$work"; rm -rf "$work"' EXIT
cd "$work" || exit 1
export XDG_CONFIG_HOME=$work/configuration  # not that of whoever runs this
failed=0
fail() { echo "environment: $1"; failed=1; }
sentence() { [[ $(wc -l <"$1") == 1 && $(<"$1") == burstloom:* ]] || fail "$2, not one clear sentence: $(head -c 300 "$1")"; }

# A locale with a decimal comma, made here; the test is worth nothing if it does not have one.
mkdir locales
localedef -i de_DE -f UTF-8 locales/de_DE.UTF-8 >/dev/null 2>&1
comma=(LOCPATH="$work/locales" LC_ALL=de_DE.UTF-8)
[[ $(env "${comma[@]}" bash -c 'printf "%.1f" "1,5"' 2>&1) == 1,5 ]] || fail "no locale with a decimal comma (is Debian's package locales there?)"

# answers NAME ENVIRONMENT...: what the program prints and writes there, in a folder of that name.
answers() {
  local name=$1
  shift
  mkdir "$name"
  (
    cd "$name" || exit 1
    env "$@" "$burstloom" weave "$samples/quayside-lanterns.mid" --coil "$coil" --out song.burst --ledger ledger.csv >weave.txt 2>&1 &&
      env "$@" "$burstloom" coil show "$coil" --plot plot.svg >coil.txt 2>&1 &&
      env "$@" "$burstloom" check song.burst --json >check.json 2>&1 &&
      env "$@" "$burstloom" export song.burst --to csv --out song.csv >/dev/null 2>&1 &&
      env "$@" "$burstloom" check song.csv --coil "$coil" >csv.txt 2>&1 &&
      env "$@" "$burstloom" preview song.burst --image image.svg >/dev/null 2>&1
  ) || fail "it fails with $name: $(tail -n 1 "$name"/*.txt)"
  [[ $name == usual ]] || diff -rq usual "$name" || fail "other answers with $name"
}
answers usual LC_ALL=C.UTF-8
answers plain_c LC_ALL=C
answers no_such_locale LC_ALL=xx_YY.UTF-8
answers decimal_comma "${comma[@]}"
answers no_home -u HOME
answers no_terminal -u TERM
answers nothing_at_all -i

# Standard input closed, and standard error.
"$burstloom" check usual/song.burst <&- >closed.txt || fail "it fails without standard input"
"$burstloom" check usual/song.burst 2>&- >closed.txt || fail "it fails without standard error"

# With all three closed, their numbers are taken before a file is opened: no answer can land in it, or on a serial line.
mkfifo waiting.csv
"$burstloom" check waiting.csv --coil "$coil" <&- >&- 2>&- &
for _ in $(seq 100); do
  filled=$(readlink /proc/$!/fd/{0,1,2} 2>/dev/null | sort -u)
  [[ $filled != /dev/null ]] || break
  sleep 0.1
done
[[ $filled == /dev/null ]] || fail "closed standard files are left open to others: $filled"
kill $!
wait $! 2>/dev/null

# Standard output closed, or full: the answer is lost, and that is said. The file is written, and nothing else is in it.
"$burstloom" weave "$samples/quayside-lanterns.mid" --coil "$coil" --out out.burst >&- 2>said.txt
[[ $? == 4 ]] || fail "no exit code 4 without standard output"
sentence said.txt "without standard output"
cmp -s out.burst usual/song.burst || fail "without standard output the stream is another"
for words in --help --version "weave --help" "coil show $coil" "coil show $coil --json" "coil new"; do
  "$burstloom" $words >/dev/full 2>said.txt
  [[ $? == 4 ]] || fail "no exit code 4 for '$words' to a full device"
  sentence said.txt "'$words' to a full device"
done

# Whoever reads has gone: ended by SIGPIPE in silence, as other programs do; told where that signal is ignored.
mkfifo pipe
"$burstloom" coil show "$coil" >pipe 2>said.txt &
exec 3<pipe 3<&-
wait $!
[[ $? == $((128 + 13)) && ! -s said.txt ]] || fail "a broken pipe is not borne in silence: $(<said.txt)"
(trap '' PIPE; exec "$burstloom" coil show "$coil" >pipe 2>said.txt) &
exec 3<pipe 3<&-
wait $!
[[ $? == 4 ]] || fail "no exit code 4 for a broken pipe where SIGPIPE is ignored"
sentence said.txt "a broken pipe where SIGPIPE is ignored"
line=$("$burstloom" coil show "$coil" 2>said.txt | head -n 1)
[[ -n $line && ! -s said.txt ]] || fail "coil show | head -n 1 gives '$line', '$(<said.txt)'"

# A folder that cannot be written in stops nobody from reading there. Root may write anywhere: as nobody, then.
mkdir locked && cp usual/song.burst locked && chmod 555 locked && chmod 755 "$work"
cp "$burstloom" "$coil" "$work" && chmod 755 "$work/burstloom"
as_nobody=()
[[ $(id -u) != 0 ]] || as_nobody=(setpriv --reuid=65534 --regid=65534 --clear-groups)
(cd locked && "${as_nobody[@]}" "$work/burstloom" check song.burst >/dev/null) || fail "it cannot check in a folder that is read-only"
(cd locked && "${as_nobody[@]}" "$work/burstloom" export song.burst --to csv --out song.csv >/dev/null 2>"$work/said.txt")
[[ $? == 4 ]] || fail "no exit code 4 for writing into a folder that is read-only"
sentence said.txt "writing into a folder that is read-only"
[[ $(ls locked) == song.burst ]] || fail "something was left in the folder that is read-only"

# Standard output that goes to a file is written to; what /dev/stdout is stays. As nobody, whom a mistake costs nothing.
"${as_nobody[@]}" "$work/burstloom" export locked/song.burst --to csv --out /dev/stdout >stream.csv 2>said.txt ||
  fail "no export to standard output that goes to a file: $(<said.txt)"
[[ $(head -c 9 stream.csv) == "# tick_hz" && -L /dev/stdout ]] || fail "standard output that goes to a file begins with $(head -c 40 stream.csv)"
exit $failed
