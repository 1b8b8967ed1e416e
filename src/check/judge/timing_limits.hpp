// On-time, gap, break rate and duty, each judged by itself as intervals come in order.
// What is asked of a single on-time says whether it is past the limit: others as long need no second look, if
// not.
#pragma once

#include <optional>
#include <span>

#include "limit_book.hpp"

namespace burstloom::judge_detail {

class OnTimeMax {
 public:
  explicit OnTimeMax(const Ground& ground)
      : ground_(ground), book_("on-time max", "us", ground.profile.limits.on_time_max_us) {}
  /// `is_cut`: by the capture's start or end; then it is at least as long as it looks.
  bool take(const Seen& seen, bool is_cut);
  [[nodiscard]] LimitBook finish();
  [[nodiscard]] Tick longest() const { return longest_; }

 private:
  const Ground& ground_;
  LimitBook book_;
  Tick longest_ = 0;
};

class OnTimeMin {
 public:
  explicit OnTimeMin(const Ground& ground)
      : ground_(ground), book_("on-time min", "us", ground.profile.limits.on_time_min_us) {}
  bool take(const Seen& seen, bool is_cut);
  [[nodiscard]] LimitBook finish();

 private:
  [[nodiscard]] double at_gate_us(Tick on) const {
    return ground_.us(on) * (1 - ground_.limits.clock) + ground_.limits.stretch_us;
  }
  const Ground& ground_;
  LimitBook book_;
  Tick shortest_ = kEndOfTime;
};

class Gap {
 public:
  explicit Gap(const Ground& ground)
      : ground_(ground), book_("gap", "us", ground.profile.limits.gap_us), joiner_(ground.limits.filled) {}
  void take(std::span<const Burst> block);
  [[nodiscard]] LimitBook finish(Tick length);

 private:
  void see(Tick gap, Tick next_start);
  [[nodiscard]] double at_gate_us(Tick gap) const {
    return ground_.us(gap) * (1 - ground_.limits.clock) - ground_.limits.stretch_us;
  }
  const Ground& ground_;
  LimitBook book_;
  Joiner joiner_;
  Tick shortest_ = kEndOfTime;
};

/// For windows that come in order: one violation for each run of overlapping windows past the limit, with the
/// worst of them.
class RunsPast {
 public:
  RunsPast(const Ground& ground, const WindowLimit& allowed, double unit)
      : ground_(ground), allowed_(allowed), unit_(unit) {}
  void see_past(LimitBook& book, Tick end, Tick content);

 private:
  const Ground& ground_;
  WindowLimit allowed_;
  double unit_;
  Tick worst_ = 0, last_ = -kEndOfTime;
};

/// Where edges are uncertain, windows surely and perhaps as full: of fewer and of more than what is seen.
class BreakRate {
 public:
  explicit BreakRate(const Ground& ground);
  /// The intervals from this number on.
  void take(const Recent<Seen>& gate, std::size_t from);
  [[nodiscard]] LimitBook finish();
  [[nodiscard]] std::size_t oldest() const;

 private:
  const Ground& ground_;
  LimitBook book_;
  RunsPast runs_;
  BusiestWindow worst_, in_stream_;
  std::optional<BusiestWindow> surely_, perhaps_;  // where edges are uncertain
};

class Duty {
 public:
  Duty(const Ground& ground, std::size_t which);
  /// The intervals from this number on.
  void take(const Recent<Seen>& gate, std::size_t from);
  [[nodiscard]] LimitBook finish();
  [[nodiscard]] std::size_t oldest() const;

 private:
  const Ground& ground_;
  LimitBook book_;
  Tick allowance_;
  double window_ticks_, percent_a_tick_;
  RunsPast runs_;
  FullestWindow worst_, in_stream_;
  std::optional<FullestWindow> surely_, perhaps_;  // where edges are uncertain
};

}  // namespace burstloom::judge_detail
