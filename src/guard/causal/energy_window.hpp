// One window over energy (supply, tank current) and the bursts made so far.
#pragma once

#include <cstdint>
#include <vector>

#include "burdens.hpp"
#include "leaky_bucket.hpp"
#include "sliding_window.hpp"
#include "voice_loads.hpp"

namespace burstloom::guard_detail {

/// Bursts count by their weights, as whole parts of what is allowed, rounded up: their sum never drifts.
class EnergyWindow {
 public:
  /// Remembers `capacity` bursts, as many as the window may hold.
  EnergyWindow(const Burdens::Window& window, std::size_t capacity, Tick on_min);

  /// What the on-times' part above the shortest is to be turned down by.
  [[nodiscard]] double gain(std::span<const VoiceLoad> loads, Tick now);
  /// The longest on-time up to `on` of a burst at `start` for which every window holds; less than the
  /// shortest where none does. Starts never fall.
  [[nodiscard]] Tick longest(Tick start, Tick on);
  void add(Tick start, Tick on);
  /// The part of the allowance that is used up.
  [[nodiscard]] double usage(Tick now) const { return static_cast<double>(made_.sum_from(now)) / kWhole; }
  [[nodiscard]] Causes cause() const { return cause_; }

 private:
  static constexpr double kWhole = 0x1p40;  // the allowance

  [[nodiscard]] double rate(std::span<const VoiceLoad> loads, double gain) const;
  [[nodiscard]] std::int64_t part(Tick on) const { return parts_[static_cast<std::size_t>(on)]; }

  std::vector<std::int64_t> parts_;  // by ticks at the gate
  SlidingWindow made_;
  LeakyBucket bucket_;
  Tick on_min_;
  Causes cause_;
};

}  // namespace burstloom::guard_detail
