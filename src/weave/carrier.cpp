#include "carrier.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "burstloom/common/error.hpp"

namespace burstloom::weave_detail {
namespace {

constexpr double kLeastSwing = 3;  // longest on-time over the shortest, below which little is carried
constexpr double kFastest = 100e3, kSlowest = 50;
// Windows shorter than this may lie within one swing of the sound: every burst in them may be a longest one.
constexpr double kSwing_ms = 25;

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g", value);
  return text;
}

// The longest on-time at a rate, and the limit that says so.
struct Longest {
  double us = 0;
  std::string bound_by;
};

Longest longest_at(double rate_hz, const Profile& profile, const CarrierUse& use) {
  const CommandLimits limits = command_limits(profile);
  const double period_us = 1e6 / rate_hz, clock = 1 - profile.drive.clock_tolerance_percent / 100;
  Longest longest{limits.on_time_max_us, name_of(limits.bound_by)};
  const auto shorten = [&](double us, const std::string& by) {
    if (us < longest.us) longest = {us, by};
  };
  // Two microseconds are left for rounding and for the noise shaping.
  shorten(period_us - limits.gap_us - 2, "gap");
  const double stretch_us = profile.drive.pulse_stretch_ns / 1e3;
  for (const DutyLimit& duty : profile.limits.duty) {
    const double window_us = duty.window_ms * 1000,
                 allowed_us = clock * clock * window_us * duty.percent / 100;
    const double places = window_us / period_us + 1;
    const std::string name = "duty " + number(duty.window_ms) + " ms";
    const double mean_us = allowed_us / (places * use.mean_density) - stretch_us;
    // The mean of the swing is what counts over long windows, its top over short ones.
    shorten(duty.window_ms < kSwing_ms ? mean_us * use.mean_density : 2 * mean_us - limits.on_time_min_us,
            name);
  }
  return longest;
}

double highest_rate(const Profile& profile, const CarrierUse& use) {
  const double clock = 1 - profile.drive.clock_tolerance_percent / 100;
  const auto& rate = profile.limits.break_rate_hz;
  // Counted in windows of 100 ms.
  return rate ? std::max(kSlowest, (clock * *rate - 10 * use.crowded) / use.mean_density) : kFastest;
}

Error no_room(const CarrierUse& use, double rate_hz, const Longest& longest, double shortest_us) {
  return {Fault::outside_limits,
          std::string("the limits leave no room for --how ") + use.name + " at " + number(rate_hz) +
              " bursts a second: " + longest.bound_by + " allows " + number(std::max(0.0, longest.us)) +
              " µs, the shortest burst is " + number(shortest_us) + " µs",
          "the profile", "choose a lower --carrier-hz or another way of listening"};
}

}  // namespace

Carrier carrier_for(const Profile& profile, const CarrierUse& use, std::optional<double> rate_hz) {
  const double shortest_us = std::max(command_limits(profile).on_time_min_us, 1.0);
  double rate = std::min(rate_hz.value_or(kFastest), highest_rate(profile, use));
  if (rate_hz && (!(*rate_hz >= kSlowest && *rate_hz <= kFastest) || *rate_hz > rate))
    throw Error(Fault::outside_limits, "a carrier of " + number(*rate_hz) + " Hz", "--carrier-hz",
                "choose one from " + number(kSlowest) + " to " + number(highest_rate(profile, use)) + " Hz");
  const double wanted_swing = rate_hz ? 1.2 : kLeastSwing;
  Longest longest = longest_at(rate, profile, use);
  while (!rate_hz && longest.us < wanted_swing * shortest_us && rate > kSlowest)
    longest = longest_at(rate *= 0.995, profile, use);
  if (longest.us < wanted_swing * shortest_us) throw no_room(use, rate, longest, shortest_us);
  return {rate, shortest_us, longest.us, use.band_per_rate * rate};
}

}  // namespace burstloom::weave_detail
