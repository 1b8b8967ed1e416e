// Whether the next place holds a burst: pulse-density modulation.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "burstloom/stream/burst.hpp"

namespace burstloom::weave_detail {

/// A sigma-delta modulator of second order. It is chaotic: the smallest difference in what it is asked for
/// would soon be another pattern of bursts. So it counts in whole numbers, and what it is asked for is
/// rounded to a grid that is coarse beside the last bits of a sum of doubles, and fine beside any noise.
class DensityModulator {
 public:
  /// Whether there is a burst, of `on` ticks, where the sound asks for the part `density` of it.
  bool fires(double density, Tick on) {
    const std::int64_t whole = on * kGrid;
    const std::int64_t wanted = on * std::llround(density * kGrid) + 2 * error_ - error_before_;
    const bool fires = 2 * wanted >= whole;
    error_before_ = error_;
    error_ = std::clamp(wanted - (fires ? whole : 0), -whole, whole);
    return fires;
  }

 private:
  static constexpr std::int64_t kGrid = std::int64_t{1} << 20;
  std::int64_t error_ = 0,
               error_before_ = 0;  // quantisation error: ticks on the grid, asked for and not given
};

}  // namespace burstloom::weave_detail
