#include "gate_limits.hpp"

#include <algorithm>
#include <cmath>

#include "burstloom/common/error.hpp"

namespace burstloom::guard_detail {
namespace {

// A decimal such as 4.1 us is no exact double: what lies within a millionth of a tick of a whole one is
// whole.
double nearly_whole(double ticks) {
  const double whole = std::round(ticks);
  return std::abs(ticks - whole) < 1e-6 ? whole : ticks;
}
// Far over any limit that a profile may give, and far enough under 2^63 for sums over ten million bursts.
constexpr double kLongest = 1e11;
Tick rounded_down(double ticks) {
  return static_cast<Tick>(std::floor(nearly_whole(std::clamp(ticks, -1.0, kLongest))));
}
Tick rounded_up(double ticks) {
  return static_cast<Tick>(std::ceil(nearly_whole(std::clamp(ticks, 0.0, kLongest))));
}

}  // namespace

void require_tick_rate(std::int64_t tick_hz) {
  if (tick_hz < kLowestTickHz || tick_hz > kHighestTickHz)
    throw Error(Fault::usage, "a tick rate of " + std::to_string(tick_hz) + " Hz", "",
                "choose one from 1000 to 100000000 Hz");
}

GateLimits gate_limits(const Profile& profile, std::int64_t tick_hz) {
  const Limits& given = profile.limits;
  const CommandLimits command = command_limits(profile);
  const double per_us = static_cast<double>(tick_hz) / 1e6;
  const double tolerance = profile.drive.clock_tolerance_percent / 100;
  const double slowest = 1 + tolerance, fastest = 1 - tolerance;

  GateLimits limits;
  limits.stretch = rounded_up(profile.drive.pulse_stretch_ns / 1e3 * per_us);
  constexpr Cause causes[] = {Cause::on_time_max, Cause::peak_current, Cause::tank_voltage,
                              Cause::switch_voltage};  // in the order of LongestBurst
  limits.on_max_cause = causes[static_cast<std::size_t>(command.bound_by)];
  limits.on_max = rounded_down(command.on_time_max_us * per_us) + limits.stretch;
  limits.on_min = std::max<Tick>(1, rounded_up(command.on_time_min_us * per_us)) + limits.stretch;
  limits.gap = std::max<Tick>(1, rounded_up(command.gap_us * per_us) - limits.stretch);
  for (const DutyLimit& duty : given.duty) {
    const double window = duty.window_ms * 1e3 * per_us;
    limits.duty.push_back(
        {rounded_up(window / fastest), rounded_down(window * (duty.percent / 100) / slowest)});
  }
  if (given.break_rate_hz) {
    limits.start_window = rounded_up(0.1 * static_cast<double>(tick_hz) / fastest);
    limits.most_starts = rounded_down(*given.break_rate_hz / 10);
  }
  return limits;
}

std::vector<CountLimit> count_limits(const GateLimits& limits) {
  std::vector<CountLimit> counts;
  if (limits.start_window > 0)
    counts.push_back({limits.start_window, limits.most_starts, bit(Cause::break_rate)});
  for (std::size_t i = 0; i < limits.duty.size(); ++i)
    counts.push_back({limits.duty[i].window, limits.duty[i].allowance / limits.on_min, bit(Cause::duty, i)});
  return counts;
}

}  // namespace burstloom::guard_detail
