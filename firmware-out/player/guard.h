/* The last word before a burst: whatever a table or a link asks for, on-time, gap, duty and break rate stay
 * inside limits that are compiled in. Integers only, no division, no hardware. What it promises and why is in
 * docs/guard-on-chip.md; the promises of each function stand above it as ACSL contracts and are proved for
 * all inputs.
 *
 * A window's time is cut into slots; what was spent in the current one and the `slots - 1` before it never
 * passes the allowance:
 *
 *      leaves next |            | current
 *    ...|    3     |   0   | 7  |  4 ...|          total = 14 <= allowance
 *       |<------- slots * slot_ticks -->|
 */
#ifndef BURST_GUARD_H
#define BURST_GUARD_H

#include <stdint.h>

/* One window: an allowance of on-time (the stretch included), or of starts. */
struct guard_window {
  uint32_t slot_ticks;   /* at least the longest on-time with its stretch */
  uint32_t allowance;    /* ticks, or starts; below 2^31 */
  uint32_t forget_ticks; /* (slots + 2) * slot_ticks, below 2^31: after so long all of it is past */
  uint16_t slots, first; /* how many, and where they begin in the guard's memory */
  uint8_t counts_starts;
};

struct guard_limits {
  const struct guard_window* window;
  uint32_t gap_min;
  uint32_t memory_ticks; /* at least gap_min and every forget_ticks, below 2^31 */
  uint16_t on_max;
  uint16_t stretch;      /* what the gate adds to a burst; with on_max below 2^16 */
  uint16_t slots_in_all; /* of all windows, one after the other */
  uint8_t windows;
};

struct guard_tally {
  uint32_t start; /* of the current slot */
  uint32_t total; /* the sum of the window's slots */
  uint16_t current;
};

/* The memory is the caller's: `windows` tallies and `slots_in_all` slots. */
struct guard {
  struct guard_tally* tally;
  uint32_t* slot;
  uint32_t end;  /* of the last burst granted */
  uint8_t fresh; /* nothing before matters any more */
};

/*@
  axiomatic Sum {
    logic integer sum{L}(uint32_t* slot, integer n) reads slot[0 .. n - 1];
    axiom sum_of_none{L}: \forall uint32_t* slot, integer n; n <= 0 ==> sum(slot, n) == 0;
    axiom sum_of_more{L}:
      \forall uint32_t* slot, integer n; n > 0 ==> sum(slot, n) == sum(slot, n - 1) + slot[n - 1];
  }

  predicate window_sound(struct guard_window* window) =
    window->slots >= 1 && window->slot_ticks >= 1 && window->allowance < 0x80000000;

  predicate window_memory(struct guard_window* window, struct guard_tally* tally, uint32_t* slot) =
    \valid_read(window) && \valid(tally) && \valid(slot + (0 .. window->slots - 1)) &&
    \separated(window, tally, slot + (0 .. window->slots - 1));

  predicate limits_sound(struct guard_limits* limits) =
    limits->on_max + limits->stretch <= 0xFFFF &&
    (\forall integer w; 0 <= w < limits->windows ==>
      window_sound(limits->window + w) &&
      limits->window[w].first + limits->window[w].slots <= limits->slots_in_all) &&
    (\forall integer v, w; 0 <= v < w < limits->windows ==>
      limits->window[v].first + limits->window[v].slots <= limits->window[w].first);

  predicate memory_sound(struct guard_limits* limits, struct guard* guard) =
    \valid_read(limits) && \valid_read(limits->window + (0 .. limits->windows - 1)) && \valid(guard) &&
    \valid(guard->tally + (0 .. limits->windows - 1)) &&
    \valid(guard->slot + (0 .. limits->slots_in_all - 1)) &&
    \separated(guard, limits, limits->window + (0 .. limits->windows - 1),
               guard->tally + (0 .. limits->windows - 1), guard->slot + (0 .. limits->slots_in_all - 1));

  // The heart: the running total is the sum of the window's slots, and never above the allowance.
  predicate kept{L}(struct guard_window* window, struct guard_tally* tally, uint32_t* slot) =
    tally->current < window->slots && tally->total == sum(slot, window->slots) &&
    tally->total <= window->allowance;

  predicate all_kept{L}(struct guard_limits* limits, struct guard* guard) =
    \forall integer w; 0 <= w < limits->windows ==>
      kept(limits->window + w, guard->tally + w, guard->slot + limits->window[w].first);

  // Sums of the first slots are the same in two states: the ghost loops go from one slot to the next with it.
  predicate same{Before, After}(uint32_t* slot, integer n) = sum{After}(slot, n) == sum{Before}(slot, n);
  logic integer least(integer a, integer b) = a <= b ? a : b;

  // Ticks from one moment to another on a counter of 32 bits.
  logic integer between(integer from, integer to) = from <= to ? to - from : to - from + 0x100000000;
*/

/* Forgets everything. */
/*@
  requires memory_sound(limits, guard) && limits_sound(limits);
  assigns guard->fresh, guard->end, guard->tally[0 .. limits->windows - 1],
          guard->slot[0 .. limits->slots_in_all - 1];
  ensures all_kept(limits, guard) && guard->fresh == 1;
*/
void guard_begin(const struct guard_limits* limits, struct guard* guard);

/* To be called now and then while no burst is asked for, at least every 2^30 ticks: the counter's turn would
 * make an old burst look like one just made. */
/*@
  requires memory_sound(limits, guard) && limits_sound(limits) && all_kept(limits, guard);
  assigns guard->fresh;
  ensures all_kept(limits, guard);
  ensures guard->fresh == \old(guard->fresh) ||
          (guard->fresh == 1 && limits->memory_ticks <= between(guard->end, now) < 0x80000000);
*/
void guard_rest(const struct guard_limits* limits, struct guard* guard, uint32_t now);

/* How long the burst at `rise` may be that is wanted for `on` ticks: at most `on` and at most the longest; 0
 * when it must not be made. Moments are to be asked for in order. What is granted counts as made. What one
 * window refuses may stay counted in those before it: that makes the guard stricter, never laxer. */
/*@
  requires memory_sound(limits, guard) && limits_sound(limits) && all_kept(limits, guard);
  assigns guard->fresh, guard->end, guard->tally[0 .. limits->windows - 1],
          guard->slot[0 .. limits->slots_in_all - 1];
  ensures \result <= on && \result <= limits->on_max;
  ensures \result == 0 || \result == on || \result == limits->on_max;
  ensures \result == 0 || \old(guard->fresh) != 0 ||
          limits->gap_min <= between(\old(guard->end), rise) < 0x80000000;
  ensures \result != 0 ==> guard->fresh == 0 && between(rise, guard->end) == \result;
  ensures \result == 0 ==> guard->fresh == \old(guard->fresh) && guard->end == \old(guard->end);
  ensures all_kept(limits, guard);
*/
uint16_t guard_grant(const struct guard_limits* limits, struct guard* guard, uint32_t rise, uint16_t on);

#endif
