// A sliding window over the bursts made so far, with memory for as many as it can ever hold.
#pragma once

#include <bit>
#include <cstdint>
#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom::guard_detail {

/// Bursts by their starts, each with a weight; sums are whole numbers, so that they never drift. Allocates
/// nothing once it stands.
class SlidingWindow {
 public:
  /// Holds the starts of the last `window` ticks, of which there are never more than `capacity`.
  SlidingWindow(Tick window, std::size_t capacity) : window_(window), ring_(std::bit_ceil(capacity + 1)) {}

  /// Forgets what started `window` or more before `now`.
  void look_from(Tick now) {
    for (; oldest_ < count_ && at(oldest_).start <= now - window_; ++oldest_) sum_ -= at(oldest_).weight;
  }
  void add(Tick start, std::int64_t weight) {
    at(count_++) = {start, weight};
    sum_ += weight;
  }
  [[nodiscard]] std::int64_t sum() const { return sum_; }
  /// What `look_from(now)` would leave.
  [[nodiscard]] std::int64_t sum_from(Tick now) const {
    std::int64_t sum = sum_;
    for (std::size_t i = oldest_; i < count_ && at(i).start <= now - window_; ++i) sum -= at(i).weight;
    return sum;
  }

 private:
  struct Entry {
    Tick start = 0;
    std::int64_t weight = 0;
  };
  Entry& at(std::size_t i) { return ring_[i & (ring_.size() - 1)]; }
  [[nodiscard]] const Entry& at(std::size_t i) const { return ring_[i & (ring_.size() - 1)]; }

  Tick window_;
  std::vector<Entry> ring_;
  std::size_t count_ = 0, oldest_ = 0;
  std::int64_t sum_ = 0;
};

}  // namespace burstloom::guard_detail
