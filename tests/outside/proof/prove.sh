#!/usr/bin/env bash
# prove.sh whole PLAYER_FOLDER WORK_FOLDER: proves all of guard.c. Exit 0 when every goal is proved.
# prove.sh faults PLAYER_FOLDER WORK_FOLDER: puts one fault after another into a copy. Exit 0 when the proof fails
# for each of them. prove.sh all_faults: more of them, for when the guard is changed (ten minutes).
set -euo pipefail
what=$1 player=$2 work=$3
here=$(cd "$(dirname "$0")" && pwd)
rm -rf "$work"
mkdir -p "$work"
export WHY3CONFIG=$work/why3.conf
why3 config detect >/dev/null 2>&1

# prove FOLDER [OPTIONS...]: the goals of the guard in this folder; prints how many are proved, and what is not. The
# scripts in lemmas say only "by induction over n"; CVC4 has to find the rest anew each time.
prove() {
  local folder=$1 counts
  shift
  mkdir -p "$folder/session"
  cp -r "$here/lemmas" "$folder/session/script"
  (cd "$folder" && frama-c -wp -wp-rte -warn-unsigned-overflow -wp-session session -wp-cache none \
    -wp-prover script,cvc4 -wp-timeout "${seconds:-120}" -wp-par 2 "$@" guard.c) >"$folder/log" 2>&1 ||
    { cat "$folder/log"; return 2; }
  counts=$(sed -n 's/.*Proved goals: *\([0-9]*\) *\/ *\([0-9]*\).*/\1 \2/p' "$folder/log")
  echo "${counts% *} of ${counts#* } goals proved"
  grep -E 'Timeout|Unknown|Failed|Step limit' "$folder/log" || true
  [[ -n $counts && ${counts% *} -eq ${counts#* } && ${counts#* } -gt 0 ]]
}

whole() {
  cp "$player/guard.c" "$player/guard.h" "$work"
  prove "$work"
}

# fault NAME FUNCTION SED [OPTIONS...]: with that change the function's contract must not hold any more.
fault() {
  local name=$1 function=$2 change=$3 folder=$work/$1 result=0
  mkdir "$folder"
  cp "$player/guard.h" "$folder"
  sed "$change" "$player/guard.c" >"$folder/guard.c"
  if cmp -s "$player/guard.c" "$folder/guard.c"; then
    echo "$name: the change found nothing to change"
    return 1
  fi
  seconds=15 prove "$folder" "${effort[@]}" -wp-fct "$function" "${@:4}" || result=$?
  if [[ $result -ne 1 ]]; then
    echo "$name: went unnoticed"
    return 1
  fi
  echo "$name: noticed"
}

# Steps of CVC4 on a goal, not seconds: the same on a busy machine. Without a fault the same functions have to be proved
# with as many, else a fault would say nothing.
effort=(-wp-steps 300000)
without_fault() {
  local folder=$work/without_fault
  mkdir -p "$folder/calls"
  cp "$player/guard.c" "$player/guard.h" "$folder"
  cp "$player/guard.c" "$player/guard.h" "$folder/calls"
  prove "$folder" "${effort[@]}" -wp-fct gap_is_held,next_slot,spend,spend_from,move_on,guard_rest,guard_grant
  prove "$folder/calls" "${effort[@]}" -wp-fct take_in_all -wp-prop=@requires
}

faults() {
  without_fault
  fault on_time_is_not_cut guard_grant '/on > guard->on_max/d' -wp-prop=at_most
  fault gap_is_not_asked guard_grant 's/ || !gap_is_held(guard, rise)//' -wp-prop=gap
  fault gap_is_one_tick_longer gap_is_held 's/gap >= guard->gap_min/gap > guard->gap_min/'
  fault past_counts_as_future gap_is_held 's/ && gap < PAST//'
  fault slot_leaves_but_gives_nothing_back next_slot '/window->room += slot\[next\]/d'
  fault slot_is_not_emptied next_slot '/slot\[next\] = 0;/d'
  fault room_is_one_too_large spend 's/amount > window->room/amount > window->room + 1/'
  fault spent_is_not_counted spend '/window->room -= amount/d'
  fault first_part_is_not_counted spend_from '/if (!spend(window, slot, left)) return 0;/d'
  fault window_takes_slots_of_another take_in_all 's/take(window, slot + window->first/take(window, slot/' -wp-prop=@requires
}

all_faults() {
  faults
  fault nothing_counts_as_a_burst guard_grant 's/on == 0 || //' -wp-prop=refused
  fault burst_ends_as_it_begins guard_grant 's/moment_after(rise, on)/rise/' -wp-prop=granted
  fault ring_is_one_slot_too_long next_slot 's/next >= window->slots/next > window->slots/'
  fault room_is_one_too_small spend 's/amount > window->room/amount >= window->room/'
  fault room_ignores_what_was_spent spend 's/amount > window->room/amount > window->allowance/'
  fault burst_is_cut_at_its_end spend_from 's/if (cost <= left)/if (cost < left)/'
  fault refusal_of_first_part_is_ignored spend_from 's/if (!spend(window, slot, left)) return 0;/spend(window, slot, left);/'
  fault second_part_lies_in_the_same_slot spend_from 's/^  next_slot(window, slot);//'
  fault slots_never_move move_on 's/    past -= window->slot_ticks;//'
  fault old_burst_looks_new guard_rest 's/since >= guard->memory_ticks && since < PAST/since >= guard->gap_min/'
}

"$what"
