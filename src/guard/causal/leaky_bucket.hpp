// What a long window may take, let through evenly: the leaky bucket (the shaping of ITU-T I.371).
#pragma once

#include <algorithm>

#include "burstloom/stream/burst.hpp"

namespace burstloom::guard_detail {

/// What flows out of the bucket within a window is never more than `most`, as long as no more is taken than
/// `allowed_rate`. Steady music gets four fifths of the allowed rate indefinitely; a fifth of the allowance
/// is in store for what begins loud, and is given out ever more slowly, so that a held note gets softer
/// smoothly.
class LeakyBucket {
 public:
  /// `window` in ticks. Begins full.
  LeakyBucket(double most, double window)
      : rate_((1 - kStored) * most / window),
        depth_(kStored * most),
        stored_(depth_),
        drains_in_(window / 8) {}

  /// A time before one that was given already changes nothing.
  void advance_to(Tick now) {
    stored_ = std::min(depth_, stored_ + rate_ * static_cast<double>(std::max<Tick>(0, now - at_)));
    at_ = std::max(at_, now);
  }
  void take(double amount) { stored_ -= amount; }
  /// Per tick.
  [[nodiscard]] double allowed_rate() const { return std::max(0.0, rate_ + stored_ / drains_in_); }

 private:
  static constexpr double kStored = 0.2;
  double rate_, depth_, stored_, drains_in_;
  Tick at_ = 0;
};

}  // namespace burstloom::guard_detail
