#include "train_limits.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"
#include "burstloom/common/words.hpp"

namespace burstloom::weave_detail {

TrainLimits train_limits(const Profile& profile, std::int64_t tick_hz) {
  const CommandLimits limits = command_limits(profile);
  const double closest_us = limits.on_time_min_us + limits.gap_us + 2e6 / static_cast<double>(tick_hz);
  const double gap = limits.gap_us * static_cast<double>(tick_hz) / 1e6;
  return {std::min(1e6 / closest_us, profile.limits.break_rate_hz.value_or(1e6)),
          std::max<Tick>(1, static_cast<Tick>(std::ceil(gap - 1e-6)))};
}

void require_sane(const WeaveOptions& options) {
  const auto refuse = [](const std::string& what, const std::string& allowed) {
    return Error(Fault::usage, what, "", allowed);
  };
  if (options.voices < 1 || options.voices > 16)
    throw refuse(std::to_string(options.voices) + " voices", "choose 1 to 16");
  if (!(options.cap_of_period >= 0 && options.cap_of_period <= 0.5))
    throw refuse("a cap of " + figure(options.cap_of_period) + " periods", "choose one from 0 to 0.5");
  if (options.tick_hz < kLowestTickHz || options.tick_hz > kHighestTickHz)
    throw refuse("a tick rate of " + std::to_string(options.tick_hz) + " Hz",
                 "choose one from 1000 to 100000000 Hz");
}

}  // namespace burstloom::weave_detail
