/* The last word before a burst: whatever a table or a link asks for, on-time, gap, duty and break rate stay
 * inside limits that are compiled in. Integers only, no division, no hardware. What it promises and why is in
 * docs/reference/guard-on-chip.md; the promises of each function stand above it as ACSL contracts and are proved for
 * all inputs.
 *
 * A window's time is cut into slots; what is spent in the current one and the `slots - 1` before it never
 * passes the allowance:
 *
 *      leaves next |             | current | until
 *    ...|    3     |   0    | 7  |    4 ...|         spent 14, room = allowance - 14
 *       |<----- slots * slot_ticks ------->|
 */
#ifndef BURST_GUARD_H
#define BURST_GUARD_H

#include <stdint.h>

/* One window: an allowance of on-time (the stretch included), or of starts. */
struct guard_window {
  uint32_t slot_ticks;   /* at least what the longest burst costs; below 2^31 */
  uint32_t allowance;    /* ticks, or starts */
  uint32_t forget_ticks; /* (slots + 2) * slot_ticks, below 2^31: after so long all of it is past */
  uint16_t slots, first; /* how many, and where they begin in the guard's memory */
  uint8_t counts_starts;
  /* What happened: */
  int16_t current; /* signed, so that the prover keeps it apart from the limits; slots are under 2^15 */
  uint32_t until;  /* the current slot's end */
  uint32_t room;   /* the allowance less what the slots hold */
};

/* The memory is the caller's. Limits first, set once. */
struct guard {
  struct guard_window* window;
  uint32_t* slot;
  uint32_t gap_min;
  uint32_t memory_ticks; /* at least gap_min and every forget_ticks, below 2^31 */
  uint16_t on_max;
  uint16_t stretch;      /* what the gate adds to a burst; with on_max below 2^16 */
  uint16_t slots_in_all; /* of all windows, one after the other */
  uint8_t windows;
  /* What happened: */
  uint8_t fresh; /* nothing before matters any more */
  uint32_t end;  /* of the last burst granted */
};

/*@
  // Of the n slots from the first on.
  logic integer sum{L}(uint32_t* slot, integer first, integer n) =
    n <= 0 ? 0 : sum(slot, first, n - 1) + slot[first + n - 1];

  predicate zeros{L}(uint32_t* slot, integer n) = \forall integer i; 0 <= i < n ==> slot[i] == 0;

  predicate unchanged{A, B}(uint32_t* slot, integer from, integer to) =
    \forall integer i; from <= i < to ==> \at(slot[i], B) == \at(slot[i], A);

  // What follows from these, by induction over n.
  lemma sum_of_part{L}: \forall uint32_t* slot, integer first, n;
    sum(slot + first, 0, n) == sum(slot, first, n);
  lemma sum_of_zeros{L}: \forall uint32_t* slot, integer all, first, n;
    zeros(slot, all) && 0 <= first && first + n <= all ==> sum(slot, first, n) == 0;
  lemma sum_of_unchanged{A, B}: \forall uint32_t* slot, integer from, to, first, n;
    unchanged{A, B}(slot, from, to) && from <= first && first + n <= to ==>
    sum{B}(slot, first, n) == sum{A}(slot, first, n);
  lemma sum_of_one_changed{A, B}: \forall uint32_t* slot, integer n, k;
    0 <= k < n && unchanged{A, B}(slot, 0, k) && unchanged{A, B}(slot, k + 1, n) ==>
    sum{B}(slot, 0, n) == sum{A}(slot, 0, n) - \at(slot[k], A) + \at(slot[k], B);
  lemma sum_not_negative{L}: \forall uint32_t* slot, integer n;
    (\forall integer i; 0 <= i < n ==> 0 <= slot[i]) ==> 0 <= sum(slot, 0, n);
  lemma one_within_sum{L}: \forall uint32_t* slot, integer n, k; 0 <= k < n ==>
    (\forall integer i; 0 <= i < n ==> 0 <= slot[i]) ==> slot[k] <= sum(slot, 0, n);

  predicate window_sound(struct guard_window* window) =
    1 <= window->slots <= 0x7FFF && 1 <= window->slot_ticks < 0x80000000;

  predicate window_memory(struct guard_window* window, uint32_t* slot) =
    \valid(window) && \valid(slot + (0 .. window->slots - 1)) &&
    \separated(window, slot + (0 .. window->slots - 1));

  predicate limits_sound(struct guard* guard) =
    guard->on_max + guard->stretch <= 0xFFFF &&
    (\forall integer w; 0 <= w < guard->windows ==>
      window_sound(guard->window + w) &&
      guard->window[w].first + guard->window[w].slots <= guard->slots_in_all) &&
    (\forall integer v, w; 0 <= v < w < guard->windows ==>
      guard->window[v].first + guard->window[v].slots <= guard->window[w].first);

  predicate memory_sound(struct guard* guard) =
    \valid(guard) && \valid(guard->window + (0 .. guard->windows - 1)) &&
    \valid(guard->slot + (0 .. guard->slots_in_all - 1)) &&
    \separated(guard, guard->window + (0 .. guard->windows - 1),
               guard->slot + (0 .. guard->slots_in_all - 1));

  // The heart: what the slots hold and the room left are the allowance, always.
  predicate kept{L}(struct guard_window* window, uint32_t* slot, integer first) =
    0 <= window->current < window->slots && window->room <= window->allowance &&
    window->room + sum(slot, first, window->slots) == window->allowance;

  predicate all_kept{L}(struct guard* guard) =
    \forall integer w; 0 <= w < guard->windows ==>
      kept(guard->window + w, guard->slot, guard->window[w].first);

  // Ticks from one moment to another on a counter of 32 bits.
  logic integer between(integer from, integer to) = from <= to ? to - from : to - from + 0x100000000;

  logic integer slot_before(struct guard_window* window) =
    (window->current == 0 ? window->slots : window->current) - 1;

  // Where a burst that began at `rise` is found: its end lies in the current slot, and that slot and the one
  // before hold it.
  predicate counted{L}(struct guard_window* window, uint32_t* slot, integer first, integer rise,
                       integer cost) =
    cost <= between(rise, window->until) < cost + window->slot_ticks &&
    (between(rise, window->until) <= window->slot_ticks ==> cost <= slot[first + window->current]) &&
    (window->slots == 1 ||
     cost <= slot[first + window->current] + slot[first + slot_before(window)]);
*/

/* Forgets everything. */
/*@
  requires memory_sound(guard) && limits_sound(guard);
  assigns guard->fresh, guard->end, guard->window[0 .. guard->windows - 1].room,
          guard->window[0 .. guard->windows - 1].current, guard->slot[0 .. guard->slots_in_all - 1];
  ensures all_kept(guard) && guard->fresh == 1;
*/
void guard_begin(struct guard* guard);

/* To be called now and then while no burst is asked for, at least every 2^30 ticks: the counter's turn would
 * make an old burst look like one just made. */
/*@
  requires memory_sound(guard) && limits_sound(guard) && all_kept(guard);
  assigns guard->fresh;
  ensures all_kept(guard);
  ensures guard->fresh == \old(guard->fresh) ||
          (guard->fresh == 1 && guard->memory_ticks <= between(guard->end, now) < 0x80000000);
*/
void guard_rest(struct guard* guard, uint32_t now);

/* How long the burst at `rise` may be that is wanted for `on` ticks: at most `on` and at most the longest; 0
 * when it must not be made. Moments are to be asked for in order. What is granted counts as made. What one
 * window refuses may stay counted in those before it: that makes the guard stricter, never laxer. */
/*@
  requires memory_sound(guard) && limits_sound(guard) && all_kept(guard);
  assigns guard->fresh, guard->end, guard->window[0 .. guard->windows - 1].room,
          guard->window[0 .. guard->windows - 1].current, guard->window[0 .. guard->windows - 1].until,
          guard->slot[0 .. guard->slots_in_all - 1];
  ensures at_most: \result <= on && \result <= guard->on_max;
  ensures \result == 0 || \result == on || \result == guard->on_max;
  ensures gap: \result == 0 || \old(guard->fresh) != 0 ||
          guard->gap_min <= between(\old(guard->end), rise) < 0x80000000;
  ensures granted: \result != 0 ==> guard->fresh == 0 && between(rise, guard->end) == \result;
  ensures refused: \result == 0 ==> guard->fresh == \old(guard->fresh) && guard->end == \old(guard->end);
  ensures all_kept(guard);
*/
uint16_t guard_grant(struct guard* guard, uint32_t rise, uint16_t on);

#endif
