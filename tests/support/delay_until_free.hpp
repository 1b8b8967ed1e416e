// The plain way to settle collisions, to compare with: a burst waits until the coil is free, and is lost when
// it would have to wait longer than its cap.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "burstloom/stream/burst.hpp"

namespace burstloom::testing {

struct Delayed {
  std::size_t lost = 0;
  std::uint64_t weight_lost = 0;
  double rms_move = 0;  ///< ticks, of those that play
};

/// `items` in order of start, each with start, on, cap and weight.
template <class Items>
Delayed delay_until_free(const Items& items, Tick gap) {
  Delayed result;
  Tick free = 0;
  double squares = 0;
  std::size_t played = 0;
  for (const auto& item : items) {
    const Tick at = std::max(item.start, free);
    if (at - item.start > item.cap) {
      ++result.lost;
      result.weight_lost += item.weight;
      continue;
    }
    squares += static_cast<double>(at - item.start) * static_cast<double>(at - item.start);
    ++played;
    free = at + item.on + gap;
  }
  if (played > 0) result.rms_move = std::sqrt(squares / static_cast<double>(played));
  return result;
}

}  // namespace burstloom::testing
