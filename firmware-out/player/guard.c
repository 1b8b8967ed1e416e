#include "guard.h"

/* Moments this far ahead on the counter of 32 bits are past ones. */
#define PAST 0x80000000UL

/* The two functions that let the counter turn; all others are proved free of overflow. */
/*@ assigns \nothing; ensures \result == between(from, to); */
static uint32_t ticks_between(uint32_t from, uint32_t to) {
  return to - from;
}
/*@ assigns \nothing; ensures between(moment, \result) == ticks; */
static uint32_t moment_after(uint32_t moment, uint32_t ticks) {
  return moment + ticks;
}

/* The current slot ends. The oldest leaves the sum and gives its place to the new one. */
/*@
  requires window_memory(window, tally, slot) && window_sound(window) && kept(window, tally, slot);
  assigns *tally, slot[0 .. window->slots - 1];
  ensures kept(window, tally, slot);
*/
static void next_slot(const struct guard_window* window, struct guard_tally* tally, uint32_t* slot) {
  uint16_t next = tally->current;
  ++next;
  if (next >= window->slots) next = 0;
  /*@ ghost uint16_t k = 0; */
  /*@ ghost
    /@ loop invariant 0 <= k <= window->slots && sum(slot, k) >= (k > next ? slot[next] : 0);
       loop assigns k; loop variant window->slots - k; @/
    while (k < window->slots) ++k; */
  tally->start = moment_after(tally->start, window->slot_ticks);
  tally->total -= slot[next];
  tally->current = next;
  slot[next] = 0;
  /*@ ghost k = 0; */
  /*@ ghost
    /@ loop invariant 0 <= k <= window->slots &&
         sum(slot, k) == sum{Pre}(slot, k) - (k > next ? \at(slot[\at(next, Here)], Pre) : 0);
       loop assigns k; loop variant window->slots - k; @/
    while (k < window->slots) ++k; */
}

/* 0 when there is no room for `amount` in the current slot. */
/*@
  requires window_memory(window, tally, slot) && window_sound(window) && kept(window, tally, slot);
  assigns tally->total, slot[0 .. window->slots - 1];
  ensures kept(window, tally, slot);
  ensures \result == (\old(tally->total) + amount <= window->allowance ? 1 : 0);
  ensures tally->total == \old(tally->total) + (\result != 0 ? amount : 0);
*/
static uint8_t spend(const struct guard_window* window, struct guard_tally* tally, uint32_t* slot,
                     uint32_t amount) {
  const uint16_t current = tally->current;
  if (amount > window->allowance - tally->total) return 0;
  /*@ ghost uint16_t k = 0; */
  /*@ ghost
    /@ loop invariant 0 <= k <= window->slots && sum(slot, k) >= (k > current ? slot[current] : 0);
       loop assigns k; loop variant window->slots - k; @/
    while (k < window->slots) ++k; */
  tally->total += amount;
  slot[current] += amount;
  /*@ ghost k = 0; */
  /*@ ghost
    /@ loop invariant 0 <= k <= window->slots &&
         sum(slot, k) == sum{Pre}(slot, k) + (k > current ? amount : 0);
       loop assigns k; loop variant window->slots - k; @/
    while (k < window->slots) ++k; */
  return 1;
}

/* Brings the window to `rise` and spends `cost` there, in two slots where the burst reaches into the next. 0
 * when there is no room, or when `rise` lies before the current slot. */
/*@
  requires window_memory(window, tally, slot) && window_sound(window) && kept(window, tally, slot);
  assigns *tally, slot[0 .. window->slots - 1];
  ensures kept(window, tally, slot);
*/
static uint8_t take(const struct guard_window* window, struct guard_tally* tally, uint32_t* slot,
                    uint8_t fresh, uint32_t rise, uint16_t cost) {
  uint32_t at = fresh ? window->forget_ticks : ticks_between(tally->start, rise), left;
  if (at >= PAST) return 0;
  if (at > window->forget_ticks) at = window->forget_ticks; /* every slot will leave */
  tally->start = ticks_between(at, rise);
  /*@ ghost uint16_t k = 0; */
  /*@ ghost
    /@ loop invariant 0 <= k <= window->slots && sum(slot, k) == sum{Pre}(slot, k);
       loop assigns k; loop variant window->slots - k; @/
    while (k < window->slots) ++k; */
  /*@
    loop invariant kept(window, tally, slot);
    loop assigns at, *tally, slot[0 .. window->slots - 1];
    loop variant at;
  */
  while (at >= window->slot_ticks) {
    next_slot(window, tally, slot);
    at -= window->slot_ticks;
  }
  left = window->slot_ticks - at;
  if (cost <= left) return spend(window, tally, slot, cost);
  if (!spend(window, tally, slot, left)) return 0;
  next_slot(window, tally, slot);
  return spend(window, tally, slot, cost - left);
}

/*@
  requires \valid_read(limits) && \valid_read(guard);
  assigns \nothing;
  ensures \result != 0 <==>
          (guard->fresh != 0 || limits->gap_min <= between(guard->end, rise) < 0x80000000);
*/
static uint8_t gap_is_held(const struct guard_limits* limits, const struct guard* guard, uint32_t rise) {
  const uint32_t gap = ticks_between(guard->end, rise);
  return guard->fresh || (gap >= limits->gap_min && gap < PAST);
}

void guard_begin(const struct guard_limits* limits, struct guard* guard) {
  uint16_t k;
  uint8_t w;
  guard->fresh = 1;
  guard->end = 0;
  /*@
    loop invariant 0 <= k <= limits->slots_in_all && \forall integer i; 0 <= i < k ==> guard->slot[i] == 0;
    loop assigns k, guard->slot[0 .. limits->slots_in_all - 1];
    loop variant limits->slots_in_all - k;
  */
  for (k = 0; k < limits->slots_in_all; ++k) guard->slot[k] = 0;
  /*@
    loop invariant 0 <= w <= limits->windows && \forall integer v; 0 <= v < w ==>
                     guard->tally[v].total == 0 && guard->tally[v].current == 0;
    loop assigns w, guard->tally[0 .. limits->windows - 1];
    loop variant limits->windows - w;
  */
  for (w = 0; w < limits->windows; ++w) {
    guard->tally[w].start = 0;
    guard->tally[w].total = 0;
    guard->tally[w].current = 0;
  }
  /*@ assert limits_sound(limits); */
  /*@ assert \forall integer i; 0 <= i < limits->slots_in_all ==> guard->slot[i] == 0; */
  /*@ assert \forall integer v, i; 0 <= v < limits->windows && 0 <= i < limits->window[v].slots ==>
        (guard->slot + limits->window[v].first)[i] == 0; */
  /*@ ghost uint16_t n = 0; */
  /*@ ghost
    /@ loop invariant 0 <= n <= limits->slots_in_all && \forall integer v; 0 <= v < limits->windows ==>
         sum(guard->slot + limits->window[v].first, least(n, limits->window[v].slots)) == 0;
       loop assigns n; loop variant limits->slots_in_all - n; @/
    while (n < limits->slots_in_all) ++n; */
  /*@ assert \forall integer v; 0 <= v < limits->windows ==>
        limits->window[v].slots <= n && window_sound(limits->window + v); */
  /*@ assert \forall integer v; 0 <= v < limits->windows ==>
        sum(guard->slot + limits->window[v].first, limits->window[v].slots) == 0; */
}

void guard_rest(const struct guard_limits* limits, struct guard* guard, uint32_t now) {
  const uint32_t since = ticks_between(guard->end, now);
  if (since >= limits->memory_ticks && since < PAST) guard->fresh = 1;
}

uint16_t guard_grant(const struct guard_limits* limits, struct guard* guard, uint32_t rise, uint16_t on) {
  uint8_t w;
  if (on > limits->on_max) on = limits->on_max;
  if (on == 0 || !gap_is_held(limits, guard, rise)) return 0;
  /*@
    loop invariant 0 <= w <= limits->windows && all_kept(limits, guard);
    loop invariant guard->end == \at(guard->end, Pre) && guard->fresh == \at(guard->fresh, Pre);
    loop assigns w, guard->tally[0 .. limits->windows - 1], guard->slot[0 .. limits->slots_in_all - 1];
    loop variant limits->windows - w;
  */
  for (w = 0; w < limits->windows; ++w) {
    const struct guard_window* const window = limits->window + w;
    const uint16_t cost = window->counts_starts ? 1 : (uint16_t)(on + limits->stretch);
    /*@ assert window_sound(window) && window->first + window->slots <= limits->slots_in_all; */
    /*@ assert \separated(guard, guard->tally + w, guard->slot + window->first + (0 .. window->slots - 1)); */
    /*@ ghost Before: ; */
    const uint8_t taken =
        take(window, guard->tally + w, guard->slot + window->first, guard->fresh, rise, cost);
    /*@ ghost uint16_t n = 0; */
    /*@ ghost
      /@ loop invariant 0 <= n <= limits->slots_in_all && \forall integer v;
           0 <= v < limits->windows && v != w ==>
             same{Before, Here}(guard->slot + limits->window[v].first, least(n, limits->window[v].slots));
         loop assigns n; loop variant limits->slots_in_all - n; @/
      while (n < limits->slots_in_all) ++n; */
    /*@ assert \forall integer v; 0 <= v < limits->windows ==> limits->window[v].slots <= n; */
    /*@ assert \forall integer v; 0 <= v < limits->windows && v != w ==>
          same{Before, Here}(guard->slot + limits->window[v].first, limits->window[v].slots); */
    /*@ assert all_kept(limits, guard); */
    if (!taken) return 0;
  }
  /*@ ghost Granted: ; */
  guard->end = moment_after(rise, on);
  guard->fresh = 0;
  /*@ ghost uint16_t n = 0; */
  /*@ ghost
    /@ loop invariant 0 <= n <= limits->slots_in_all && \forall integer v;
         0 <= v < limits->windows ==>
           same{Granted, Here}(guard->slot + limits->window[v].first, least(n, limits->window[v].slots));
       loop assigns n; loop variant limits->slots_in_all - n; @/
    while (n < limits->slots_in_all) ++n; */
  /*@ assert \forall integer v; 0 <= v < limits->windows ==> limits->window[v].slots <= n; */
  /*@ assert \forall integer v; 0 <= v < limits->windows ==>
        same{Granted, Here}(guard->slot + limits->window[v].first, limits->window[v].slots); */
  return on;
}
