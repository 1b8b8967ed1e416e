// The plainest coil and the plainest music to weave.
#pragma once

#include "burstloom/coil/profile.hpp"
#include "burstloom/score/score.hpp"

namespace burstloom::testing {

/// 4 to 50 us, 100 us of gap, a fifth of duty, exact clocks; no model of the primary.
inline Profile plain_profile() {
  Profile profile;
  profile.name = "plain";
  profile.drive.clock_tolerance_percent = 0;
  profile.limits.on_time_min_us = 4;
  profile.limits.on_time_max_us = 50;
  profile.limits.gap_us = 100;
  profile.limits.duty = {{1000, 20}};
  return profile;
}

/// One note from the start to the end.
inline Score held(double key, double seconds, double velocity = 1) {
  Score score;
  score.notes = {{0, seconds, key, velocity}};
  score.length_s = seconds;
  return score;
}

}  // namespace burstloom::testing
