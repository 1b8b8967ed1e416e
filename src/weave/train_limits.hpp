// What trains of one coil may do, and which options make sense.
#pragma once

#include "burstloom/coil/profile.hpp"
#include "burstloom/weave/weave.hpp"

namespace burstloom::weave_detail {

struct TrainLimits {
  double highest_hz = 1e6;  ///< of notes whose bursts can follow one another at all
  Tick gap = 1;             ///< ticks from a burst's end to the next one's start, at least
};

[[nodiscard]] TrainLimits train_limits(const Profile& profile, std::int64_t tick_hz);

/// Throws Error (usage) for options out of range.
void require_sane(const WeaveOptions& options);

}  // namespace burstloom::weave_detail
