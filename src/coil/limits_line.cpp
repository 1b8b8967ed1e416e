#include "burstloom/coil/limits_line.hpp"

#include "burstloom/common/words.hpp"

namespace burstloom {

std::string limits_in_a_line(const Profile& profile) {
  const Limits& limits = profile.limits;
  std::string line = "on-time at most " + with_unit(limits.on_time_max_us, "us") + ", gap at least " +
                     with_unit(limits.gap_us, "us") + ", duty at most ";
  for (const DutyLimit& duty : limits.duty)
    line += (&duty == &limits.duty.front() ? "" : " and ") + figure(duty.percent) + " % of any " +
            figure(duty.window_ms) + " ms";
  return line + ", peak current " +
         (limits.peak_current_a ? "at most " + figure(*limits.peak_current_a) + " A" : "not limited");
}

}  // namespace burstloom
