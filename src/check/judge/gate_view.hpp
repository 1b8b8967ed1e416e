// What the gate sees of a stream, and the profile's timing limits in the stream's ticks: the judge's own
// sums.
#pragma once

#include <algorithm>
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

/// A quantity at its worst.
struct Worst {
  double value = 0;
  Tick at = 0;
  void update(double other, Tick when) {
    if (other > value) value = other, at = when;
  }
};

/// Later than any start.
inline constexpr Tick kNever = 2 * kEndOfTime;

/// Joins bursts that touch or that are parted by a dip of at most `dip` ticks.
class Joiner {
 public:
  explicit Joiner(Tick dip) : dip_(dip) {}

  /// Calls `done(interval, start of the next)` for the interval that this burst shows to be complete.
  template <class Done>
  void take(const Burst& burst, Done done) {
    if (open_.end >= 0 && burst.start <= open_.end + dip_) {
      open_.end = burst.end();
      return;
    }
    if (open_.end >= 0) done(open_, burst.start);
    open_ = {burst.start, burst.end()};
  }
  template <class Done>
  void finish(Done done) {
    if (open_.end >= 0) done(open_, kNever);
  }

 private:
  Tick dip_;
  Interval open_{-1, -1};
};

/// The bursts of a whole stream, joined.
[[nodiscard]] std::vector<Interval> gate_view(const std::vector<Burst>& bursts, Tick dip);

/// Where an interval that starts at `start` ends when it is `longer` ticks longer (shorter if negative):
/// never past the next start.
[[nodiscard]] constexpr Tick lengthened(Tick start, Tick end, Tick longer, Tick next_start) {
  return std::min(std::max(start, end + longer), next_start);
}

/// What of a song plays a part when it starts again: its length, and the intervals near its ends.
struct SongEnds {
  Tick length = 0, first_start = 0, last_end = 0;
  std::vector<Interval> head, tail;  ///< as far as `reach_of_windows`; the same ones where the song is short
  Tick intervals = 0, on_time = 0;   ///< of the whole song, each with its stretch
};
/// No window, and no gap, reaches further than this.
[[nodiscard]] Tick reach_of_windows(const TickLimits& limits);

/// The shortest silence (ticks) after a song before it may start again: by trial, on the intervals near the
/// seam, against gap, duty windows and break rate. Any longer silence will do as well.
[[nodiscard]] Tick rest_before_repeat(const SongEnds& song, const TickLimits& limits, Tick resolution);

}  // namespace burstloom::judge_detail
