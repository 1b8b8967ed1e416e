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

constexpr auto kIgnore = [](Tick, Tick) {};

// A song repeated for ever with the same rest: any window holds so many whole periods and a part of one more,
// and that part is found on two copies that follow each other.
class Repeated {
 public:
  Repeated(const std::vector<Burst>& bursts, Tick length, const TickLimits& limits, Tick reach)
      : bursts_(bursts),
        length_(length),
        limits_(limits),
        reach_(reach),
        song_(gate_view(bursts, limits.stretch)) {
    for (const Interval& interval : song_) on_time_ += interval.end - interval.start + limits.stretch;
  }

  // With this rest and any longer one. A longer rest is no worse, but for a last and a first burst that touch
  // or that the stretch joins: they grow as one until they part, and then are two.
  [[nodiscard]] bool holds(Tick rest) const {
    if (!holds_at(rest)) return false;
    for (const Tick critical :
         {parts_at(limits_.filled), parts_at(limits_.stretch) - 1, parts_at(limits_.stretch)})
      if (rest < critical && !holds_at(critical)) return false;
    return true;
  }

 private:
  // The shortest rest that leaves more than `dip` between two copies.
  [[nodiscard]] Tick parts_at(Tick dip) const {
    return dip + 1 - (length_ - bursts_.back().end()) - bursts_.front().start;
  }

  [[nodiscard]] bool holds_at(Tick rest) const {
    const Tick period = length_ + rest;
    const Tick dip = period - bursts_.back().end() + bursts_.front().start;
    if (dip > limits_.filled && dip < limits_.gap) return false;
    if (song_.size() == 1 && dip <= limits_.stretch) return false;  // one burst without end
    const std::vector<Interval> seam = gate_view(around_the_seam(period), limits_.stretch);
    for (const Interval& interval : seam)
      if (interval.end - interval.start > limits_.on_max) return false;
    const auto stretched = lengthened(seam, limits_.stretch);
    for (const WindowLimit& duty : limits_.duty) {
      const Tick part = duty.window % period;
      const Tick content = part > 0 ? fullest_window(stretched, part, kIgnore).content : 0;
      if (duty.window / period * on_time_ + content > duty.allowance) return false;
    }
    if (limits_.starts.window == 0) return true;
    const Tick part = limits_.starts.window % period;
    const Tick starts = part > 0 ? busiest_window(seam, part, kIgnore).content : 0;
    return limits_.starts.window / period * static_cast<Tick>(song_.size()) + starts <=
           limits_.starts.allowance;
  }

  // The end of one copy and the beginning of the next, as far as any window reaches. Only whole intervals: a
  // part of one would have a start that is none.
  [[nodiscard]] std::vector<Burst> around_the_seam(Tick period) const {
    std::vector<Burst> shown;
    const auto reaches = std::lower_bound(song_.begin(), song_.end(), length_ - reach_,
                                          [](const Interval& interval, Tick t) { return interval.end <= t; });
    const auto show = [&](const Interval& it, Tick later) {
      shown.push_back({it.start + later, it.end - it.start});
    };
    std::for_each(reaches, song_.end(), [&](const Interval& it) { show(it, 0); });
    for (const Interval& interval : song_) {
      if (interval.start >= reach_) break;
      show(interval, period);
    }
    return shown;
  }

  const std::vector<Burst>& bursts_;
  Tick length_;
  const TickLimits& limits_;
  Tick reach_;
  std::vector<Interval> song_;
  Tick on_time_ = 0;
};

Tick longest_window(const TickLimits& limits) {
  Tick longest = std::max(limits.gap, limits.starts.window);
  for (const WindowLimit& duty : limits.duty) longest = std::max(longest, duty.window);
  return longest;
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
  // A driver that adds less than stated lets a sliver of a dip through: where gaps are needed it is too
  // short.
  limits.filled = given.gap_us > 0 ? 0 : limits.stretch;
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
  if (bursts.empty() || length <= 0) return 0;
  const Tick reach = longest_window(limits) + limits.stretch + 1;  // no window reaches across such a rest
  const Repeated song(bursts, length, limits, reach);
  if (song.holds(0)) return 0;
  Tick too_short = 0, long_enough = reach;
  while (long_enough - too_short > resolution) {
    const Tick middle = too_short + (long_enough - too_short) / 2;
    (song.holds(middle) ? long_enough : too_short) = middle;
  }
  return long_enough;
}

}  // namespace burstloom::judge_detail
