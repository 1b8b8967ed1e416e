// A coil with nothing but the limits that every profile must give, for weaving.
#pragma once

#include "burstloom/coil/profile.hpp"

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

}  // namespace burstloom::testing
