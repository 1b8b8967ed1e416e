#include "guard.h"

/* Moments this far ahead on the counter of 32 bits are past ones. */
#define PAST 0x80000000UL

/* A counter that turns over, in words that never overflow: compilers see the one subtraction or addition in
 * them. */
/*@ assigns \nothing; ensures \result == between(from, to); */
static uint32_t ticks_between(uint32_t from, uint32_t to) {
  return from <= to ? to - from : to + (0xFFFFFFFFUL - from) + 1;
}
/*@ assigns \nothing; ensures between(moment, \result) == ticks; */
static uint32_t moment_after(uint32_t moment, uint32_t ticks) {
  return ticks <= 0xFFFFFFFFUL - moment ? moment + ticks : ticks - (0xFFFFFFFFUL - moment) - 1;
}

/* The current slot ends. The oldest gives back what it holds and its place to the new one. */
/*@
  requires window_memory(window, slot) && window_sound(window) && kept(window, slot, 0);
  assigns window->room, window->current, window->until, slot[0 .. window->slots - 1];
  ensures kept(window, slot, 0);
  ensures between(\old(window->until), window->until) == window->slot_ticks;
  ensures window->current == (\old(window->current) + 1 < window->slots ? \old(window->current) + 1 : 0);
  ensures slot[window->current] == 0 && unchanged{Pre, Post}(slot, 0, window->current) &&
          unchanged{Pre, Post}(slot, window->current + 1, window->slots);
*/
static void next_slot(struct guard_window* window, uint32_t* slot) {
  uint16_t next = (uint16_t)window->current;
  ++next;
  if (next >= window->slots) next = 0;
  window->until = moment_after(window->until, window->slot_ticks);
  window->room += slot[next];
  window->current = (int16_t)next;
  slot[next] = 0;
  /*@ assert unchanged{Pre, Here}(slot, 0, next) && unchanged{Pre, Here}(slot, next + 1, window->slots); */
  /*@ assert sum(slot, 0, window->slots) ==
        sum{Pre}(slot, 0, window->slots) - \at(slot[\at(next, Here)], Pre); */
}

/* 0 when there is no room for `amount`; else it is in the current slot. */
/*@
  requires window_memory(window, slot) && window_sound(window) && kept(window, slot, 0);
  assigns window->room, slot[window->current];
  ensures kept(window, slot, 0);
  ensures slot[window->current] == \old(slot[window->current]) + (\result != 0 ? amount : 0);
  ensures \result == (amount <= \old(window->room) ? 1 : 0);
  ensures window->room == \old(window->room) - (\result != 0 ? amount : 0);
*/
static uint8_t spend(struct guard_window* window, uint32_t* slot, uint32_t amount) {
  const uint16_t current = (uint16_t)window->current;
  if (amount > window->room) return 0;
  window->room -= amount;
  slot[current] += amount;
  return 1;
}

/* Brings the window to a `rise` after its current slot, and gives how much of the new one is left there. 0
 * when `rise` lies before the current slot. */
/*@
  requires window_memory(window, slot) && window_sound(window) && kept(window, slot, 0);
  assigns window->room, window->current, window->until, slot[0 .. window->slots - 1];
  ensures kept(window, slot, 0) && \result <= window->slot_ticks;
  ensures \result == 0 || between(rise, window->until) == \result;
*/
static uint32_t move_on(struct guard_window* window, uint32_t* slot, uint8_t fresh, uint32_t rise) {
  uint32_t past = fresh ? window->forget_ticks : ticks_between(window->until, rise);
  if (past >= PAST) return 0;
  if (past > window->forget_ticks) past = window->forget_ticks; /* every slot will leave */
  window->until = ticks_between(past, rise);
  next_slot(window, slot);
  /*@
    loop invariant kept(window, slot, 0);
    loop invariant past < window->slot_ticks ? between(rise, window->until) == window->slot_ticks - past
                                             : between(window->until, rise) == past - window->slot_ticks;
    loop assigns past, window->room, window->current, window->until, slot[0 .. window->slots - 1];
    loop variant past;
  */
  while (past >= window->slot_ticks) {
    next_slot(window, slot);
    past -= window->slot_ticks;
  }
  return window->slot_ticks - past;
}

/* Spends `cost` where `left` ticks of the current slot are left, in two slots where it reaches into the next.
 * 0 when there is no room. */
/*@
  requires window_memory(window, slot) && window_sound(window) && kept(window, slot, 0);
  assigns window->room, window->current, window->until, slot[0 .. window->slots - 1];
  ensures kept(window, slot, 0);
  ensures \result != 0 && cost <= left ==>
    window->until == \old(window->until) && cost <= slot[window->current];
  ensures \result != 0 && cost > left ==> between(\old(window->until), window->until) == window->slot_ticks &&
    (window->slots == 1 || cost <= slot[window->current] + slot[slot_before(window)]);
*/
static uint8_t spend_from(struct guard_window* window, uint32_t* slot, uint32_t left, uint16_t cost) {
  if (cost <= left) return spend(window, slot, cost);
  if (!spend(window, slot, left)) return 0;
  next_slot(window, slot);
  /*@ assert window->slots == 1 || left <= slot[slot_before(window)]; */
  return spend(window, slot, cost - left);
}

/* Spends `cost` at `rise`. 0 when there is no room. */
/*@
  requires window_memory(window, slot) && window_sound(window) && kept(window, slot, 0);
  assigns window->room, window->current, window->until, slot[0 .. window->slots - 1];
  ensures kept(window, slot, 0);
  ensures \result != 0 && 1 <= cost <= window->slot_ticks ==> counted(window, slot, 0, rise, cost);
*/
static uint8_t take(struct guard_window* window, uint32_t* slot, uint8_t fresh, uint32_t rise,
                    uint16_t cost) {
  uint32_t left = ticks_between(rise, window->until);
  if (fresh || left == 0 || left > window->slot_ticks) {
    left = move_on(window, slot, fresh, rise);
    if (left == 0) return 0;
  }
  /*@ assert between(rise, window->until) == left <= window->slot_ticks; */
  return spend_from(window, slot, left, cost);
}

/* Spends in every window. 0 when one has no room: those before it keep the cost. */
/*@
  requires memory_sound(guard) && limits_sound(guard) && all_kept(guard);
  assigns guard->window[0 .. guard->windows - 1].room, guard->window[0 .. guard->windows - 1].current,
          guard->window[0 .. guard->windows - 1].until, guard->slot[0 .. guard->slots_in_all - 1];
  ensures limits_sound(guard) && all_kept(guard) && guard->end == \old(guard->end);
*/
static uint8_t take_in_all(struct guard* guard, uint32_t rise, uint16_t cost) {
  struct guard_window* window = guard->window;
  uint32_t* const slot = guard->slot;
  const uint8_t fresh = guard->fresh;
  uint8_t w;
  /*@
    loop invariant 0 <= w <= guard->windows && window == guard->window + w;
    loop invariant limits_sound(guard) && all_kept(guard);
    loop invariant guard->end == \at(guard->end, Pre);
    loop assigns w, window, guard->window[0 .. guard->windows - 1].room,
                 guard->window[0 .. guard->windows - 1].current,
                 guard->window[0 .. guard->windows - 1].until, guard->slot[0 .. guard->slots_in_all - 1];
    loop variant guard->windows - w;
  */
  for (w = 0; w < guard->windows; ++w, ++window) {
    /*@ assert window_sound(window) && window->first + window->slots <= guard->slots_in_all; */
    /*@ assert kept(window, guard->slot + window->first, 0); */
    /*@ assert \separated(guard, window, guard->slot + window->first + (0 .. window->slots - 1)); */
    /*@ ghost Before: ; */
    const uint8_t taken = take(window, slot + window->first, fresh, rise, window->counts_starts ? 1 : cost);
    /*@ assert \forall integer v; 0 <= v < guard->windows ==>
          guard->window[v].slot_ticks == \at(guard->window[v].slot_ticks, Before); */
    /*@ assert limits_sound(guard); */
    /*@ assert unchanged{Before, Here}(guard->slot, 0, window->first); */
    /*@ assert unchanged{Before, Here}(guard->slot, window->first + window->slots, guard->slots_in_all); */
    /*@ assert \forall integer v; 0 <= v < guard->windows && v != w ==>
          sum(guard->slot, guard->window[v].first, guard->window[v].slots) ==
          sum{Before}(guard->slot, guard->window[v].first, guard->window[v].slots); */
    /*@ assert \forall integer v; 0 <= v < guard->windows && v != w ==>
          kept(guard->window + v, guard->slot, guard->window[v].first); */
    /*@ assert kept(window, guard->slot, window->first); */
    if (!taken) return 0;
  }
  return 1;
}

/*@
  requires \valid_read(guard);
  assigns \nothing;
  ensures \result != 0 <==>
          (guard->fresh != 0 || guard->gap_min <= between(guard->end, rise) < 0x80000000);
*/
static uint8_t gap_is_held(const struct guard* guard, uint32_t rise) {
  const uint32_t gap = ticks_between(guard->end, rise);
  return guard->fresh || (gap >= guard->gap_min && gap < PAST);
}

void guard_begin(struct guard* guard) {
  uint16_t k;
  uint8_t w;
  guard->fresh = 1;
  guard->end = 0;
  /*@
    loop invariant 0 <= w <= guard->windows && \forall integer v; 0 <= v < w ==>
                     guard->window[v].room == guard->window[v].allowance && guard->window[v].current == 0;
    loop invariant \forall integer v; 0 <= v < guard->windows ==>
                     guard->window[v].slot_ticks == \at(guard->window[v].slot_ticks, Pre);
    loop assigns w, guard->window[0 .. guard->windows - 1].room,
                 guard->window[0 .. guard->windows - 1].current;
    loop variant guard->windows - w;
  */
  for (w = 0; w < guard->windows; ++w) {
    guard->window[w].room = guard->window[w].allowance;
    guard->window[w].current = 0;
  }
  /*@
    loop invariant 0 <= k <= guard->slots_in_all && \forall integer i; 0 <= i < k ==> guard->slot[i] == 0;
    loop invariant \forall integer v; 0 <= v < guard->windows ==>
                     guard->window[v].slot_ticks == \at(guard->window[v].slot_ticks, Pre);
    loop assigns k, guard->slot[0 .. guard->slots_in_all - 1];
    loop variant guard->slots_in_all - k;
  */
  for (k = 0; k < guard->slots_in_all; ++k) guard->slot[k] = 0;
  /*@ assert zeros(guard->slot, guard->slots_in_all); */
  /*@ assert limits_sound(guard); */
  /*@ assert \forall integer v; 0 <= v < guard->windows ==>
        sum(guard->slot, guard->window[v].first, guard->window[v].slots) == 0; */
}

void guard_rest(struct guard* guard, uint32_t now) {
  const uint32_t since = ticks_between(guard->end, now);
  if (since >= guard->memory_ticks && since < PAST) guard->fresh = 1;
}

uint16_t guard_grant(struct guard* guard, uint32_t rise, uint16_t on) {
  if (on > guard->on_max) on = guard->on_max;
  if (on == 0 || !gap_is_held(guard, rise)) return 0;
  if (!take_in_all(guard, rise, on + guard->stretch)) return 0;
  /*@ ghost Taken: ; */
  guard->end = moment_after(rise, on);
  guard->fresh = 0;
  /*@ assert unchanged{Taken, Here}(guard->slot, 0, guard->slots_in_all); */
  /*@ assert limits_sound(guard); */
  /*@ assert \forall integer v; 0 <= v < guard->windows ==>
        sum(guard->slot, guard->window[v].first, guard->window[v].slots) ==
        sum{Taken}(guard->slot, guard->window[v].first, guard->window[v].slots); */
  return on;
}
