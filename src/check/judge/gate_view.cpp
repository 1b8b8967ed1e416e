#include "gate_view.hpp"

#include <algorithm>
#include <cmath>

#include "windows.hpp"

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

// The most on-time, stretch included, and the most starts in any window of `window` ticks.
Tick fullest(const std::vector<Interval>& gate, Tick window, Tick stretch) {
  std::vector<Interval> stretched = gate;
  for (std::size_t i = 0; i < gate.size(); ++i)
    stretched[i].end =
        lengthened(gate[i].start, gate[i].end, stretch, i + 1 < gate.size() ? gate[i + 1].start : kNever);
  FullestWindow fullest(window);
  for (std::size_t i = 0; i < gate.size(); ++i)
    fullest.take(
        stretched, i, [](const Interval& it) { return it.end; }, kIgnore);
  return fullest.worst().content;
}
Tick busiest(const std::vector<Interval>& gate, Tick window) {
  BusiestWindow busiest(window);
  for (std::size_t i = 0; i < gate.size(); ++i) busiest.take(gate, i, kIgnore);
  return busiest.worst().content;
}

// A song repeated indefinitely with the same rest: any window holds so many whole periods and a part of one
// more, and that part is found on two copies that follow each other.
class Repeated {
 public:
  Repeated(const SongEnds& song, const TickLimits& limits) : song_(song), limits_(limits) {}

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
    return dip + 1 - (song_.length - song_.last_end) - song_.first_start;
  }

  [[nodiscard]] bool holds_at(Tick rest) const {
    const Tick period = song_.length + rest;
    const Tick dip = period - song_.last_end + song_.first_start;
    if (dip > limits_.filled && dip < limits_.gap) return false;
    if (song_.intervals == 1 && dip <= limits_.stretch) return false;  // one burst without end
    const std::vector<Interval> seam = gate_view(around_the_seam(period), limits_.stretch);
    for (const Interval& interval : seam)
      if (interval.end - interval.start > limits_.on_max) return false;
    for (const WindowLimit& duty : limits_.duty) {
      const Tick part = duty.window % period;
      const Tick content = part > 0 ? fullest(seam, part, limits_.stretch) : 0;
      if (duty.window / period * song_.on_time + content > duty.allowance) return false;
    }
    if (limits_.starts.window == 0) return true;
    const Tick part = limits_.starts.window % period;
    const Tick starts = part > 0 ? busiest(seam, part) : 0;
    return limits_.starts.window / period * song_.intervals + starts <= limits_.starts.allowance;
  }

  // The end of one copy and the beginning of the next. Only whole intervals: a part of one would have a start
  // that is none.
  [[nodiscard]] std::vector<Burst> around_the_seam(Tick period) const {
    std::vector<Burst> shown;
    for (const Interval& it : song_.tail) shown.push_back({it.start, it.end - it.start});
    for (const Interval& it : song_.head) shown.push_back({it.start + period, it.end - it.start});
    return shown;
  }

  const SongEnds& song_;
  const TickLimits& limits_;
};

Tick longest_window(const TickLimits& limits) {
  Tick longest = std::max(limits.gap, limits.starts.window);
  for (const WindowLimit& duty : limits.duty) longest = std::max(longest, duty.window);
  return longest;
}

}  // namespace

Tick reach_of_windows(const TickLimits& limits) {
  return longest_window(limits) + limits.stretch + 1;
}

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

std::vector<Interval> gate_view(const std::vector<Burst>& bursts, Tick dip) {
  std::vector<Interval> gate;
  gate.reserve(bursts.size());
  Joiner joiner(dip);
  const auto done = [&](const Interval& interval, Tick) { gate.push_back(interval); };
  for (const Burst& burst : bursts) joiner.take(burst, done);
  joiner.finish(done);
  return gate;
}

Tick rest_before_repeat(const SongEnds& song, const TickLimits& limits, Tick resolution) {
  if (song.intervals == 0 || song.length <= 0) return 0;
  const Repeated repeated(song, limits);
  if (repeated.holds(0)) return 0;
  Tick too_short = 0, long_enough = reach_of_windows(limits);  // no window reaches across such a rest
  while (long_enough - too_short > resolution) {
    const Tick middle = too_short + (long_enough - too_short) / 2;
    (repeated.holds(middle) ? long_enough : too_short) = middle;
  }
  return long_enough;
}

}  // namespace burstloom::judge_detail
