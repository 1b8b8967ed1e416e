// Where in its first period a note's train had best begin.
#pragma once

#include <vector>

#include "burstloom/stream/burst.hpp"

namespace burstloom::weave_detail {

/// A train of bursts that goes on: its next one, its period (ticks, at least 1), and how long each keeps the
/// coil.
struct Sequence {
  Tick next = 0;
  double period = 1;
  Tick busy = 0;  ///< on-time and the gap after it
};

/// By how many ticks, 0 to `latest`, the newcomer had best begin later so that its bursts collide least with
/// those of the others: the sum of the squared overlaps over its first 64 bursts, for 32 evenly spaced
/// beginnings. The earliest of equals. (Sequences whose periods are in a simple ratio can then interlock
/// without any collision.)
[[nodiscard]] Tick best_delay(const Sequence& newcomer, const std::vector<Sequence>& others, Tick latest);

}  // namespace burstloom::weave_detail
