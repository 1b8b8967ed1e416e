// On-time, gap, break rate and duty, each judged by itself as intervals come in order.
// What is asked of a single on-time says whether it is past the limit: others as long need no second look, if
// not.
#pragma once

#include <optional>
#include <span>

#include "limit_tracker.hpp"

namespace burstloom::judge_detail {

class OnTimeMax {
 public:
  explicit OnTimeMax(const JudgeContext& context)
      : context_(context), tracker_("on-time max", "us", context.profile.limits.on_time_max_us) {}
  /// `is_cut`: by the capture's start or end; then it is at least as long as it looks.
  bool take(const GateInterval& interval, bool is_cut);
  [[nodiscard]] LimitTracker finish();
  [[nodiscard]] Tick longest() const { return longest_; }

 private:
  const JudgeContext& context_;
  LimitTracker tracker_;
  Tick longest_ = 0;
};

class OnTimeMin {
 public:
  explicit OnTimeMin(const JudgeContext& context)
      : context_(context), tracker_("on-time min", "us", context.profile.limits.on_time_min_us) {}
  bool take(const GateInterval& interval, bool is_cut);
  [[nodiscard]] LimitTracker finish();

 private:
  [[nodiscard]] double at_gate_us(Tick on) const {
    return context_.us(on) * (1 - context_.limits.clock) + context_.limits.stretch_us;
  }
  const JudgeContext& context_;
  LimitTracker tracker_;
  Tick shortest_ = kEndOfTime;
};

class Gap {
 public:
  explicit Gap(const JudgeContext& context)
      : context_(context),
        tracker_("gap", "us", context.profile.limits.gap_us),
        joiner_(context.limits.filled) {}
  void take(std::span<const Burst> block);
  [[nodiscard]] LimitTracker finish(Tick length);

 private:
  void see(Tick gap, Tick next_start);
  [[nodiscard]] double at_gate_us(Tick gap) const {
    return context_.us(gap) * (1 - context_.limits.clock) - context_.limits.stretch_us;
  }
  const JudgeContext& context_;
  LimitTracker tracker_;
  Joiner joiner_;
  Tick shortest_ = kEndOfTime;
};

/// For windows that come in order: one violation for each run of overlapping windows past the limit, with the
/// worst of them.
class ViolationRuns {
 public:
  ViolationRuns(const JudgeContext& context, const WindowLimit& allowed, double unit)
      : context_(context), allowed_(allowed), unit_(unit) {}
  void see_past(LimitTracker& tracker, Tick end, Tick content);

 private:
  const JudgeContext& context_;
  WindowLimit allowed_;
  double unit_;
  Tick worst_ = 0, last_ = -kEndOfTime;
};

/// Where edges are uncertain, windows surely and perhaps as full: of fewer and of more than what is seen.
class BreakRate {
 public:
  explicit BreakRate(const JudgeContext& context);
  /// The intervals from this number on.
  void take(const RingBuffer<GateInterval>& gate, std::size_t from);
  [[nodiscard]] LimitTracker finish();
  [[nodiscard]] std::size_t oldest() const;

 private:
  const JudgeContext& context_;
  LimitTracker tracker_;
  ViolationRuns runs_;
  BusiestWindow worst_, in_stream_;
  std::optional<BusiestWindow> surely_, perhaps_;  // where edges are uncertain
};

class Duty {
 public:
  Duty(const JudgeContext& context, std::size_t which);
  /// The intervals from this number on.
  void take(const RingBuffer<GateInterval>& gate, std::size_t from);
  [[nodiscard]] LimitTracker finish();
  [[nodiscard]] std::size_t oldest() const;

 private:
  const JudgeContext& context_;
  LimitTracker tracker_;
  Tick allowance_;
  double window_ticks_, percent_per_tick_;
  ViolationRuns runs_;
  FullestWindow worst_, in_stream_;
  std::optional<FullestWindow> surely_, perhaps_;  // where edges are uncertain
};

}  // namespace burstloom::judge_detail
