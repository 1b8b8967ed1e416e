#include "gate_view.hpp"

#include <algorithm>
#include <cmath>

namespace burstloom::judge_detail {
namespace {

// Decimal figures such as 4.1 us have no exact double; a millionth of a tick is no difference.
constexpr double kSnap = 1e-6;

Tick down(double ticks) {
  return static_cast<Tick>(std::floor(std::clamp(ticks + kSnap, -1.0, 1e15)));
}
Tick up(double ticks) {
  return static_cast<Tick>(std::ceil(std::clamp(ticks - kSnap, 0.0, 1e15)));
}

bool within(const std::vector<Interval>& gate, const TickLimits& limits) {
  for (std::size_t i = 1; i < gate.size(); ++i)
    if (gate[i].start - gate[i - 1].end < limits.gap) return false;
  const auto ignore = [](Tick, Tick) {};
  const auto stretched = lengthened(gate, limits.stretch);
  for (const WindowLimit& duty : limits.duty)
    if (fullest_window(stretched, duty.window, ignore).content > duty.allowance) return false;
  return limits.starts.window == 0 ||
         busiest_window(gate, limits.starts.window, ignore).content <= limits.starts.allowance;
}

Tick longest_window(const TickLimits& limits) {
  Tick longest = std::max(limits.gap, limits.starts.window);
  for (const WindowLimit& duty : limits.duty) longest = std::max(longest, duty.window);
  return longest;
}

// Repeats of the song with `rest` between them, as much of them as any window can see at once.
std::vector<Interval> around_the_seam(const std::vector<Burst>& bursts, Tick length, Tick rest, Tick reach,
                                      Tick stretch) {
  std::vector<Burst> shown;
  const Tick period = length + rest;
  if (length >= reach) {
    for (const Burst& burst : bursts)
      if (burst.end() > length - reach) shown.push_back(burst);
    for (const Burst& burst : bursts) {
      if (burst.start >= reach) break;
      shown.push_back({burst.start + period, burst.on});
    }
  } else {
    for (Tick offset = 0; offset <= reach + period; offset += period)
      for (const Burst& burst : bursts) shown.push_back({burst.start + offset, burst.on});
  }
  return gate_view(shown, stretch);
}

}  // namespace

TickLimits tick_limits(const Profile& profile, std::int64_t tick_hz, bool measured) {
  const Limits& given = profile.limits;
  TickLimits limits;
  limits.ticks_per_us = static_cast<double>(tick_hz) / 1e6;
  limits.clock = measured ? 0.0 : profile.drive.clock_tolerance_percent / 100;
  limits.stretch_us = profile.drive.pulse_stretch_ns / 1000;
  const double slow = 1 + limits.clock, fast = 1 - limits.clock, per_us = limits.ticks_per_us;
  limits.stretch = up(limits.stretch_us * per_us);
  limits.on_max = down((given.on_time_max_us - limits.stretch_us) / slow * per_us);
  limits.on_min = std::max<Tick>(1, up((given.on_time_min_us - limits.stretch_us) / fast * per_us));
  limits.gap = up((given.gap_us + limits.stretch_us) / fast * per_us);
  for (const DutyLimit& duty : given.duty) {
    const double window = duty.window_ms * 1000 * per_us;
    limits.duty.push_back({up(window / fast), down(window * duty.percent / 100 / slow)});
  }
  if (given.break_rate_hz) limits.starts = {up(1e5 * per_us / fast), down(*given.break_rate_hz / 10)};
  return limits;
}

std::vector<Interval> gate_view(const std::vector<Burst>& bursts, Tick stretch) {
  std::vector<Interval> gate;
  gate.reserve(bursts.size());
  for (const Burst& burst : bursts) {
    if (!gate.empty() && burst.start <= gate.back().end + stretch)
      gate.back().end = burst.end();
    else
      gate.push_back({burst.start, burst.end()});
  }
  return gate;
}

std::vector<Interval> lengthened(const std::vector<Interval>& gate, Tick longer) {
  std::vector<Interval> result = gate;
  if (longer == 0) return result;
  for (std::size_t i = 0; i < result.size(); ++i) {
    result[i].end = std::max(result[i].start, result[i].end + longer);
    if (i + 1 < result.size()) result[i].end = std::min(result[i].end, result[i + 1].start);
  }
  return result;
}

Tick rest_before_repeat(const std::vector<Burst>& bursts, Tick length, const TickLimits& limits,
                        Tick resolution) {
  if (bursts.empty()) return 0;
  const Tick reach = longest_window(limits) + limits.stretch + 1;
  const auto enough = [&](Tick rest) {
    return within(around_the_seam(bursts, length, rest, reach, limits.stretch), limits);
  };
  if (enough(0)) return 0;
  Tick too_short = 0, long_enough = reach;  // no window reaches across a rest of `reach`
  while (long_enough - too_short > resolution) {
    const Tick middle = too_short + (long_enough - too_short) / 2;
    (enough(middle) ? long_enough : too_short) = middle;
  }
  return long_enough;
}

}  // namespace burstloom::judge_detail
