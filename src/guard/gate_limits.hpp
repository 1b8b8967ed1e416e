// The profile's limits as the guard uses them: whole ticks, and already as the gate sees them.
#pragma once

#include <vector>

#include "burstloom/coil/profile.hpp"
#include "burstloom/guard/guard.hpp"

namespace burstloom::guard_detail {

/// At most `allowance` ticks of on-time in any half-open window of `window` ticks.
struct DutyBudget {
  Tick window = 1;
  Tick allowance = 0;
};

/// Limits in ticks at the gate: every on-time here includes what driver and optics add (`stretch`), every gap
/// has lost it, and the clock's tolerance has taken its part. Rounded to the safe side.
struct GateLimits {
  Tick stretch = 0;
  Tick on_min = 1, on_max = 0;
  Cause on_max_cause = Cause::on_time_max;  ///< what makes on_max as short as it is
  Tick gap = 1;                             ///< at least 1: bursts that touch are one burst
  std::vector<DutyBudget> duty;
  Tick start_window = 0;         ///< 0: break rate is not limited
  std::int64_t most_starts = 0;  ///< in any window of start_window ticks
};

/// At most `most` bursts started in any half-open window of `window` ticks.
struct CountLimit {
  Tick window = 1;
  std::int64_t most = 0;
  Causes cause = 0;
};

/// The limits that count bursts: the break rate, and each duty window with all bursts at their shortest.
[[nodiscard]] std::vector<CountLimit> count_limits(const GateLimits& limits);

/// Throws Error (usage) for a rate that no stream may have.
void require_tick_rate(std::int64_t tick_hz);

[[nodiscard]] GateLimits gate_limits(const Profile& profile, std::int64_t tick_hz);

}  // namespace burstloom::guard_detail
