// The bursts in hand: one line in order of time, from which bursts are taken out as the limits demand.
#pragma once

#include <vector>

#include "gate_limits.hpp"

namespace burstloom::guard_detail {

/// A wanted burst on its way to the stream; on-times and gaps as the gate sees them.
struct Item {
  Tick start = 0, on = 0, cap = 0;
  std::uint32_t weight = 1;
  std::uint32_t wanted = 0;  ///< its index among the wanted bursts
  Causes causes = 0;
  std::uint16_t voice = 0;
  bool dropped = false;

  [[nodiscard]] Tick end() const { return start + on; }
  void drop(Causes why) {
    dropped = true;
    causes |= why;
  }
};

/// A wanted burst as the gate would see it, its on-time brought into the coil's range, or dropped.
[[nodiscard]] Item item_of(const WantedBurst& wanted, std::size_t index, const GateLimits& limits);
/// What became of it.
[[nodiscard]] LedgerEntry entry_of(const Item& item, const WantedBurst& wanted, Tick stretch);

/// Items in order of time, and those that had to go.
struct Line {
  std::vector<Item> items;
  std::vector<Item> gone;

  void take_out_dropped();
};

/// Drops the least important items until every window holds no more than it can even with every burst as
/// short as it may be: break rate, and each duty window at the shortest on-time. Even within a voice: every
/// second burst first, then every fourth.
void thin_out(Line& line, const GateLimits& limits);

/// Whether every such window holds as things are.
[[nodiscard]] bool starts_hold(const std::vector<Item>& items, const GateLimits& limits);

/// Turns passages down until every duty window holds: on-times are drawn towards the shortest by a gain that
/// looks ahead and changes smoothly, so that a loud passage gets softer as a whole instead of being chopped.
void turn_down(Line& line, const GateLimits& limits);

/// How hard an item is to move: 16 times the cube root of its weight. What is worth keeping ten times as much
/// is not worth ten times the move: in proportion, the light would do all the moving and sound the worse for
/// it.
[[nodiscard]] std::uint32_t inertia(const Item& item);

/// Moves bursts as little as possible (least squares weighted by inertia) so that every gap holds, in the
/// given order and within each one's cap; where no placement can do that, drops the least weight that makes
/// room.
void place_with_gaps(Line& line, Tick gap);

/// Moves bursts as a player does while it plays: each as early as what was settled before it lets it, or not
/// at all (weaver.h). Throws Error (usage) where on-time and gap together are too long for the player's
/// clock.
void weave_causally(Line& line, const GateLimits& limits);

/// The last word on duty, exact, for items that do not overlap: trims or drops, in order of time, what still
/// passes a window.
void enforce_duty(Line& line, const GateLimits& limits);

}  // namespace burstloom::guard_detail
