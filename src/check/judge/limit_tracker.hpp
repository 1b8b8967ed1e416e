// What the judges of single limits share: the context they judge on, the tracker in which one limit's result
// is kept.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "burst_cost.hpp"
#include "gate_view.hpp"
#include "span_list.hpp"
#include "windows.hpp"

namespace burstloom::judge_detail {

/// What all limits are judged by.
struct JudgeContext {
  JudgeContext(const Profile& its_profile, std::int64_t its_tick_hz, const JudgeOptions& options)
      : profile(its_profile),
        tick_hz(its_tick_hz),
        limits(tick_limits(profile, tick_hz, options.measured)),
        unknown(static_cast<Tick>(std::ceil(options.tolerance_us * limits.ticks_per_us - 1e-6))) {}

  [[nodiscard]] double seconds(Tick t) const { return static_cast<double>(t) / static_cast<double>(tick_hz); }
  [[nodiscard]] double us(Tick t) const { return static_cast<double>(t) / limits.ticks_per_us; }
  [[nodiscard]] double on_at_gate_us(Tick on) const {
    return us(on) * (1 + limits.clock) + limits.stretch_us;
  }

  const Profile& profile;
  std::int64_t tick_hz;
  TickLimits limits;
  Tick unknown;  ///< how far, in ticks, an edge may be from where the capture shows it
};

/// An interval of the gate with all that the windows ask of it.
struct GateInterval {
  Tick start = 0, end = 0, stretched_end = 0, next_start = 0;
  [[nodiscard]] Tick on() const { return end - start; }
};

/// One limit's result and its violations.
struct LimitTracker {
  LimitTracker(std::string name, std::string unit, double allowed) {
    result.limit = std::move(name);
    result.unit = std::move(unit);
    result.allowed = allowed;
  }

  /// Lists a violation, or only counts it and marks its span when the list is full.
  void violate(double at_s, double value) {
    ++violations_in_all;
    const Violation violation{result.limit, result.unit, at_s, value, result.allowed};
    spans.add(violation);
    if (violations.size() < kViolationsListed) violations.push_back(violation);
  }

  LimitResult result;
  std::vector<Violation> violations;
  SpanList spans;
  std::int64_t violations_in_all = 0;
  /// Whether any value is past the limit whatever the edges' uncertainty, or could be.
  bool surely_past = false, perhaps_past = false;
  bool higher_is_better = false;
};

}  // namespace burstloom::judge_detail
