// The bursts in hand: one line in order of time, from which bursts are taken out as the limits demand.
#pragma once

#include <algorithm>
#include <cstdint>
#include <limits>
#include <vector>

#include "gate_limits.hpp"

namespace burstloom::guard_detail {

/// A length in ticks in 32 bits: what does not fit becomes the longest, or the shortest, that does.
class ShortTicks {
 public:
  constexpr ShortTicks(Tick ticks = 0)
      : ticks_(static_cast<std::int32_t>(std::clamp<Tick>(ticks, kLeast, kMost))) {}
  constexpr operator Tick() const { return ticks_; }

 private:
  static constexpr Tick kLeast = std::numeric_limits<std::int32_t>::min();
  static constexpr Tick kMost = std::numeric_limits<std::int32_t>::max();
  std::int32_t ticks_;
};

/// 1 to kHeaviest, in 16 bits.
class Weight {
 public:
  constexpr Weight(std::uint32_t weight = 1)
      : above_one_(static_cast<std::uint16_t>(std::clamp<std::uint32_t>(weight, 1, kHeaviest) - 1)) {}
  constexpr operator std::uint32_t() const { return above_one_ + 1u; }

 private:
  std::uint16_t above_one_;
};

/// A wanted burst on its way to the stream, with all that has to be known of it in the end, so that the
/// wanted bursts need not be kept beside; on-times and gaps as the gate sees them. An hour has millions: it
/// is kept small.
struct Item {
  Tick start = 0;
  ShortTicks on{}, cap{};
  ShortTicks moved{};      ///< from where it was wanted
  ShortTicks wanted_on{};  ///< as it was wanted
  Weight weight{};
  std::uint16_t voice = 0;
  std::uint32_t wanted = 0;  ///< its index among the wanted bursts
  std::uint32_t note = 0;
  Causes causes = 0;  ///< and kDropped

  [[nodiscard]] Tick end() const { return start + on; }
  [[nodiscard]] bool dropped() const { return (causes & kDropped) != 0; }
  void drop(Causes why) { causes |= why | kDropped; }
  [[nodiscard]] Tick wanted_start() const { return start - moved; }
  void move_to(Tick to) {
    moved = moved + (to - start);
    start = to;
  }

  static constexpr Causes kDropped = Causes{1} << 31;
};
static_assert(sizeof(Item) == 40);
static_assert(static_cast<std::size_t>(Cause::duty) + kMostDutyWindows < 32);

/// A wanted burst as the gate would see it, its on-time brought into the coil's range, or dropped.
[[nodiscard]] Item item_of(const WantedBurst& wanted, std::size_t index, const GateLimits& limits);
/// What became of it.
[[nodiscard]] LedgerEntry entry_of(const Item& item, Tick stretch);

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
