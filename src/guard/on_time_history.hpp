// The bursts kept so far, as a duty window looks back at them.
#pragma once

#include <algorithm>
#include <bit>
#include <cstdint>
#include <vector>

#include "gate_limits.hpp"

namespace burstloom::guard_detail {

/// Remembers the last `capacity` bursts, in order of time and without overlap, with running sums of their
/// on-times, and has a hand that follows the window's start. Allocates nothing once it stands.
class OnTimeHistory {
 public:
  explicit OnTimeHistory(std::size_t capacity) : ring_(std::bit_ceil(std::max<std::size_t>(1, capacity))) {}

  void add(Tick start, Tick on) {
    at(count_++) = {start, on, sum_};
    sum_ += on;
  }

  struct Since {
    Tick content = 0;  ///< on-time at or after a moment
    Tick cut = 0;      ///< of the burst that the moment cuts, the part before it
  };

  /// The hand moves to the first burst that reaches past `from`; it moves little, as `from` goes with the
  /// bursts. What is forgotten must lie before `from`.
  Since since(Tick from) {
    hand_ = std::max(hand_, forgotten());
    while (hand_ > forgotten() && at(hand_ - 1).end() > from) --hand_;
    while (hand_ < count_ && at(hand_).end() <= from) ++hand_;
    if (hand_ == count_) return {};
    const Entry& oldest = at(hand_);
    const Tick cut = std::clamp<Tick>(from - oldest.start, 0, oldest.on);
    return {sum_ - oldest.sum_before - cut, cut};
  }

 private:
  struct Entry {
    Tick start = 0, on = 0, sum_before = 0;
    [[nodiscard]] Tick end() const { return start + on; }
  };
  [[nodiscard]] std::size_t forgotten() const { return count_ > ring_.size() ? count_ - ring_.size() : 0; }
  Entry& at(std::size_t i) { return ring_[i & (ring_.size() - 1)]; }

  std::vector<Entry> ring_;
  std::size_t count_ = 0, hand_ = 0;
  Tick sum_ = 0;
};

/// The longest on-time up to `on` for which the window that ends with the burst holds; 0 or less where none
/// does. A shorter burst ends earlier, so its window reaches further back: while that uncovers a burst it was
/// cutting, nothing is won, so the next try is the one that has all of that burst inside and then gives up
/// the excess.
[[nodiscard]] inline Tick longest_that_holds(Tick start, Tick on, const DutyBudget& budget,
                                             OnTimeHistory& history) {
  while (on > 0) {
    const auto [content, cut] = history.since(start + on - budget.window);
    const Tick excess = on + content - budget.allowance;
    if (excess <= 0) break;
    on -= excess + cut;
  }
  return on;
}

}  // namespace burstloom::guard_detail
