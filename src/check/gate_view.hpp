// What the gate sees of a stream, and the profile's timing limits in the stream's ticks: the judge's own
// sums.
#pragma once

#include <vector>

#include "burstloom/check/judge.hpp"

namespace burstloom::judge_detail {

/// One window limit in ticks: at most `allowance` within any half-open window of `window` ticks.
struct WindowLimit {
  Tick window = 1;
  Tick allowance = 0;
};

/// The limits after rounding (a maximum down, a minimum up, a window up, its allowance down) and after giving
/// pulse stretch and clock tolerance their room: the longest window that a fast clock squeezes into the real
/// one, the longest on-times of a slow clock.
struct TickLimits {
  double ticks_per_us = 1, clock = 0, stretch_us = 0;
  Tick stretch = 0;
  Tick on_min = 1, on_max = 0, gap = 1;
  Tick filled = 0;  ///< dips up to this are no gap: the stretch, if the coil needs no gap at all; else none
  std::vector<WindowLimit> duty;  ///< one for each of the profile's
  WindowLimit starts{0, 0};       ///< break rate; allowance 0 and window 0 where it is not limited
};
[[nodiscard]] TickLimits tick_limits(const Profile& profile, std::int64_t tick_hz, bool measured);

/// An interval of the gate, [start, end).
struct Interval {
  Tick start = 0, end = 0;
};

/// The stream's bursts, those that touch or that the stretch makes touch joined into one.
[[nodiscard]] std::vector<Interval> gate_view(const std::vector<Burst>& bursts, Tick stretch);

/// The same with every interval `longer` ticks longer (shorter if negative), never past the next start.
[[nodiscard]] std::vector<Interval> lengthened(const std::vector<Interval>& gate, Tick longer);

/// A window's worst content and where that window ends.
struct WorstWindow {
  Tick content = 0;
  Tick end = 0;
};
/// The most on-time within any half-open window of `window` ticks. Calls `each(window_end, content)` for
/// every window that ends where an interval ends; no window anywhere holds more than the fullest of these.
template <class Each>
WorstWindow fullest_window(const std::vector<Interval>& gate, Tick window, Each each) {
  WorstWindow worst;
  Tick whole = 0;  // on-time of intervals oldest..i, in full
  std::size_t oldest = 0;
  for (const Interval& now : gate) {
    whole += now.end - now.start;
    const Tick from = now.end - window;
    while (gate[oldest].end <= from) whole -= gate[oldest].end - gate[oldest].start, ++oldest;
    const Tick cut = from > gate[oldest].start ? from - gate[oldest].start : 0;
    const Tick content = whole - cut;
    each(now.end, content);
    if (content > worst.content) worst = {content, now.end};
  }
  return worst;
}

/// The most interval starts within any half-open window of `window` ticks, as `fullest_window`.
template <class Each>
WorstWindow busiest_window(const std::vector<Interval>& gate, Tick window, Each each) {
  WorstWindow worst;
  std::size_t oldest = 0;
  for (std::size_t i = 0; i < gate.size(); ++i) {
    while (gate[oldest].start <= gate[i].start - window) ++oldest;
    const auto content = static_cast<Tick>(i - oldest + 1);
    each(gate[i].start, content);
    if (content > worst.content) worst = {content, gate[i].start};
  }
  return worst;
}

/// The shortest silence (ticks) after a song of `length` before it may start again: by trial, on the bursts
/// near the seam, against gap, duty windows and break rate. Any longer silence will do as well.
[[nodiscard]] Tick rest_before_repeat(const std::vector<Burst>& bursts, Tick length, const TickLimits& limits,
                                      Tick resolution);

}  // namespace burstloom::judge_detail
