// How much a burst matters when not all can be kept, or not all where they were wanted.
#pragma once

#include <algorithm>
#include <cmath>

#include "burstloom/score/score.hpp"
#include "burstloom/stream/wanted.hpp"

namespace burstloom::weave_detail {

/// The parts are further apart than the loudest note of one is from the softest of the next: a soft melody
/// outlasts a loud bass.
[[nodiscard]] inline std::uint32_t burst_weight(double velocity, Part role) {
  const double factor = role == Part::lead ? 32 : role == Part::bass ? 8 : role == Part::drums ? 4 : 1;
  return static_cast<std::uint32_t>(
      std::lround(256 * factor * (0.25 + 0.75 * std::clamp(velocity, 0.0, 1.0))));
}

/// A note's share of the power in a chord (weave.hpp: w).
[[nodiscard]] inline double power_share(Part role) {
  return role == Part::lead ? 4 : role == Part::bass ? 2 : 1;
}

}  // namespace burstloom::weave_detail
