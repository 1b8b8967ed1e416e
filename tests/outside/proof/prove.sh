#!/usr/bin/env bash
# prove.sh whole PLAYER_FOLDER WORK_FOLDER: proves all of guard.c. Exit 0 when every goal is proved.
# prove.sh faults PLAYER_FOLDER WORK_FOLDER: puts one fault after another into a copy. Exit 0 when the proof fails
# for each of them.
set -euo pipefail
what=$1 player=$2 work=$3
rm -rf "$work"
mkdir -p "$work"
export WHY3CONFIG=$work/why3.conf
why3 config detect >/dev/null 2>&1

# Steps of the loops over several windows that CVC4 does not find: that a write to one window leaves the other windows'
# limits and sums alone. Everything else has to be proved.
open_steps=(guard_begin_loop_invariant_6_preserved guard_grant_assert_3 guard_grant_loop_invariant_5_preserved
            guard_grant_assert_7)

# prove FOLDER FUNCTIONS [OPTIONS...]: the goals of these functions; prints how many are proved, and what is not.
prove() {
  local folder=$1 functions=$2 counts
  shift 2
  (cd "$folder" && frama-c -wp -wp-rte -warn-unsigned-overflow -wp-prover cvc4 -wp-timeout "${SECONDS_A_GOAL:-60}" -wp-par 2 \
    -wp-fct "$functions" "$@" guard.c) >"$folder/log" 2>&1 || { cat "$folder/log"; return 2; }
  counts=$(sed -n 's/.*Proved goals: *\([0-9]*\) *\/ *\([0-9]*\).*/\1 \2/p' "$folder/log")
  echo "${counts% *} of ${counts#* } goals proved: $functions"
  grep -E 'Timeout|Unknown|Failed|Stepout' "$folder/log" || true
  [[ -n $counts && ${counts% *} -eq ${counts#* } && ${counts#* } -gt 0 ]]
}

whole() {
  cp "$player/guard.c" "$player/guard.h" "$work"
  prove "$work" ticks_between,moment_after,next_slot,spend,move_on,take,gap_is_held,guard_rest
  SECONDS_A_GOAL=30 prove "$work" guard_begin,guard_grant && return
  grep -E 'Timeout|Unknown|Failed|Stepout' "$work/log" | sed 's/.*Goal typed_\([a-z_0-9]*\) .*/\1/' | sort >"$work/unproved"
  printf '%s\n' "${open_steps[@]}" | sort >"$work/open"
  if [[ -n $(comm -23 "$work/unproved" "$work/open") ]]; then
    echo "unproved and not known to be open: $(comm -23 "$work/unproved" "$work/open")"
    return 1
  fi
}

# fault NAME FUNCTION SED: with that change the function's contract must not hold any more.
fault() {
  local name=$1 function=$2 change=$3 folder=$work/$1 result=0
  mkdir "$folder"
  cp "$player/guard.h" "$folder"
  sed "$change" "$player/guard.c" >"$folder/guard.c"
  if cmp -s "$player/guard.c" "$folder/guard.c"; then
    echo "$name: the change found nothing to change"
    return 1
  fi
  SECONDS_A_GOAL=5 prove "$folder" "$function" "${@:4}" || result=$?
  if [[ $result -ne 1 ]]; then
    echo "$name: went unnoticed"
    return 1
  fi
  echo "$name: noticed"
}

faults() {
  fault on_time_is_not_cut guard_grant '/on > guard->on_max/d' -wp-prop=at_most
  fault gap_is_one_tick_longer gap_is_held 's/gap >= guard->gap_min/gap > guard->gap_min/'
  fault past_counts_as_future gap_is_held 's/ && gap < PAST//'
  fault slot_leaves_but_gives_nothing_back next_slot '/window->room += slot\[next\]/d'
  fault slot_is_not_emptied next_slot '/slot\[next\] = 0;/d'
  fault ring_is_one_slot_too_long next_slot 's/next >= window->slots/next > window->slots/'
  fault room_is_one_too_large spend 's/amount > window->room/amount > window->room + 1/'
  fault room_ignores_what_was_spent spend 's/amount > window->room/amount > window->allowance/'
  fault spent_is_not_counted spend '/window->room -= amount/d'
  fault slots_never_move move_on 's/    past -= window->slot_ticks;//'
  fault old_burst_looks_new guard_rest 's/since >= guard->memory_ticks && since < PAST/since >= guard->gap_min/'
}

"$what"
