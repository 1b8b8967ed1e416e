// One duty window over the bursts made so far.
#pragma once

#include "leaky_bucket.hpp"
#include "on_time_history.hpp"
#include "voice_loads.hpp"

namespace burstloom::guard_detail {

class DutyWindow {
 public:
  /// Remembers `capacity` bursts, as many as the window may hold. Short windows, up to `short_window` ticks,
  /// turn down by the most that any window of them can hold; longer ones by what flows through a bucket.
  DutyWindow(const DutyBudget& budget, std::size_t capacity, Tick on_min, double short_window);

  /// What the on-times' part above the shortest is to be turned down by.
  [[nodiscard]] double gain(std::span<const VoiceLoad> loads, Tick now);
  /// The longest on-time up to `on` of a burst at `start` for which every window holds.
  [[nodiscard]] Tick longest(Tick start, Tick on);
  void add(Tick start, Tick on);
  /// The part of the allowance that is used up. It falls from the last burst's end on.
  [[nodiscard]] double usage(Tick now) const;

 private:
  DutyBudget budget_;
  OnTimeHistory history_;
  LeakyBucket bucket_;
  double on_min_;
  bool is_short_;
  Tick content_ = 0;  // of the window that ends with the last burst
  Tick end_ = 0;      // of the last burst
};

}  // namespace burstloom::guard_detail
