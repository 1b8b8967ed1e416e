// A note's train of bursts, in fixed point.
#pragma once

#include "burstloom/stream/burst.hpp"

namespace burstloom::weave_detail {

/// Moments, each a period after the one before. The period and the moment have 32 fractional bits: after ten
/// minutes at 12.5 kHz the sum is off by less than a thousandth of a tick. A new rate holds from the last
/// moment on: the train goes faster or slower, and never jumps.
class Train {
 public:
  /// Begins at the tick nearest to `start_s` >= 0; `hz` > 0 and at least tick_hz / 2^30.
  Train(double start_s, double hz, std::int64_t tick_hz);

  [[nodiscard]] Tick next() const { return whole_; }
  /// Ticks.
  [[nodiscard]] double period() const;
  void set_rate(double hz);
  void advance();

 private:
  double tick_hz_, hz_ = 0;
  Tick whole_ = 0;  // the moment to the nearest tick: the true one plus a half, rounded down
  // A train begins in the middle of its first tick, as a player's weaver has it.
  std::uint32_t fraction_ = 0x80000000u;
  std::uint64_t period_ = 0;  // ticks, 32 fractional bits
};

}  // namespace burstloom::weave_detail
