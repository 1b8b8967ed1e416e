// The level of a sound over time, smooth and never under the sound itself.
#pragma once

#include <vector>

#include "burstloom/listen/band_limited.hpp"

namespace burstloom::weave_detail {

class Level {
 public:
  /// Looks at the sound at `rate_hz` moments a second, for `length_s`.
  Level(const BandLimited& sound, double length_s, double rate_hz);

  [[nodiscard]] double highest() const { return highest_; }
  [[nodiscard]] double at(double seconds) const;

 private:
  std::vector<double> level_;  // one every kStep_s
  double highest_ = 0;
};

}  // namespace burstloom::weave_detail
