#include <algorithm>

#include "burstloom/coil/profile.hpp"

namespace burstloom {

CommandLimits command_limits(const Profile& profile) {
  const double tolerance = profile.drive.clock_tolerance_percent / 100;
  const double stretch_us = profile.drive.pulse_stretch_ns / 1e3;
  CommandLimits limits;
  double longest_us = profile.limits.on_time_max_us;
  if (const auto by_current = longest_on_time_for_current_us(profile);
      by_current && *by_current < longest_us) {
    longest_us = *by_current;
    limits.current_binds = true;
  }
  limits.on_time_max_us = std::max(0.0, (longest_us - stretch_us) / (1 + tolerance));
  limits.on_time_min_us = std::max(0.0, (profile.limits.on_time_min_us - stretch_us) / (1 - tolerance));
  limits.gap_us = (profile.limits.gap_us + stretch_us) / (1 - tolerance);
  return limits;
}

}  // namespace burstloom
